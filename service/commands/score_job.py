"""`tailproof score`: prove the check on photos whose truth is known."""

from __future__ import annotations

import argparse
import json
from typing import Any

from service.answers.score_parts import drill_score_text, face_score_text
from service.answers.score_text import score_text
from service.measuring.score import find_cases, score_cases
from service.measuring.score_drills import find_drills, score_drills
from service.measuring.score_faces import find_faces, score_faces
from service.status import Status


def run_score(options: argparse.Namespace) -> int:
    """Score the folder of the command line, print the score and return the exit status. Raises UsageError."""
    faces, drills = find_faces(options.folder), find_drills(options.folder)
    cases = find_cases(options.folder, alone=not faces and not drills)
    score = score_cases(cases, species=options.species, card_side=options.card_side).to_dict()
    if faces:
        score["faces"], faults = score_faces(faces)
        score["faults"] += faults
    if drills:
        score["drills"], faults = score_drills(drills, options.card_side)
        score["faults"] += faults
    print(json.dumps(score) if options.json else _text(score, bool(cases)))
    return Status.FAULT if score["faults"] else Status.MEASURED


def _text(score: dict[str, Any], ends: bool) -> str:
    """The score for people: of the ends, of the faces and of the drills, as far as there are any."""
    others = [face_score_text(score["faces"])] if "faces" in score else []
    others += [drill_score_text(score["drills"])] if "drills" in score else []
    return "\n\n".join([score_text(score), *others] if ends else others)

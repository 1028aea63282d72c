"""`tailproof score`: prove the check on photos whose truth is known."""

from __future__ import annotations

import argparse
import json
from typing import Any

from service.answers.score_parts import drill_score_text, face_score_text, left_out_text
from service.answers.score_text import score_text
from service.commands.check_job import settings_from
from service.measuring.score import score_cases
from service.measuring.score_drills import score_drills
from service.measuring.score_faces import score_faces
from service.measuring.truth_folder import FoundCases, find_cases
from service.status import Status


def run_score(options: argparse.Namespace) -> int:
    """Score the folder of the command line, print the score and return the exit status. Raises UsageError."""
    settings, found = settings_from(options), find_cases(options.folder)
    score = score_cases(found.ends, settings).to_dict()
    if found.faces:
        score["faces"], faults = score_faces(found.faces, settings)
        score["faults"] += faults
    if found.drills:
        score["drills"], faults = score_drills(found.drills, settings)
        score["faults"] += faults
    score["left_out"] = [{"truth": str(each.truth), "why": each.why} for each in found.left_out]
    print(json.dumps(score) if options.json else _text(score, bool(found.ends)))
    return _status(score["faults"], found)


def _status(faults: int, found: FoundCases) -> Status:
    if faults:
        return Status.FAULT
    return Status.REFUSED if found.left_out else Status.MEASURED


def _text(score: dict[str, Any], ends: bool) -> str:
    """The score for people: of the ends, of the faces and of the drills, as far as there are any; what is not in it."""
    others = [face_score_text(score["faces"])] if "faces" in score else []
    others += [drill_score_text(score["drills"])] if "drills" in score else []
    others += [left_out_text(score["left_out"])] if score["left_out"] else []
    return "\n\n".join([score_text(score), *others] if ends else others)

"""The part of `tailproof score` that is about faces: photos with their truths, checked and scored."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from service.measuring.cases import Case, cases_in, score_each
from service.measuring.checking import CheckSettings, measured_or_refused
from service.measuring.face_check import check_face
from vision.score.face_scoring import FaceScore, face_scores_dict, score_face
from vision.score.face_truth import FaceTruth, face_truth_from_dict, is_face_truth


def find_faces(folder: Path) -> list[Case[FaceTruth]]:
    """The photos of faces with truths in `folder` and below. Raises UsageError when a truth is broken."""
    return cases_in(folder, is_face_truth, face_truth_from_dict)


def score_faces(cases: list[Case[FaceTruth]]) -> tuple[dict[str, Any], int]:
    """All faces' scores as a JSON object, with progress on stderr; and the number of faults."""
    scores, faults = score_each(cases, _score_one, "face ")
    return face_scores_dict(scores), faults


def _score_one(case: Case[FaceTruth]) -> FaceScore:
    truth = case.truth
    return score_face(
        truth, measured_or_refused(case.photo, lambda photo: check_face(photo, truth.view, CheckSettings()))
    )

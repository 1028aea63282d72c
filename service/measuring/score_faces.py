"""The part of `tailproof score` that is about faces: photos with their truths, checked and scored."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from calibration.outcome import CannotMeasure, Refusal
from service.errors import UsageError, report_fault
from service.measuring.checking import CheckSettings, load_photo
from service.measuring.face_check import check_face
from vision.face.result import FaceReport
from vision.score.face_scoring import FaceScore, face_scores_dict, score_face
from vision.score.face_truth import FaceTruth, face_truth_from_dict, is_face_truth


@dataclass(frozen=True)
class FaceCase:
    """A photo of a face with its truth."""

    photo: Path
    truth: FaceTruth


def face_case(path: Path, data: Any) -> FaceCase | None:
    """The case that a truth file's JSON value makes; None when it is no face's. Raises UsageError when it is broken."""
    if not is_face_truth(data):
        return None
    try:
        truth = face_truth_from_dict(data)
    except ValueError as error:
        raise UsageError(f"{path}: {error}.") from error
    return FaceCase(path.with_name(Path(truth.photo).name), truth)


def score_face_cases(cases: list[FaceCase]) -> tuple[dict[str, Any], int]:
    """All faces' scores as a JSON object, with progress on stderr; and the number of faults."""
    scores: list[FaceScore] = []
    faults = 0
    for number, case in enumerate(cases, start=1):
        print(f"[face {number}/{len(cases)}] {case.photo.name}", file=sys.stderr, flush=True)
        try:
            scores.append(score_face(case.truth, _result(case)))
        except Exception as error:
            faults += bool(report_fault(error, case.photo.name))
    return face_scores_dict(scores), faults


def _result(case: FaceCase) -> FaceReport | Refusal:
    try:
        return check_face(load_photo(case.photo), case.truth.view, CheckSettings())
    except CannotMeasure as error:
        return error.refusal

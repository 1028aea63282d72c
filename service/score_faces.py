"""The part of `tailproof score` that is about faces: photos with their truths, checked and scored."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from calibration.outcome import CannotMeasure, Refusal
from service.checking import CheckSettings, load_photo
from service.errors import UsageError, report_fault
from service.face_job import check_face
from service.table import table_text
from vision.face_result import FaceReport
from vision.face_scoring import FACE_CLAIMED, FaceScore, face_scores_dict, score_face
from vision.face_truth import FaceTruth, face_truth_from_dict, is_face_truth

_UNITS = {"slope": "deg"}


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


def face_score_text(score: Mapping[str, Any]) -> str:
    """The faces' score for people, at most 80 columns wide."""
    kerfs, verdicts = score["kerfs"], score["verdicts"]
    lines = [
        f"Faces to measure   {score['photos']}",
        f"Cuts found         {kerfs['found']} of {kerfs['true']}, {kerfs['missed']} missed, {kerfs['false']} false",
        f"Stage right        {score['stage']['right']} of {score['stage']['told']}",
        f"Where they stop    {verdicts['firm right']} firm and right, {verdicts['undecided']} undecided,"
        f" {verdicts['firm wrong']} firm and wrong",
    ]
    refused = [f"Refused: {each['photo']} ({each['reason']})" for each in score["refused"]]
    return "\n".join([*lines, "", *_errors(score), *refused])


def _errors(score: Mapping[str, Any]) -> list[str]:
    head = ("Error of faces", "unit", "count", "median", "95 %", "worst", "inside U")
    rows = [_row(kind, score) for kind in FACE_CLAIMED if score["errors"][kind]]
    return table_text(head, rows, left=(0, 1)) if rows else []


def _row(kind: str, score: Mapping[str, Any]) -> tuple[str, ...]:
    errors = score["errors"][kind]
    numbers = (f"{errors[key]:.3f}" for key in ("median", "p95", "worst"))
    return (kind, _UNITS.get(kind, "mm"), str(errors["count"]), *numbers, f"{100 * score['inside_u95'][kind]:.1f} %")

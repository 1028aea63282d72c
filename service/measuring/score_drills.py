"""The part of `tailproof score` that is about drill boards: photos with their truths, measured and scored."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from calibration.outcome import CannotMeasure, Refusal
from service.errors import UsageError, report_fault
from service.measuring.checking import load_photo
from vision.drill.measure import measure_drill
from vision.drill.report import DrillMeasurement
from vision.end.report import CardSide
from vision.score.drill_scoring import (
    DrillScore,
    DrillTruth,
    drill_scores_dict,
    drill_truth_from_dict,
    is_drill_truth,
    score_drill,
)


@dataclass(frozen=True)
class DrillCase:
    """A photo of a drill board with its truth."""

    photo: Path
    truth: DrillTruth


def drill_case(path: Path, data: Any) -> DrillCase | None:
    """The case that a truth file's JSON value makes; None when it is no drill's. Raises UsageError for a broken one."""
    if not is_drill_truth(data):
        return None
    try:
        truth = drill_truth_from_dict(data)
    except ValueError as error:
        raise UsageError(f"{path}: {error}.") from error
    return DrillCase(path.with_name(Path(truth.photo).name), truth)


def score_drill_cases(cases: list[DrillCase], card_side: CardSide = "show") -> tuple[dict[str, Any], int]:
    """All drills' scores as a JSON object, with progress on stderr; and the number of faults."""
    scores: list[DrillScore] = []
    faults = 0
    for number, case in enumerate(cases, start=1):
        print(f"[drill {number}/{len(cases)}] {case.photo.name}", file=sys.stderr, flush=True)
        try:
            scores.append(score_drill(case.truth, _result(case, card_side)))
        except Exception as error:
            faults += bool(report_fault(error, case.photo.name))
    return drill_scores_dict(scores), faults


def _result(case: DrillCase, card_side: CardSide) -> DrillMeasurement | Refusal:
    try:
        return measure_drill(load_photo(case.photo), card_side=card_side)
    except CannotMeasure as error:
        return error.refusal

"""The part of `tailproof score` that is about drill boards: photos with their truths, measured and scored."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from service.measuring.cases import Case, cases_in, score_each
from service.measuring.checking import measured_or_refused
from vision.drill.measure import measure_drill
from vision.end.report import CardSide
from vision.score.drill_scoring import (
    DrillTruth,
    drill_scores_dict,
    drill_truth_from_dict,
    is_drill_truth,
    score_drill,
)


def find_drills(folder: Path) -> list[Case[DrillTruth]]:
    """The photos of drill boards with truths in `folder` and below. Raises UsageError when a truth is broken."""
    return cases_in(folder, is_drill_truth, drill_truth_from_dict)


def score_drills(cases: list[Case[DrillTruth]], card_side: CardSide = "show") -> tuple[dict[str, Any], int]:
    """All drills' scores as a JSON object, with progress on stderr; and the number of faults."""
    measure = partial(measure_drill, card_side=card_side)
    scores, faults = score_each(
        cases, lambda case: score_drill(case.truth, measured_or_refused(case.photo, measure)), "drill "
    )
    return drill_scores_dict(scores), faults

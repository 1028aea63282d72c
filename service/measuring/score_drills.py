"""The part of `tailproof score` that is about drill boards: photos with their truths, measured and scored."""

from __future__ import annotations

from typing import Any

from service.measuring.cases import Case, score_each
from service.measuring.checking import CheckSettings, known_of, measured_or_refused
from vision.drill.measure import measure_drill
from vision.drill.report import DrillMeasurement
from vision.photo.photo import Photo
from vision.score.drill_scoring import DrillTruth, drill_scores_dict, score_drill


def score_drills(cases: list[Case[DrillTruth]], settings: CheckSettings) -> tuple[dict[str, Any], int]:
    """All drills' scores as a JSON object, with progress on stderr; and the number of faults."""

    def measure(photo: Photo) -> DrillMeasurement:
        return measure_drill(photo, card_side=settings.card_side, known=known_of(photo, settings))

    scores, faults = score_each(
        cases, lambda case: score_drill(case.truth, measured_or_refused(case.photo, measure)), "drill "
    )
    return drill_scores_dict(scores), faults

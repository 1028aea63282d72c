"""One photo of practice cuts in, its result out."""

from __future__ import annotations

from calibration.outcome import CannotMeasure, Refusal
from service.measuring.checking import CheckSettings, known_of
from vision.drill.measure import measure_drill
from vision.drill.plan import DrillPlan
from vision.drill.result import DrillResult
from vision.photo.photo import Photo


def check_drill(photo: Photo, plan: DrillPlan, settings: CheckSettings) -> DrillResult | Refusal:
    """The result for a decoded photo: measured, or the reason why not.

    Raises PlanMismatch when the plan tells of another number of cuts than the photo shows.
    """
    try:
        known = known_of(photo, settings)
        return DrillResult.of(photo.name, measure_drill(photo, plan, card_side=settings.card_side, known=known))
    except CannotMeasure as error:
        return error.refusal

"""The result of a drill as one value, and as JSON (`schema: 1`, an object `drill` of its own)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from vision.answer.result import SCHEMA, setting_dict
from vision.drill.report import DrillCut, DrillMeasurement
from vision.drill.review import DrillReview, review_drill
from vision.drill.statistics import Estimate, Spread
from vision.drill.words import advice_sentence


@dataclass(frozen=True)
class DrillResult:
    """One photo's cuts and what they say of the sawyer. `name` is the photo's, for messages."""

    name: str
    measurement: DrillMeasurement
    review: DrillReview

    @classmethod
    def of(cls, name: str, measurement: DrillMeasurement) -> DrillResult:
        """The result of a measured drill."""
        return cls(name, measurement, review_drill(measurement.cuts, measurement.end.thickness.value))

    def to_dict(self) -> dict[str, Any]:
        """The result JSON: millimetres and degrees, lengths to 0.1 micrometre, angles to 0.0001 degree."""
        end = self.measurement.end
        return {
            "schema": SCHEMA,
            "ok": True,
            **setting_dict(end),
            "drill": {
                "work_on": self.review.advice,
                "sentence": advice_sentence(self.review),
                "cuts": [_cut(cut) for cut in self.measurement.cuts],
                **_statistics(self.review),
            },
            "warnings": [warning.reason for warning in end.warnings],
        }


def _cut(cut: DrillCut) -> dict[str, Any]:
    return {
        "number": cut.number,
        "turn": cut.turn,
        "intended_deg": cut.intent.lean_deg,
        "side": cut.intent.side,
        "keep": cut.keep,
        "lean_deg": round(cut.lean.value, 4),
        "lean_u95_deg": round(cut.lean.u95, 4),
        "deviation_deg": round(cut.deviation.value, 4),
        "edge_leans_deg": [round(cut.left_lean_deg, 4), round(cut.right_lean_deg, 4)],
        "x_show_mm": round(cut.x_show.value, 4),
        "x_transfer_mm": round(cut.x_transfer.value, 4),
        "x_u95_mm": round(max(cut.x_show.u95, cut.x_transfer.u95), 4),
        "out_of_square_mm": round(cut.out_of_square.value, 4),
        "spacing_mm": None if cut.spacing is None else round(cut.spacing.value, 4),
        "spacing_u95_mm": None if cut.spacing is None else round(cut.spacing.u95, 4),
        "squareness_zone_mm": round(cut.squareness_zone_mm, 4),
        "straightness_mm": round(cut.straightness_mm, 4),
        "bow_mm": round(cut.bow_mm, 4),
        "kerf_mm": round(cut.kerf.value, 4),
        "kerf_u95_mm": round(cut.kerf.u95, 4),
        "flags": list(cut.flags),
    }


def _statistics(review: DrillReview) -> dict[str, Any]:
    """Every statistic, null where there are too few cuts for it."""
    return {
        "mean_lean_deg": _estimate(review.bias),
        "spread_deg": _spread(review.spread),
        "drift_deg_per_cut": _estimate(review.drift),
        "right_less_left_deg": _estimate(review.sides),
        "scatter_deg": _spread(review.scatter),
        "bow_mm": _estimate(review.bow),
    }


def _estimate(found: Estimate | None) -> dict[str, Any] | None:
    if found is None:
        return None
    figures = {"value": round(found.value, 5), "u95": round(found.u95, 5), "p": round(found.p_value, 6)}
    return figures | {"freedom": round(found.freedom, 2), "firm": found.firm(0.95) > 0.0}


def _spread(found: Spread | None) -> dict[str, Any] | None:
    if found is None:
        return None
    low, high = found.interval()
    figures = {"sd": found.sd, "low95": low, "high95": high, "measuring": found.noise, "own": found.own()}
    return {name: round(value, 5) for name, value in figures.items()} | {"freedom": found.freedom}

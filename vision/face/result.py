"""The result of a face's check as one value, and as JSON: `schema: 1` with `view`, which an end's result has not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from calibration.outcome import Refusal
from vision.answer.result import SCHEMA, card_dict, photo_dict, refusal_dict
from vision.face.report import Baseline, FaceKerf, FaceMeasurement


@dataclass(frozen=True)
class FaceReport:
    """One photo's measured face. `name` is the photo's, for messages."""

    name: str
    measurement: FaceMeasurement

    def to_dict(self) -> dict[str, Any]:
        """The result JSON: millimetres and degrees, lengths to 0.1 micrometre, angles to 0.0001 degree."""
        measurement = self.measurement
        width = measurement.width
        return {
            "schema": SCHEMA,
            "ok": True,
            "view": measurement.view,
            "stage": measurement.stage,
            "photo": photo_dict(measurement),
            "card": card_dict(measurement),
            "board": {"width_mm": round(width.value, 4), "u95_mm": round(width.u95, 4)},
            "baseline": _baseline(measurement.baseline),
            "past_limit_mm": measurement.past_limit_mm,
            "kerfs": [_kerf(kerf) for kerf in measurement.kerfs],
            "warnings": [warning.reason for warning in measurement.warnings],
        }


def face_result_dict(result: FaceReport | Refusal) -> dict[str, Any]:
    """The result JSON, whichever it is."""
    return result.to_dict() if isinstance(result, FaceReport) else refusal_dict(result)


def _baseline(baseline: Baseline) -> dict[str, Any]:
    """The baseline; `depth_u95_mm` is the larger of the uncertainties at its two ends."""
    return {
        "depth_left_mm": round(baseline.depth_left.value, 4),
        "depth_right_mm": round(baseline.depth_right.value, 4),
        "depth_u95_mm": round(max(baseline.depth_left.u95, baseline.depth_right.u95), 4),
        "out_of_square_deg": round(baseline.out_of_square.value, 4),
        "out_of_square_u95_deg": round(baseline.out_of_square.u95, 4),
        "straightness_mm": round(baseline.straightness_mm, 4),
        "width_mm": round(baseline.width_mm, 4),
        "kind": baseline.kind,
        "kind_chances": {kind: round(chance, 4) for kind, chance in baseline.chances.items()},
    }


def _kerf(kerf: FaceKerf) -> dict[str, Any]:
    return {
        "tail": kerf.tail,
        "side": kerf.side,
        "x_at_end_mm": round(kerf.x_at_end.value, 4),
        "x_u95_mm": round(kerf.x_at_end.u95, 4),
        "slope": round(kerf.slope.value, 6),
        "slope_u95": round(kerf.slope.u95, 6),
        "slope_deg": round(kerf.slope_deg.value, 4),
        "slope_u95_deg": round(kerf.slope_deg.u95, 4),
        "stop_depth_mm": round(kerf.stop_depth.value, 4),
        "stop_u95_mm": round(kerf.stop_depth.u95, 4),
        "past_baseline_mm": round(kerf.past_baseline.value, 4),
        "past_u95_mm": round(kerf.past_baseline.u95, 4),
        "verdict": kerf.verdict,
        "kerf_mm": None if kerf.kerf_mm is None else round(kerf.kerf_mm, 4),
    }

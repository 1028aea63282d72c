"""What a measured face shows, as sentences and a table for a page."""

from __future__ import annotations

from typing import Any

from vision.answer.words import Units, camera_sentence, format_error, format_plus_minus, format_size
from vision.face.report import FaceKerf, FaceMeasurement
from vision.face.words import (
    baseline_sentence,
    face_sentence,
    kerf_name,
    kerf_sentences,
    ratio_text,
    slope_spread_sentence,
)

OPEN_FACE = (
    "The waste is out: a cut that stopped short of the baseline cannot be told from one that reached it.",
    "Check faces while the waste is in.",
)
"""What is less certain on a cleared face, and what to do."""


def face_words(measurement: FaceMeasurement, units: Units) -> dict[str, Any]:
    """Everything a page says about a measured face, in these units."""
    return {
        "verdict": face_sentence(measurement, units),
        "board": _board(measurement, units),
        "baseline": baseline_sentence(measurement.baseline, units),
        "slopes": slope_spread_sentence(measurement.kerfs),
        "cuts": _cuts(measurement, units),
        "doubts": _doubts(measurement),
        "known": list(filter(None, [camera_sentence(measurement.card)])),
    }


def _board(measurement: FaceMeasurement, units: Units) -> str:
    width = format_size(measurement.width.value, units)
    waste = "waste still in" if measurement.stage == "sawn" else "waste out"
    return f"{measurement.view.capitalize()} face, {width} wide, {waste}"


def _cuts(measurement: FaceMeasurement, units: Units) -> list[dict[str, str]]:
    """A row for every cut, with its sentence."""
    off = iter(kerf_sentences(measurement, units))
    at = "The {} stops at the baseline."
    said = [
        at.format(kerf_name(kerf)) if kerf.verdict == "at the baseline" else next(off) for kerf in measurement.kerfs
    ]
    return [_cut(kerf, sentence, units) for kerf, sentence in zip(measurement.kerfs, said, strict=True)]


def _cut(kerf: FaceKerf, sentence: str, units: Units) -> dict[str, str]:
    ratio = ratio_text(kerf.slope.value)
    return {
        "name": kerf_name(kerf),
        "verdict": kerf.verdict,
        "sentence": f"{sentence} {'Its side is square.' if ratio == 'square' else f'Slope {ratio}.'}",
        "past": format_plus_minus(kerf.past_baseline, units),
        "slope": format_plus_minus(kerf.slope_deg, units).replace(" deg", "°"),
        "ratio": ratio,
        "stop": format_plus_minus(kerf.stop_depth, units),
        "x": format_plus_minus(kerf.x_at_end, units),
        "kerf": "" if kerf.kerf_mm is None else format_error(kerf.kerf_mm, units),
    }


def _doubts(measurement: FaceMeasurement) -> list[dict[str, str]]:
    message, what_to_do = OPEN_FACE
    cleared = [{"message": message, "what_to_do": what_to_do}] if measurement.stage == "cleared" else []
    return cleared + [{"message": kind.message, "what_to_do": kind.what_to_do} for kind in measurement.warnings]

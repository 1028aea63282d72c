"""What a face shows, in words a student understands, in millimetres or inches."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from calibration.quantity import Quantity
from vision.answer.words import Units, format_error, format_plus_minus
from vision.face.baseline_kind import BaselineKind
from vision.face.report import Baseline, FaceKerf, FaceMeasurement

LEAST_SLOPE = 0.01
"""A flatter slope than 1:100 is called square."""
_SHORTEST_SHOWN = 0.05
_KINDS: dict[BaselineKind, str] = {
    "pencil": "by its colour a pencil line",
    "knife or gauge": "by its colour cut, with a knife or a gauge",
    "line": "whether it was drawn or cut does not show",
}


def kerf_name(kerf: FaceKerf) -> str:
    """`left cut of tail 2`, the tails counted from one as on the end."""
    return f"{kerf.side} cut of tail {kerf.tail + 1}"


def ratio_text(slope: float) -> str:
    """Run over rise as `1:6.3`; `square` when there is hardly any, with a minus when the tail widens."""
    if abs(slope) < LEAST_SLOPE:
        return "square"
    return f"{'-' if slope < 0.0 else ''}1:{1.0 / abs(slope):.1f}"


def face_sentence(measurement: FaceMeasurement, units: Units = "mm") -> str:
    """The verdict for the face in one line: the cuts that went past the baseline."""
    past = [kerf for kerf in measurement.kerfs if kerf.verdict == "past the baseline"]
    if past:
        worst = max(past, key=lambda kerf: kerf.past_baseline.value)
        much = format_error(worst.past_baseline.value, units)
        if len(past) == 1:
            return f"Past the baseline: the {kerf_name(worst)}, by {much}."
        return f"Past the baseline: {len(past)} cuts, worst the {kerf_name(worst)}, by {much}."
    open_cuts = [kerf for kerf in measurement.kerfs if kerf.verdict == "too close to call"]
    if open_cuts:
        return f"No cut is surely past the baseline; {_counted(len(open_cuts))} too close to call."
    return "No cut is past the baseline."


def _counted(count: int) -> str:
    return "one is" if count == 1 else f"{count} are"


def kerf_sentences(measurement: FaceMeasurement, units: Units = "mm") -> list[str]:
    """A sentence for every cut that does not stop at the baseline."""
    limit = format_error(measurement.past_limit_mm, units)
    return [_kerf_sentence(kerf, limit, units) for kerf in measurement.kerfs if kerf.verdict != "at the baseline"]


def _kerf_sentence(kerf: FaceKerf, limit: str, units: Units) -> str:
    name, much = f"The {kerf_name(kerf)}", format_error(abs(kerf.past_baseline.value), units)
    if kerf.verdict == "past the baseline":
        return f"{name} runs {much} past the baseline: that shows in the finished joint."
    if kerf.verdict == "stops short":
        return f"{name} stops {much} short of the baseline: the chisel has to do the rest."
    way = "past" if kerf.past_baseline.value > 0.0 else "short of"
    if abs(kerf.past_baseline.value) < _SHORTEST_SHOWN:
        return f"{name} seems to stop at the baseline, but its end does not show well enough to be sure within {limit}."
    return f"{name} stops about {much} {way} the baseline: too close to the limit of {limit} to call."


def baseline_sentence(baseline: Baseline, units: Units = "mm") -> str:
    """How deep, square and straight the baseline is."""
    depths = [format_plus_minus(depth, units) for depth in (baseline.depth_left, baseline.depth_right)]
    return (
        f"Baseline {depths[0]} deep at the left of the end (x = 0), {depths[1]} at the right;"
        f" {_squareness(baseline.out_of_square)}, straight within {format_error(baseline.straightness_mm, units)};"
        f" {_KINDS[baseline.kind]}."
    )


def _squareness(angle: Quantity) -> str:
    stated = format_plus_minus(angle, "mm").replace(" deg", "°")
    if abs(angle.value) <= angle.u95:
        return f"parallel to the end's edge as far as this photo shows ({stated})"
    return f"off parallel to the end's edge by {stated}"


def stop_words(kerf: FaceKerf, units: Units = "mm") -> str:
    """The verdict in a few words, for the picture: `past 0.83 mm`, `short 0.46 mm`, `at line`, `? +0.31 mm`."""
    much = format_error(abs(kerf.past_baseline.value), units)
    if kerf.verdict == "too close to call":
        return f"? {'+' if kerf.past_baseline.value >= 0.0 else '-'}{much}"
    return {"at the baseline": "at line", "past the baseline": f"past {much}", "stops short": f"short {much}"}[
        kerf.verdict
    ]


def slope_spread_sentence(kerfs: Sequence[FaceKerf]) -> str:
    """The usual slope of the face's cuts and how far they differ."""
    slopes = sorted(kerf.slope_deg.value for kerf in kerfs)
    usual = ratio_text(median(kerf.slope.value for kerf in kerfs))
    return f"Slopes run from {slopes[0]:.1f}° to {slopes[-1]:.1f}°, usually {usual}."

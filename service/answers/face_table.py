"""A face's answer on the terminal: the verdict in one line, the board, the cuts, and what is doubtful."""

from __future__ import annotations

from service.answers.paint import paint
from service.answers.table import bare, budget_line, length_unit, paragraphs, table_text
from vision.answer.words import Units, camera_sentence, format_error, format_plus_minus, format_size
from vision.face.report import FaceKerf, FaceMeasurement, StopVerdict
from vision.face.result import FaceReport
from vision.face.words import (
    baseline_sentence,
    face_sentence,
    kerf_name,
    kerf_sentences,
    ratio_text,
    slope_spread_sentence,
)

_OPEN_FACE = (
    "With the waste out a cut that stopped short of the baseline cannot be told from one that reached it, and walls"
    " past which the tail's own side or the bench is seen are less certain: check faces while the waste is in."
)
_STYLES: dict[StopVerdict, str] = {
    "at the baseline": "seats",
    "past the baseline": "splitting",
    "stops short": "loose",
    "too close to call": "too close to call",
}


def face_text(report: FaceReport, units: Units = "mm", *, colour: bool = False) -> str:
    """The whole answer for one photo of a face, at most 80 columns wide."""
    measurement = report.measurement
    parts = [
        paint(face_sentence(measurement, units), "bold", colour),
        paragraphs([_face_line(measurement, units), baseline_sentence(measurement.baseline, units)]),
        _kerfs_table(measurement, units, colour),
        paragraphs([slope_spread_sentence(measurement.kerfs), *kerf_sentences(measurement, units)]),
        paragraphs(_doubts(measurement)),
        paragraphs(filter(None, [camera_sentence(measurement.card)])),
    ]
    return "\n\n".join(part for part in parts if part)


def face_explanation(report: FaceReport, units: Units = "mm") -> str:
    """Where each number's uncertainty comes from, largest first."""
    measurement, baseline = report.measurement, report.measurement.baseline
    named = {"width": measurement.width, "baseline, angle": baseline.out_of_square}
    named |= {f"slope, {kerf_name(kerf)}": kerf.slope_deg for kerf in measurement.kerfs}
    named |= {f"past the baseline, {kerf_name(kerf)}": kerf.past_baseline for kerf in measurement.kerfs}
    lines = ["Where the uncertainty comes from (shares of the variance):"]
    return paragraphs(lines + [budget_line(name, quantity, units) for name, quantity in named.items()])


def _face_line(measurement: FaceMeasurement, units: Units) -> str:
    width = format_size(measurement.width.value, units)
    scale = f"{measurement.px_per_mm:.1f} px/mm, camera {measurement.camera_tilt.value:.0f}° off square"
    return f"{measurement.view.capitalize()} face, {width} wide, {measurement.stage}. Photo: {scale}."


def _kerfs_table(measurement: FaceMeasurement, units: Units, colour: bool) -> str:
    unit = length_unit(units)
    head = ("Cut", f"x at end {unit}", "slope °", "1:N", f"stop {unit}", f"past line {unit}", "is")
    lines = table_text(head, [_kerf_row(kerf, units) for kerf in measurement.kerfs], left=(0, 6))
    styles = ["", *(_STYLES[kerf.verdict] for kerf in measurement.kerfs)]
    verdicts = ["", *(kerf.verdict for kerf in measurement.kerfs)]
    painted = zip(lines, verdicts, styles, strict=True)
    return "\n".join(_painted(line, verdict, style, colour) for line, verdict, style in painted)


def _kerf_row(kerf: FaceKerf, units: Units) -> tuple[str, ...]:
    x, slope, past = (
        bare(format_plus_minus(each, units)) for each in (kerf.x_at_end, kerf.slope_deg, kerf.past_baseline)
    )
    stop = bare(format_error(kerf.stop_depth.value, units))
    ratio, name = ratio_text(kerf.slope.value), f"tail {kerf.tail + 1} {kerf.side}"
    return (name, x, slope, ratio, stop, past, _short(kerf.verdict))


def _short(verdict: StopVerdict) -> str:
    """The verdict without the words that the column's head has."""
    return {"at the baseline": "at", "past the baseline": "past", "stops short": "short"}.get(verdict, "open")


def _painted(line: str, verdict: str, style: str, colour: bool) -> str:
    if not verdict:
        return line
    short = _short(verdict)  # type: ignore[arg-type]
    return line.removesuffix(short) + paint(short, style, colour)


def _doubts(measurement: FaceMeasurement) -> list[str]:
    notes = [_OPEN_FACE] if measurement.stage == "cleared" else []
    return notes + [f"Note: {kind.message} {kind.what_to_do}" for kind in measurement.warnings]

"""A drill's answer on the terminal: what to work on, every cut in the order cut, and the figures."""

from __future__ import annotations

from calibration.outcome import FLAGS
from calibration.said import numbered
from service.answers.paint import paint
from service.answers.table import bare, length_unit, paragraphs, table_text
from vision.answer.words import Units, camera_sentence, format_error, format_plus_minus, format_size, print_sentence
from vision.drill.report import DrillCut
from vision.drill.result import DrillResult
from vision.drill.words import advice_sentence, figure_sentences, strayed_sentences


def drill_text(result: DrillResult, units: Units = "mm", *, colour: bool = False) -> str:
    """The whole answer for one drill board, at most 80 columns wide."""
    end, cuts = result.measurement.end, result.measurement.cuts
    advice = paragraphs([advice_sentence(result.review, units)]).splitlines()
    parts = [
        "\n".join(paint(line, "bold", colour) for line in advice),
        paragraphs(strayed_sentences(cuts)),
        paragraphs([_board_line(result, units)]),
        _table(result, units),
        paragraphs(figure_sentences(result.review, units)),
        paragraphs([*_flag_lines(cuts), *(f"Note: {kind.message} {kind.what_to_do}" for kind in end.warnings)]),
        paragraphs([print_sentence(end.print_cost)]),
        paragraphs(filter(None, [camera_sentence(end.card)])),
    ]
    return "\n\n".join(part for part in parts if part)


def _board_line(result: DrillResult, units: Units) -> str:
    end, count = result.measurement.end, result.review.count
    width, thickness = (format_size(size.value, units) for size in (end.width, end.thickness))
    cuts = "one cut" if count == 1 else f"{count} cuts"
    scale = f"{end.px_per_mm:.1f} px/mm, camera {end.camera_tilt.value:.0f}° off square"
    return f"Board {width} wide, {thickness} thick, {cuts}. Photo: {scale}."


def _table(result: DrillResult, units: Units) -> str:
    unit = length_unit(units)
    head = ("Cut", "from left", "meant °", "lean °", f"spacing {unit}", "zone", "bow", "kerf", "edge")
    rows = [_row(cut, units) for cut in result.measurement.cuts]
    return "\n".join(table_text(head, rows, left=(0, 8)))


def _row(cut: DrillCut, units: Units) -> tuple[str, ...]:
    zone, bow, kerf = (bare(format_error(mm, units)) for mm in (cut.squareness_zone_mm, cut.bow_mm, cut.kerf.value))
    spacing = "" if cut.spacing is None else bare(format_plus_minus(cut.spacing, units))
    name = f"{cut.turn}{' *' if cut.flags else ''}"
    return (name, str(cut.number), _meant(cut), bare(format_plus_minus(cut.lean)), spacing, zone, bow, kerf, cut.keep)


def _meant(cut: DrillCut) -> str:
    """The intended lean, or the side where a cut was to slope without leaning across the end."""
    return cut.intent.side if cut.intent.side and not cut.intent.lean_deg else f"{cut.intent.lean_deg:g}"


def _flag_lines(cuts: tuple[DrillCut, ...]) -> list[str]:
    """Each kind of flag with the cuts that carry it."""
    flags = dict.fromkeys(flag for cut in cuts for flag in cut.flags)
    named = {flag: numbered("cut", [cut.turn for cut in cuts if flag in cut.flags]) for flag in flags}
    return [f"* {named[flag]}: {FLAGS[flag].message} {FLAGS[flag].what_to_do}" for flag in flags]

"""A layout review for the terminal: remarks with their rules, then what is left of the board, and the glue."""

from __future__ import annotations

from service.answers.table import paragraphs, table_text
from service.answers.wrapped import wrapped
from vision.answer.words import Units, format_plus_minus, format_size
from vision.layout.review import Remark, Review
from vision.layout.shape import MM2_PER_CM2, bending_nm, root_over_glue

_SLOPES = {"face": "the slopes measured on the face", "plan": "the plan's slope", "taken": "a slope from 1:8 to 1:6"}
MM2_PER_IN2 = 645.16


def layout_text(review: Review, units: Units = "mm") -> str:
    """The whole review. Opinions, and said to be."""
    head = "Layout: opinions of the trade, not failures. `tailproof rules` shows them, to reword or switch off."
    remarks = [_remark_text(remark) for remark in review.remarks] or ["No remark goes beyond the uncertainty."]
    table = "\n".join(_trade_off_table(review, units))
    return "\n\n".join(["\n".join([paragraphs([head]), *remarks]), paragraphs(_figures(review, units)), table])


def _remark_text(remark: Remark) -> str:
    """What was found, and below it the rule."""
    return "\n".join([*wrapped(remark.found, "- ", "  "), *wrapped(remark.words, "  Rule: ", "  ")])


def _figures(review: Review, units: Units) -> list[str]:
    """Section, strength and glue in sentences; the strengths are estimates and said to be."""
    shape, wood, share = review.shape, review.wood, review.shape.share
    of = wood.wood if wood.named else "the weakest wood of all (none was named)"
    pull = root_over_glue(shape, wood)
    return [
        f"At the baseline {format_plus_minus(share.scaled(100.0, '%'))} of the width is left, by"
        f" {_SLOPES[shape.slope_source]} and a baseline {format_size(shape.depth_mm, units)} deep"
        f"{'' if shape.depth_told else ', as the board is thick'}.",
        f"An estimate: in {of} that bears about {bending_nm(shape, wood):.0f} N m in bending and, pulled,"
        f" {pull.value:.1f} ± {pull.u95:.1f} times what the glue does (clear wood of handbook strength, sound glue).",
        f"Long-grain glue surface: {_area(shape.glue_mm2.value, units)}.",
    ]


def _trade_off_table(review: Review, units: Units) -> list[str]:
    head = ("Tails, pins as they are", "left at the baseline", "glue surface")
    count = len(review.shape.tails)
    rows = [
        (f"{each.tails}{' (this board)' * (each.tails == count)}", f"{100.0 * each.share:.0f} %", glue)
        for each, glue in ((each, _area(each.glue_mm2, units)) for each in review.options)
    ]
    return table_text(head, rows)


def _area(area_mm2: float, units: Units) -> str:
    return f"{area_mm2 / MM2_PER_IN2:.2f} sq in" if units == "inch" else f"{area_mm2 / MM2_PER_CM2:.1f} cm²"

"""A drill's result drawn on the photo: every cut, where it was meant to go, and its lean large enough to be seen."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.answer import sketch
from vision.answer.overlay import EXAGGERATIONS, LARGEST_DRAWN_MM, card_reach_mm
from vision.answer.page import BESIDE_SCALE, Head, Page, canvas_of, head, middles, rows_needed, scale_bar, text_px
from vision.answer.palette import AMBER, BLUE, INK, MUTED, PAPER, WHITE, Look
from vision.answer.sketch import Stroke, Text
from vision.answer.view import View, view_end
from vision.answer.words import Units, format_size
from vision.drill.report import DrillCut
from vision.drill.result import DrillResult
from vision.drill.words import advice_sentence, figure_sentences
from vision.photo.photo import Photo

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

LOOKS = {
    "left": Look("left", BLUE, "circle", "L", ()),
    "right": Look("right", AMBER, "diamond", "R", (5.0, 2.5)),
    "as meant": Look("as meant", WHITE, "square", "", (1.2, 1.8)),
}
"""Firmly too far left, firmly too far right, or neither: told by colour, shape, sign and line."""
SHARE_OF_SPACING = 0.45
"""How much of the narrowest spacing an exaggerated lean may take up."""
MARKER_DROP_MM = 3.4
BLOCK_EMS, LONGEST_WORDS = 3.2, "-0.00° ± 0.00"
HEAD_FIGURES = 3


@dataclass(frozen=True)
class _Drawing(Page):
    """One overlay in the making: deviations are drawn `factor` times as large."""

    factor: int


def draw_drill(photo: Photo, result: DrillResult, *, units: Units = "mm", card_side: str = "show") -> Pixels:
    """A picture (h, w, 3) of the end and its card with what to work on over it and every cut drawn on it.

    `card_side` says along which face, `show` or `transfer`, the card lies. The photo itself is not touched.
    """
    end, cuts = result.measurement.end, result.measurement.cuts
    view = view_end(photo, end, card_reach_mm=card_reach_mm(end, card_side))
    em_px, factor = text_px(view), exaggeration(result)
    above, places = _head(result, units, factor, em_px, view.width_px), _middles(view, result, em_px)
    rows = rows_needed(sorted(places), _block_px(em_px))
    canvas = canvas_of(view, above.height_px, round((0.7 + rows * BLOCK_EMS) * em_px))
    drawing = _Drawing(canvas, view, above.height_px, em_px, factor)
    drawing.line((-3.0, 0.0), (end.width.value + 3.0, 0.0), Stroke(INK, em_px / 14))
    for cut in cuts:
        _draw_cut(drawing, cut, end.thickness.value)
    texts = above.texts + scale_bar(drawing, units)
    for cut, middle in zip(cuts, places, strict=True):
        texts += _label(drawing, cut, middle, (cut.number - 1) % rows, end.thickness.value)
    sketch.write(drawing.canvas, texts)
    return drawing.canvas


def look_of(cut: DrillCut) -> Look:
    """How a cut is drawn: by the side that it firmly strays to."""
    if abs(cut.deviation.value) <= cut.deviation.u95:
        return LOOKS["as meant"]
    return LOOKS["right" if cut.deviation.value > 0.0 else "left"]


def exaggeration(result: DrillResult) -> int:
    """How many times larger to draw the deviations: the most at which none comes near its neighbour."""
    thickness = result.measurement.end.thickness.value
    most = max(_off_mm(cut, thickness) for cut in result.measurement.cuts)
    room = min([LARGEST_DRAWN_MM, *(SHARE_OF_SPACING * apart for apart in result.review.neighbours_mm)])
    return next((factor for factor in EXAGGERATIONS if factor * most <= room), 1)


def _off_mm(cut: DrillCut, thickness_mm: float) -> float:
    return abs(cut.out_of_square.value - _meant_mm(cut, thickness_mm))


def _meant_mm(cut: DrillCut, thickness_mm: float) -> float:
    """How far the cut was meant to move to the right over the thickness."""
    return thickness_mm * math.tan(math.radians(cut.intent.lean_deg))


def _head(result: DrillResult, units: Units, factor: int, em_px: int, width_px: int) -> Head:
    """What to work on, the first figures and the key."""
    end = result.measurement.end
    board = " x ".join(format_size(size.value, units) for size in (end.width, end.thickness))
    large = f", {factor} times as large" if factor > 1 else ""
    key = f"White: cuts. Black dashes: as meant. Colour: off it{large}. L, R: firmly off."
    figures = figure_sentences(result.review, units)[:HEAD_FIGURES]
    advice, below = advice_sentence(result.review, units), (*figures, f"Board {board}. {key}")
    return head(advice, below, width_px, em_px, ems=1.3, room=BESIDE_SCALE)


def _draw_cut(drawing: _Drawing, cut: DrillCut, deep_mm: float) -> None:
    """One cut where it is, where it was meant to go, and between them its deviation `factor` times as large."""
    look, em = look_of(cut), drawing.em_px
    meant_mm = cut.x_transfer.value - _meant_mm(cut, deep_mm)
    off_mm = cut.out_of_square.value - _meant_mm(cut, deep_mm)
    root, meant = drawing.at(cut.x_transfer.value, deep_mm), drawing.at(meant_mm, 0.0)
    leaning = drawing.at(meant_mm - drawing.factor * off_mm, 0.0)
    sketch.fill(drawing.canvas, np.array([root, meant, leaning]), look.colour, 0.55)
    sketch.draw_line(drawing.canvas, root, meant, Stroke(INK, em / 14, (4.0, 4.0), 1.0))
    sketch.draw_line(drawing.canvas, root, leaning, Stroke(look.colour, em / 9, look.dash))
    drawing.line((cut.x_transfer.value, deep_mm), (cut.x_show.value, 0.0), Stroke(PAPER, em / 16, (), 1.0))


def _label(drawing: _Drawing, cut: DrillCut, middle_px: float, row: int, deep_mm: float) -> list[Text]:
    """Marker and words of one cut, joined by a line: its turn, and its lean with U."""
    em, look = drawing.em_px, look_of(cut)
    marker = drawing.at(cut.x_transfer.value, deep_mm + MARKER_DROP_MM)
    y = drawing.below_px + (0.7 + row * BLOCK_EMS) * em
    sketch.draw_line(drawing.canvas, marker, np.array([middle_px, y - 0.15 * em]), Stroke(MUTED, em / 16, (), 0.0))
    sketch.draw_marker(drawing.canvas, marker, 0.55 * em, look)
    clear = round(em / 5)
    return [
        sketch.marker_sign(marker, 0.55 * em, look),
        Text(f"cut {cut.turn}", (middle_px, y), round(0.85 * em), MUTED, "ma", clear),
        Text(f"{cut.lean.value:.2f}° ± {cut.lean.u95:.2f}", (middle_px, y + 1.2 * em), em, INK, "ma", clear),
    ]


def _middles(view: View, result: DrillResult, em_px: int) -> list[float]:
    """Where each cut's words are centred (px)."""
    low_mm = result.measurement.end.thickness.value + MARKER_DROP_MM
    points = np.array([[cut.x_transfer.value, low_mm] for cut in result.measurement.cuts])
    return middles(view, points, _block_px(em_px))


def _block_px(em_px: int) -> float:
    return sketch.text_width(LONGEST_WORDS, em_px) + 0.8 * em_px

"""A drill's result drawn on the photo: every cut, where it was meant to go, and its lean large enough to be seen."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.card import CARDS
from vision.answer import sketch
from vision.answer.overlay import (
    CARD_REACH_SPARE_MM,
    EXAGGERATIONS,
    LARGEST_DRAWN_MM,
    SCALE_BARS,
    TEXT_FRACTION,
    rows_needed,
)
from vision.answer.palette import INK, MUTED, PAPER, Look
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
    "left": Look("left", (58, 153, 197), "circle", "L", ()),
    "right": Look("right", (245, 194, 66), "diamond", "R", (5.0, 2.5)),
    "as meant": Look("as meant", (244, 244, 244), "square", "", (1.2, 1.8)),
}
"""Firmly too far left, firmly too far right, or neither: told by colour, shape, sign and line."""
SHARE_OF_SPACING = 0.45
"""How much of the narrowest spacing an exaggerated lean may take up."""
MARKER_DROP_MM = 3.4
BLOCK_EMS, LONGEST_WORDS = 3.2, "-0.00° ± 0.00"
HEAD_FIGURES = 3


@dataclass(frozen=True)
class _Drawing:
    """One overlay in the making: the picture with room above and below, and the sizes to draw with."""

    canvas: Pixels
    view: View
    top_px: int
    em_px: int
    factor: int

    def at(self, x_mm: float, y_mm: float) -> Floats:
        """The canvas pixel of an end-frame point."""
        return self.view.place(np.array([[x_mm, y_mm]]))[0] + (0.0, self.top_px)


def draw_drill(photo: Photo, result: DrillResult, *, units: Units = "mm", card_side: str = "show") -> Pixels:
    """A picture (h, w, 3) of the end and its card with what to work on over it and every cut drawn on it.

    `card_side` says along which face, `show` or `transfer`, the card lies. The photo itself is not touched.
    """
    end, cuts = result.measurement.end, result.measurement.cuts
    reach_mm = CARDS[end.card.kind].height_mm + CARD_REACH_SPARE_MM
    view = view_end(photo, end, card_reach_mm=reach_mm if card_side == "show" else -reach_mm)
    em_px, factor = round(view.width_px * TEXT_FRACTION), exaggeration(result)
    head, top_px = _head(result, units, factor, em_px, view.width_px)
    middles = _middles(view, result, em_px)
    rows = rows_needed(sorted(middles), _block_px(em_px))
    canvas = np.full((top_px + view.height_px + round((0.7 + rows * BLOCK_EMS) * em_px), view.width_px, 3), PAPER)
    drawing = _Drawing(canvas.astype(np.uint8), view, top_px, em_px, factor)
    drawing.canvas[top_px : top_px + view.height_px] = view.picture
    _draw_datum(drawing, result)
    for cut in cuts:
        _draw_cut(drawing, cut, end.thickness.value)
    texts = head + _draw_scale(drawing, *SCALE_BARS[units])
    for cut, middle in zip(cuts, middles, strict=True):
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


def _head(result: DrillResult, units: Units, factor: int, em_px: int, width_px: int) -> tuple[list[Text], int]:
    """What to work on, the first figures and the key; and how many pixels high they are together."""
    end, left = result.measurement.end, 0.8 * em_px
    size_px, room_px = round(1.3 * em_px), width_px - 2 * left
    lines = sketch.wrapped(advice_sentence(result.review, units), size_px, room_px)
    texts = [Text(line, (left, (0.6 + row * 1.6) * em_px), size_px) for row, line in enumerate(lines)]
    below = (0.8 + len(lines) * 1.6) * em_px
    board = " x ".join(format_size(size.value, units) for size in (end.width, end.thickness))
    key = f"White: cuts. Black dashes: as meant. Colour: off it, {factor} times as large. L, R: firmly off."
    figures = figure_sentences(result.review, units)[:HEAD_FIGURES]
    for words in (*figures, f"Board {board}. {key}"):
        texts.append(Text(words, (left, below), sketch.fitting_size(words, em_px, 0.84 * room_px), MUTED))
        below += 1.35 * em_px
    return texts, round(below + 0.5 * em_px)


def _draw_datum(drawing: _Drawing, result: DrillResult) -> None:
    start, stop = drawing.at(-3.0, 0.0), drawing.at(result.measurement.end.width.value + 3.0, 0.0)
    sketch.draw_line(drawing.canvas, start, stop, Stroke(INK, drawing.em_px / 14))


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
    sketch.draw_line(drawing.canvas, root, drawing.at(cut.x_show.value, 0.0), Stroke(PAPER, em / 16, (), 1.0))


def _label(drawing: _Drawing, cut: DrillCut, middle_px: float, row: int, deep_mm: float) -> list[Text]:
    """Marker and words of one cut, joined by a line: its turn, and its lean with U."""
    em, look = drawing.em_px, look_of(cut)
    marker = drawing.at(cut.x_transfer.value, deep_mm + MARKER_DROP_MM)
    y = drawing.top_px + drawing.view.height_px + (0.7 + row * BLOCK_EMS) * em
    sketch.draw_line(drawing.canvas, marker, np.array([middle_px, y - 0.15 * em]), Stroke(MUTED, em / 16, (), 0.0))
    sketch.draw_marker(drawing.canvas, marker, 0.55 * em, look)
    clear = round(em / 5)
    return [
        sketch.marker_sign(marker, 0.55 * em, look),
        Text(f"cut {cut.turn}", (middle_px, y), round(0.85 * em), MUTED, "ma", clear),
        Text(f"{cut.lean.value:.2f}° ± {cut.lean.u95:.2f}", (middle_px, y + 1.2 * em), em, INK, "ma", clear),
    ]


def _middles(view: View, result: DrillResult, em_px: int) -> list[float]:
    """Where each cut's words are centred: below the cut, but whole within the picture (px)."""
    low_mm, half_px = result.measurement.end.thickness.value + MARKER_DROP_MM, _block_px(em_px) / 2
    points = view.place(np.array([[cut.x_transfer.value, low_mm] for cut in result.measurement.cuts]))
    return [float(x) for x in np.clip(points[:, 0], half_px, view.width_px - half_px)]


def _block_px(em_px: int) -> float:
    return sketch.text_width(LONGEST_WORDS, em_px) + 0.8 * em_px


def _draw_scale(drawing: _Drawing, length_mm: float, words: str) -> list[Text]:
    """A bar of that length along the datum, at the right of the head."""
    em = drawing.em_px
    length_px = float(np.hypot(*(drawing.at(length_mm, 0.0) - drawing.at(0.0, 0.0))))
    end = np.array([drawing.view.width_px - 0.8 * em, drawing.top_px - 0.8 * em])
    start = np.array([end[0] - length_px, end[1]])
    sketch.draw_line(drawing.canvas, start, end, Stroke(INK, em / 7, (), 0.0))
    return [Text(words, (float(start[0] + end[0]) / 2, drawing.top_px - 1.15 * em), round(0.85 * em), MUTED, "ms")]

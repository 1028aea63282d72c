"""A picture on paper: part of a photo with room for words above and below it, as every drawn result has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.answer import sketch
from vision.answer.palette import INK, MUTED, PAPER
from vision.answer.sketch import Stroke, Text
from vision.answer.view import View
from vision.answer.words import Units

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

TEXT_FRACTION = 1 / 44
"""Size of the small text over the picture's width: 9 points on a phone held upright."""
SCALE_BARS: dict[Units, tuple[float, str]] = {"mm": (10.0, "10 mm"), "inch": (12.7, "1/2 in")}
"""Length in mm and words of the scale bar."""
BESIDE_SCALE = 0.82
"""What the scale bar leaves of the width for the words beside it."""
MOST_ROWS = 3
"""Rows of blocks of words below the picture."""


@dataclass(frozen=True)
class Page:
    """One picture in the making: its `canvas` (h, w, 3), the photo's part `top_px` down in it, and the text's size."""

    canvas: Pixels
    view: View
    top_px: int
    em_px: int

    @property
    def below_px(self) -> int:
        """The canvas row below the photo's part."""
        return self.top_px + self.view.height_px

    def at(self, x_mm: float, y_mm: float) -> Floats:
        """The canvas pixel of a point in the frame of the view."""
        return self.view.place(np.array([[x_mm, y_mm]]))[0] + (0.0, self.top_px)

    def line(self, start_mm: tuple[float, float], end_mm: tuple[float, float], stroke: Stroke) -> None:
        """A line between two points in the frame of the view."""
        sketch.draw_line(self.canvas, self.at(*start_mm), self.at(*end_mm), stroke)


@dataclass(frozen=True)
class Head:
    """Words above a picture, and how many pixels high they are together."""

    texts: list[Text]
    height_px: int


def text_px(view: View) -> int:
    """The small text's size in a picture of that width."""
    return round(view.width_px * TEXT_FRACTION)


def canvas_of(view: View, top_px: int, below_px: int) -> Pixels:
    """The photo's part on paper with so much room above and below."""
    canvas = np.full((top_px + view.height_px + below_px, view.width_px, 3), PAPER, np.uint8)
    canvas[top_px : top_px + view.height_px] = view.picture
    return canvas


def head(said: str, below: Sequence[str], width_px: int, em_px: int, *, ems: float = 1.5, room: float = 1.0) -> Head:
    """What is `said` first, `ems` times as large as the lines `below` it, which take a share `room` of the width."""
    left, size_px = 0.8 * em_px, round(ems * em_px)
    room_px, step = width_px - 2 * left, (ems + 0.3) * em_px
    lines = sketch.wrapped(said, size_px, room_px)
    texts = [Text(line, (left, 0.6 * em_px + row * step), size_px) for row, line in enumerate(lines)]
    down = 0.9 * em_px + len(lines) * step
    for words in below:
        texts.append(Text(words, (left, down), sketch.fitting_size(words, em_px, room * room_px), MUTED))
        down += 1.35 * em_px
    return Head(texts, round(down + 0.5 * em_px))


def scale_bar(page: Page, units: Units) -> list[Text]:
    """A bar as long as a round length is along the end's edge, drawn above the picture at the right."""
    length_mm, words = SCALE_BARS[units]
    em, stroke = page.em_px, Stroke(INK, page.em_px / 7, (), 0.0)
    length_px = float(np.hypot(*(page.at(length_mm, 0.0) - page.at(0.0, 0.0))))
    end = np.array([page.view.width_px - 0.8 * em, page.top_px - 0.8 * em])
    start, tick = np.array([end[0] - length_px, end[1]]), np.array([0.0, em / 3])
    sketch.draw_line(page.canvas, start, end, stroke)
    for tip in (start, end):
        sketch.draw_line(page.canvas, tip - tick, tip + tick, stroke)
    middle = (float(start[0] + end[0]) / 2, page.top_px - 1.25 * em)
    return [Text(words, middle, round(0.85 * em), MUTED, "ms")]


def middles(view: View, points_mm: Floats, width_px: float) -> list[float]:
    """Where blocks of words of that width are centred: below their points (n, 2), but whole within the picture."""
    half_px = width_px / 2.0
    return [float(x) for x in np.clip(view.place(points_mm)[:, 0], half_px, view.width_px - half_px)]


def rows_needed(middles: Sequence[float], width_px: float) -> int:
    """The fewest rows, taken in turn, in which blocks of that width stay apart; never more than `MOST_ROWS`."""
    for rows in range(1, MOST_ROWS):
        if all(b - a >= width_px for a, b in zip(middles, middles[rows:], strict=False)):
            return rows
    return MOST_ROWS


def block_rows(points_px: Sequence[float], middles: Sequence[float], width_px: float) -> list[int]:
    """The row (0: the top one) of every block of words of that width, from left to right, centred at `middles`.

    Rows are taken in turn, so that blocks stay apart, and in that turn in which the fewest leaders, straight down from
    `points_px` (x of each), run through blocks of the rows above; in as few rows as do with that.
    """
    turns = (
        [(first + way * number) % rows for number in range(len(middles))]
        for rows in range(rows_needed(middles, width_px), MOST_ROWS + 1)
        for way in (-1, 1)
        for first in reversed(range(rows))
    )
    return min(turns, key=lambda rows: _crossings(points_px, middles, width_px, rows))


def _crossings(points_px: Sequence[float], middles: Sequence[float], width_px: float, rows: Sequence[int]) -> int:
    """How often a leader runs through another block."""
    blocks = list(zip(middles, rows, strict=True))
    leaders = zip(points_px, rows, strict=True)
    return sum(above < row and abs(x - middle) < width_px / 2.0 for x, row in leaders for middle, above in blocks)


def stacked(pictures: Sequence[Pixels], apart_px: int) -> Pixels:
    """Pictures of one width below one another, with a strip of paper between."""
    apart = np.full((apart_px, pictures[0].shape[1], 3), PAPER, np.uint8)
    pieces = [piece for picture in pictures for piece in (picture, apart)]
    return np.concatenate(pieces[:-1])

"""A page as a list of filled areas and texts in millimetres, which every file format draws alike.

Points are (x, y) in mm from the page's top left corner, x to the right, y down.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Loop = tuple[Point, ...]

BLACK, DARK, MID, PALE = 0.0, 0.25, 0.5, 0.7
"""Greys, from 0 (ink) to 1 (paper)."""


@dataclass(frozen=True)
class Area:
    """What closed `loops` enclose, filled in one `grey` (0 black to 1 white), without an outline.

    Outer loops all run the same way round and do not overlap; a hole in one of them runs the other way.
    """

    loops: tuple[Loop, ...]
    grey: float = BLACK


@dataclass(frozen=True)
class Text:
    """One line of text, `size_mm` high (the em), its baseline through `at`.

    `anchor` says which part of the baseline lies at `at`; `upward` turns the text a quarter turn to the left.
    """

    words: str
    at: Point
    size_mm: float
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False
    upward: bool = False
    grey: float = BLACK


Shape = Area | Text


@dataclass(frozen=True)
class Drawing:
    """A white page of `width_mm` by `height_mm` with `shapes` drawn on it in order."""

    title: str
    width_mm: float
    height_mm: float
    shapes: tuple[Shape, ...]


def rectangle(left: float, top: float, right: float, bottom: float, grey: float = BLACK) -> Area:
    """The filled rectangle between two opposite corners, mm."""
    return Area((((left, top), (right, top), (right, bottom), (left, bottom)),), grey)


def merged(areas: Iterable[Area]) -> Area:
    """Areas that do not overlap, of one grey and one way round, as one.

    Renderers fill it as a whole with soft edges, where they may move the edges of lone rectangles to whole pixels.
    """
    areas = list(areas)
    return Area(tuple(loop for area in areas for loop in area.loops), areas[0].grey)


def stroke(start: Point, end: Point, width_mm: float, grey: float = BLACK) -> Area:
    """A straight line of `width_mm` from `start` to `end`, its ends cut square. The two must differ."""
    along_x, along_y = end[0] - start[0], end[1] - start[1]
    scale = width_mm / 2 / math.hypot(along_x, along_y)
    dx, dy = -along_y * scale, along_x * scale
    sides = ((start, 1), (end, 1), (end, -1), (start, -1))
    return Area((tuple((x + side * dx, y + side * dy) for (x, y), side in sides),), grey)


def dashes(start: Point, end: Point, count: int, width_mm: float, grey: float = BLACK) -> list[Area]:
    """A line of `count` equal dashes, with gaps as long as a dash, beginning at `start` and finishing at `end`."""
    step_x, step_y = ((b - a) / (2 * count - 1) for a, b in zip(start, end, strict=True))
    points = [(start[0] + step_x * i, start[1] + step_y * i) for i in range(2 * count)]
    return [stroke(points[i], points[i + 1], width_mm, grey) for i in range(0, 2 * count, 2)]


def cross(centre: Point, reach_mm: float, width_mm: float, grey: float = BLACK) -> Area:
    """An upright cross whose four arms reach `reach_mm` from its centre."""
    r, w = reach_mm, width_mm / 2
    quarter = ((-w, -r), (w, -r), (w, -w))
    turns = ((1, 0), (0, 1), (-1, 0), (0, -1))
    loop = tuple((centre[0] + c * x - s * y, centre[1] + s * x + c * y) for c, s in turns for x, y in quarter)
    return Area((loop,), grey)


def arrow(tip: Point, towards_y: Literal[-1, 1], height_mm: float, grey: float = BLACK) -> Area:
    """An upright arrow of `height_mm` with its `tip` up (`towards_y` = -1) or down (1) the page."""
    outline = ((0, 0), (-0.36, 0.5), (-0.12, 0.5), (-0.12, 1), (0.12, 1), (0.12, 0.5), (0.36, 0.5))
    loop = tuple((tip[0] + height_mm * x, tip[1] - towards_y * height_mm * y) for x, y in outline)
    return Area((loop,), grey)


def cells_area(dark: NDArray[np.bool_], corner: Point, cell_mm: float) -> Area:
    """The dark cells of a (rows, columns) grid as one area whose top left corner is `corner`.

    Cells that touch share no edge in the result, so no renderer can leave a hairline between them.
    """
    loops = tuple(
        tuple((corner[0] + cell_mm * x, corner[1] + cell_mm * y) for x, y in loop) for loop in _cell_outlines(dark)
    )
    return Area(loops)


def _cell_outlines(dark: NDArray[np.bool_]) -> list[list[tuple[int, int]]]:
    """Closed loops of (column, row) grid corners around the dark cells, straight runs merged."""
    exits = _boundary_steps(dark)
    loops = []
    for start, ends in exits.items():
        while ends:
            loops.append(_without_straight_points(_walk(exits, start)))
    return loops


def _boundary_steps(dark: NDArray[np.bool_]) -> dict[tuple[int, int], list[tuple[int, int]]]:
    """Unit steps between grid corners, clockwise round each dark cell, less those between two dark cells."""
    steps: set[tuple[tuple[int, int], tuple[int, int]]] = set()
    for row, column in np.argwhere(dark).tolist():
        ring = [(column, row), (column + 1, row), (column + 1, row + 1), (column, row + 1)]
        steps.update(zip(ring, ring[1:] + ring[:1], strict=True))
    exits: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for start, end in sorted(steps):
        if (end, start) not in steps:
            exits.setdefault(start, []).append(end)
    return exits


def _walk(exits: dict[tuple[int, int], list[tuple[int, int]]], start: tuple[int, int]) -> list[tuple[int, int]]:
    """Follow (and use up) steps from `start` until it is reached again."""
    loop = [start]
    while (point := exits[loop[-1]].pop()) != start:
        loop.append(point)
    return loop


def _without_straight_points(loop: list[tuple[int, int]]) -> list[tuple[int, int]]:
    neighbours = zip(loop[-1:] + loop[:-1], loop, loop[1:] + loop[:1], strict=True)
    return [here for before, here, after in neighbours if before[0] != after[0] and before[1] != after[1]]

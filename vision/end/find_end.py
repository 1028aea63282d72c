"""Where the board's end lies beside the card: its two face edges, from far off to sub-pixel.

Two long parallel edges, and saw cuts that run from one to the other and stop there: that is what an end looks like and
what bench, vice jaw, block, shadow and paper are not. The search runs on a coarse strip below the card; then each edge
is found again at the photo's own resolution. Everything of the board that lies deeper than the end (faces, sockets'
floors) is drawn nearer to the point below the camera, so of several parallel edges the one farthest from that point
belongs to the end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.outcome import refuse
from calibration.plane import PlaneMap
from vision.photo.strip import (
    Frame,
    Light,
    blueness,
    log_light,
    mean_light,
    sample_grid,
    shear_columns,
    shear_rows,
    smooth,
)

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

COARSE_PX_PER_MM = 5.0
NEAREST_MM, REACH_MM = 3.0, 56.0
"""Where below the card's squares the end is looked for."""
FARTHEST_MM = 20.0
"""How far below the card's squares the near face may lie: the card stands beside the board, its margin between."""
THINNEST_MM, THICKEST_MM = 6.0, 36.0
_TURNS = np.radians(np.arange(-4.0, 4.01, 0.5))
_LEAN_STEP_DEG, _SPARE_DEG = 0.7, 3.5
"""Steps in which leans are tried, and how far beyond the steepest, since the end itself may be turned."""
_AT_ONCE = 4
"""Columns that an edge at the steepest turn crosses within a third of a row."""
_CANDIDATES = 20
_IN_COLOUR = 4
_ASIDE = 2
"""Columns to either side in which an upright edge that goes on beyond the faces may be seen: a line of a ruled mat is
as long as a wall under a slight turn, too, but then it goes on beside it."""
_CLEAR_OF_EDGE, _BEYOND_EDGE = 0.4 * COARSE_PX_PER_MM, 1.6 * COARSE_PX_PER_MM
"""Rows that are left out about a face edge, and rows beyond it up to which a wall must have stopped."""
_LEAST_WALL = 0.6
"""Evidence of an upright edge that may be a wall, at least."""
_SHORTEST_EDGE_MM = 9.0
_EDGE_WORTH = 0.03
"""Evidence per mm of a face edge, beside that of the walls."""
_LEVEL_SLOPE = 0.5
_UPRIGHT_SLOPE = 0.6
"""Contrast of an edge that counts, in natural logarithms of light per mm on the coarse strip."""


class Search(NamedTuple):
    """What is looked for: walls that lean by up to `most_lean_deg`, as a tail board's do, and so many likely pairs.

    The board may stick out by `beside_mm` beyond either end of the card's squares. Light lines are no edges on
    a bench that is `ruled`.
    """

    most_lean_deg: float = 3.6
    pairs: int = 7
    beside_mm: float = 15.0
    ruled: bool = False

    def half_mm(self, card: Card) -> float:
        """How far (mm) to either side of the middle of the `card` the end is looked for."""
        return card.width_mm / 2.0 + self.beside_mm


USUAL, WIDE, RULED = Search(), Search(beside_mm=50.0), Search(ruled=True)


@dataclass(frozen=True, eq=False)
class Pair:
    """Two parallel edges on the coarse strip: `turn` (rad), near edge `y_mm` at the strip's middle, and `thickness_mm`.

    `walls` (n,) is the evidence of each upright edge that runs from one to the other and stops there, 1 at best, and
    `walls_x` (n,) its place along them (mm); `score` adds them up, and the length of the two edges.
    """

    turn: float
    y_mm: float
    thickness_mm: float
    walls: Floats
    walls_x: Floats
    score: float


class _Edge(NamedTuple):
    support_mm: float
    turn_index: int
    row: int


def find_pairs(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, search: Search = USUAL) -> tuple[list[Pair], Frame]:
    """The likeliest pairs of face edges below the card, best first, and the frame they are told in.

    The frame has the card's axes, with x from its middle and y from the lower edge of its squares. Raises
    CannotMeasure `no_board_end` when nothing there looks like an end.
    """
    foot = plane.card.true_points(np.array([[card.width_mm / 2.0, card.height_mm]]))[0]
    frame = Frame.turned(foot, 0.0)
    half = search.half_mm(card)
    strip, inside = _coarse_strip(rgb, plane, frame, half)
    level, upright = _gradients(strip, inside)
    uprights = _Uprights.of(upright, search.most_lean_deg)
    pairs = sorted(_score_pairs(level, _colour_level(strip, inside), uprights), key=lambda pair: -pair.score)
    if not pairs or max(pair.walls.sum() for pair in pairs) < 1.0:
        raise refuse("no_board_end")
    kept: list[Pair] = []
    for pair in pairs:
        if all(not _same_pair(pair, other) for other in kept):
            kept.append(pair)
    return kept[: search.pairs], frame


def _same_pair(a: Pair, b: Pair) -> bool:
    near = abs(a.y_mm - b.y_mm) < 0.9
    return near and abs(a.y_mm + a.thickness_mm - b.y_mm - b.thickness_mm) < 0.9


def _coarse_strip(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, half_mm: float
) -> tuple[Light, NDArray[np.bool_]]:
    """The strip below the card at COARSE_PX_PER_MM, from a picture shrunk to about that."""
    shrink = max(1, round(plane.px_per_mm(frame.origin) / COARSE_PX_PER_MM))
    small = np.asarray(cv2.resize(rgb, None, fx=1.0 / shrink, fy=1.0 / shrink, interpolation=cv2.INTER_AREA), np.uint8)
    x = np.arange(-half_mm, half_mm, 1.0 / COARSE_PX_PER_MM)
    y = np.arange(NEAREST_MM, REACH_MM, 1.0 / COARSE_PX_PER_MM)

    def to_small(points: Floats) -> Floats:
        return (plane.to_image(frame.to_plane(points)) + 0.5) / shrink - 0.5

    return sample_grid(small, to_small, x, y)


def _gradients(strip: Light, inside: NDArray[np.bool_]) -> tuple[Light, Light]:
    """Logarithmic gradients per mm, down the strip (level edges) and along it (upright); zero outside."""
    light = log_light(mean_light(strip))
    unit = COARSE_PX_PER_MM
    upright = np.gradient(smooth(smooth(light, 0.16 * unit, 1), 0.4 * unit, 0), axis=1) * unit
    return _level(light, inside), np.where(_well_within(inside), upright, 0.0).astype(np.float32)


def _level(light: Light, inside: NDArray[np.bool_]) -> Light:
    """Gradient per mm down the strip, calmed along it; zero outside."""
    unit = COARSE_PX_PER_MM
    level = np.gradient(smooth(smooth(light, 0.18 * unit, 0), 0.6 * unit, 1), axis=0) * unit
    return np.where(_well_within(inside), level, 0.0).astype(np.float32)


def _colour_level(strip: Light, inside: NDArray[np.bool_]) -> Light:
    """Level edges of colour alone: brown wood on grey stone as light as it is shows no other."""
    return _level(-np.log(blueness(strip)), inside)


def _well_within(inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    border = np.pad(inside.astype(np.uint8), 2)
    return np.asarray(cv2.erode(border, np.ones((5, 5), np.uint8))[2:-2, 2:-2] > 0)


def _support(level: Light) -> Floats:
    """How long (mm) a level edge at each turn and row is: (turns, rows), negative where it is darker below.

    Columns count some together: so few are level at any turn, and there are fewer to shear.
    """
    clipped = np.clip(level, -_LEVEL_SLOPE, _LEVEL_SLOPE) / _LEVEL_SLOPE
    few = cv2.resize(clipped, (level.shape[1] // _AT_ONCE, level.shape[0]), interpolation=cv2.INTER_AREA)
    sheared = (shear_rows(np.asarray(few), float(_AT_ONCE * np.tan(turn))) for turn in _TURNS)
    return np.array([rows.sum(axis=1) for rows in sheared]) * (_AT_ONCE / COARSE_PX_PER_MM)


def _level_edges(support: Floats, most: int = _CANDIDATES) -> list[_Edge]:
    """Straight level edges by their `support` (turns, rows) in mm, longest first."""
    middle = support[:, 1:-1]
    peaks = (middle >= support[:, :-2]) & (middle > support[:, 2:]) & (middle > _SHORTEST_EDGE_MM)
    found = [_Edge(float(support[i, j + 1]), i, j + 1) for i, j in zip(*np.nonzero(peaks), strict=True)]
    kept: list[_Edge] = []
    for edge in sorted(found, key=lambda edge: -edge.support_mm):
        if all(not _same_edge(edge, other) for other in kept):
            kept.append(edge)
        if len(kept) == most:
            break
    return kept


def _same_edge(a: _Edge, b: _Edge) -> bool:
    return abs(a.row - b.row) <= 0.35 * COARSE_PX_PER_MM and abs(a.turn_index - b.turn_index) <= 2


class _Uprights(NamedTuple):
    """Upright edges: running counts of their samples down the strip, (polarity, lean, row, column), at `leans` (rad).

    They are counted modulo 256: an end is no more rows thick, and a small array is found again sooner. Of these, walls
    have those within `most_lean` of the end's normal.
    """

    counts: NDArray[np.uint8]
    leans: Floats
    most_lean: float

    @classmethod
    def of(cls, upright: Light, most_lean_deg: float) -> _Uprights:
        """The counts of upright gradients (rows, columns)."""
        steps = round((most_lean_deg + _SPARE_DEG) / _LEAN_STEP_DEG)
        leans = np.radians(_LEAN_STEP_DEG * np.arange(-steps, steps + 1))
        counts = np.empty((2, len(leans), *upright.shape), np.uint8)
        for index, lean in enumerate(leans):
            sheared = shear_columns(upright, float(np.tan(lean)))
            counts[0, index] = _running_counts(sheared > _UPRIGHT_SLOPE)
            counts[1, index] = _running_counts(sheared < -_UPRIGHT_SLOPE)
        return cls(counts, leans, float(np.radians(most_lean_deg)))

    def of_walls(self, turn: float) -> NDArray[np.uint8]:
        """The counts at leans that walls of an end turned by `turn` (rad) may have."""
        near = np.flatnonzero(np.abs(self.leans + turn) < self.most_lean)
        return self.counts[:, near[0] : near[-1] + 1]


def _running_counts(marked: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """How many of each column's samples are marked down to every row, itself included, modulo 256."""
    sums = cv2.integral(marked.view(np.uint8))[1:].astype(np.uint8)
    return np.asarray(sums[:, 1:] - sums[:, :-1])


def _score_pairs(level: Light, colour: Light, uprights: _Uprights) -> list[Pair]:
    support = _support(level)
    brighter = _level_edges(support)
    far = brighter + _level_edges(-support)
    in_colour = _level_edges(-_support(colour), _IN_COLOUR)
    far += [edge for edge in in_colour if not any(_same_edge(edge, other) for other in far)]
    near = [edge for edge in brighter if NEAREST_MM + edge.row / COARSE_PX_PER_MM < FARTHEST_MM]
    pairs = []
    for first in near:
        for second in far:
            thickness = (second.row - first.row) / COARSE_PX_PER_MM
            if THINNEST_MM < thickness < THICKEST_MM and abs(first.turn_index - second.turn_index) <= 1:
                pairs.append(_judge(first, second, uprights))
    return pairs


def _judge(first: _Edge, second: _Edge, uprights: _Uprights) -> Pair:
    turn = float(_TURNS[first.turn_index] + _TURNS[second.turn_index]) / 2.0
    usable = uprights.of_walls(turn)
    middle = usable.shape[3] / 2.0
    tilt = np.tan(turn) * (np.arange(usable.shape[3]) - middle)
    top, bottom = first.row + tilt, second.row + tilt
    unit = COARSE_PX_PER_MM
    inside = _share(usable, np.arange(usable.shape[3]), top + _CLEAR_OF_EDGE, bottom - _CLEAR_OF_EDGE)
    hopeful = np.flatnonzero(inside.max(axis=(0, 1)) >= _LEAST_WALL)
    above = _most_aside(usable, hopeful, top - _BEYOND_EDGE, top - _CLEAR_OF_EDGE)
    below = _most_aside(usable, hopeful, bottom + _CLEAR_OF_EDGE, bottom + _BEYOND_EDGE)
    evidence = np.zeros((2, usable.shape[3]), np.float32)
    evidence[:, hopeful] = (inside[..., hopeful] * (1.0 - 0.7 * above) * (1.0 - 0.7 * below)).max(axis=1)
    walls, places = (np.concatenate(parts) for parts in zip(*(_peaks(row) for row in evidence), strict=True))
    lengths = min(first.support_mm, 120.0) + min(second.support_mm, 120.0)
    y_mm = NEAREST_MM + first.row / unit
    walls_x = (places - middle) / unit
    score = float(walls.sum()) + _EDGE_WORTH * lengths
    return Pair(turn, y_mm, (second.row - first.row) / unit, walls, walls_x, score)


def _share(counts: NDArray[np.uint8], columns: Indices, first: Floats, last: Floats) -> Light:
    """Share of the rows `first` to `last` that hold an upright edge in some columns, (polarity, lean, *columns).

    The rows are those of every column, (all columns,).
    """
    start, end = (np.clip(np.rint(rows[columns]).astype(int), 0, counts.shape[2] - 1) for rows in (first, last))
    held = counts[:, :, end, columns] - counts[:, :, start, columns]
    return np.asarray(held / np.maximum(end - start, 1).astype(np.float32))


def _most_aside(counts: NDArray[np.uint8], columns: Indices, first: Floats, last: Floats) -> Light:
    """The most of the `_share` within `_ASIDE` of some `columns` (n,), (polarity, lean, n)."""
    around = np.clip(columns + np.arange(-_ASIDE, _ASIDE + 1)[:, None], 0, counts.shape[3] - 1)
    return np.asarray(_share(counts, around, first, last).max(axis=2))


def _peaks(evidence: Light) -> tuple[Floats, Floats]:
    """The peaks (n,) that walls may be, no two closer than 0.4 mm, and their columns (n,)."""
    apart = int(0.4 * COARSE_PX_PER_MM)
    left = evidence.copy()
    peaks, columns = [], []
    while left[column := int(left.argmax())] >= _LEAST_WALL:
        peaks.append(float(left[column]))
        columns.append(float(column))
        left[max(0, column - apart) : column + apart + 1] = 0.0
    return np.array(peaks), np.array(columns)

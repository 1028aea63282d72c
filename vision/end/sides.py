"""The board's two sides: where the end's surface begins and ends along the show face.

While the waste is in, they are edges of the surface itself. Once it is out, the corners are gone and only the shoulders
remain, a baseline's depth below: their picture is drawn toward the point below the camera, by a ratio that the far
edge of the shoulders' floor gives away.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import WARNINGS, CannotMeasure, Kind
from calibration.plane import PlaneMap
from vision.end.face_edges import find_face_edges
from vision.end.find_walls import HALF_PIN_MM, HALF_PIN_SPREAD_MM
from vision.end.found_end import FoundEnd
from vision.end.sawn_extent import RoughSide
from vision.photo.card_turn import Facing
from vision.photo.strip import Frame, Light, brightest, light_and_colours, sample_grid, smooth

Floats = NDArray[np.float64]
Run = tuple[float, float]
Indices = NDArray[np.intp]

_SIDE_U = 0.03
"""Standard uncertainty (mm) of a side edge's place, corners and wear included."""
_ROUGH_SIDE_U = 0.3
_SIDE_LEAN_U, _ALIKE_COLUMNS = math.radians(0.05), 2.0
"""A side's direction: what wear leaves open of it, and by how much more than its fit says grain and blur do."""
_PLAIN_RIVALS_MM = 0.8
"""A side with rivals farther off may be something else's: its direction is not told."""
_NEAR_MM = 0.5
"""How far a side's own edge may be from where the surface seems to end."""
DOUBTFUL_U = 0.5
"""Standard uncertainty (mm) of a side above which more than the sharpness of its edge is in doubt."""
_HALF_PIN_MM = (2.0, 16.0)
"""Narrowest and widest half-pin socket looked for."""
_UNEVEN_MM = 1.5
"""How unlike the two half pins of one board usually are, one standard deviation (common practice, no source)."""
_DEPTHS = np.arange(0.5, 1.9, 0.03)
"""Depths of the baseline looked at, over the thickness of the board."""
_DEPTH_SPREAD = 0.25
"""Spread of the depth about the thickness, in natural logarithms: the mate is about as thick (common practice)."""
_UNIT = 7.0
"""Samples per mm around the floors."""
_ALIKE_MM = 1.0
"""Length of an edge along which wood and background say the same thing once."""
_GOES_ON = 0.7
"""How much an edge that goes on beyond its corner, as a line on the bench does, counts against it."""
_CORNER_MM, _BEYOND_MM = 0.35, 2.0
"""What is left out about a corner, and the length beyond it where the edge must have stopped."""
_CLEAR_OF_TAIL_MM = 1.0
"""An upright edge this near to the tail's is a trace of the tail; a shoulder that ends there is as good as hidden."""
_PAPER_SHARE = 0.6
"""Light of the card's margin, relative to what it is beside the squares, at least."""
_STEEP, _SOME = 8.0, 3
"""A step this many times the median in the picture is a full one; every so many rows and columns tell the median."""
_SHOULDER_U = 0.08
"""Standard uncertainty (mm) of a shoulder's end where it is plainly seen: corners, wear, straightness."""


class Side(NamedTuple):
    """A side's place x (mm) at the show face in the end frame and its standard uncertainty (mm).

    `lean` (rad) is its direction, positive when it moves to +x on the way to the transfer face, with its standard
    uncertainty; None where that is not seen.
    """

    x: float
    u: float
    lean: float = 0.0
    lean_u: float | None = None


def sawn_sides(rgb: NDArray[np.uint8], plane: PlaneMap, end: FoundEnd) -> tuple[Side, Side]:
    """Both sides while the waste is in: edges of the surface itself, near where it seems to end.

    A rival for a side makes it as uncertain as the rival is far off.
    """
    left, right = end.sides
    return _sawn_side(rgb, plane, end, left), _sawn_side(rgb, plane, end, right)


def _sawn_side(rgb: NDArray[np.uint8], plane: PlaneMap, end: FoundEnd, rough: RoughSide) -> Side:
    half, x = end.thickness / 2.0, rough.x
    upright = end.frame.moved(x, half, np.pi / 2.0)
    try:
        edge = find_face_edges(rgb, plane, upright, half - 0.5, 0.0, reach_mm=_NEAR_MM)[0]
    except CannotMeasure:
        return Side(x, float(np.hypot(_ROUGH_SIDE_U, rough.rivals_mm)))
    seen_u = np.hypot(edge.line.u_at(-half), _SIDE_U)
    place, u = x - edge.line.at(-half), float(np.hypot(seen_u, rough.rivals_mm))
    if rough.rivals_mm > _PLAIN_RIVALS_MM:
        return Side(place, u)
    lean_u = math.hypot(_ALIKE_COLUMNS * edge.line.slope_u, _SIDE_LEAN_U)
    return Side(place, u, -math.atan(edge.line.slope), lean_u)


def doubts(sides: tuple[Side, Side]) -> tuple[Kind, ...]:
    """The warning `side_doubtful` when either side of a sawn board is hardly known."""
    return (WARNINGS["side_doubtful"],) if max(side.u for side in sides) > DOUBTFUL_U else ()


def cleared_sides(
    rgb: NDArray[np.uint8], plane: PlaneMap, facing: Facing, frame: Frame, walls_x: Floats, thickness: float
) -> tuple[Side, Side]:
    """Both sides, from the shoulders: `walls_x` (walls,) are the walls' places left to right.

    `facing` tells which edge of the card the end lies beyond.

    All floors lie equally deep, so one ratio draws all of them toward the nadir. Every depth and every place of either
    side has its evidence: the floors' level edges, the shoulders' upright ends, that each stops at the other, and what
    is usual. The side is where most of it lies, its uncertainty how far the rest lies from there.
    """
    free = _free_of_card(rgb, plane, facing, frame, (float(walls_x[0]), float(walls_x[-1])), thickness)
    view = _floor_view(rgb, plane, frame, walls_x, thickness, free)
    depths = thickness * _DEPTHS
    ratios = plane.distance_mm / (plane.distance_mm + depths)
    reach = np.arange(*_HALF_PIN_MM, 1.0 / _UNIT)
    common = -0.5 * (np.log(_DEPTHS) / _DEPTH_SPREAD) ** 2 + view.sockets(ratios)
    usual = -0.5 * ((reach - HALF_PIN_MM) / HALF_PIN_SPREAD_MM) ** 2
    left = usual + view.shoulder(ratios, float(walls_x[0]), -1.0, reach)
    right = usual + view.shoulder(ratios, float(walls_x[-1]), 1.0, reach)
    alike = np.exp(-0.5 * (np.subtract.outer(reach, reach) / _UNEVEN_MM) ** 2)
    on_left, on_right = _likely_places(common, left, right, alike)
    return _side(float(walls_x[0]), -reach, on_left), _side(float(walls_x[-1]), reach, on_right)


def _likely_places(common: Floats, left: Floats, right: Floats, alike: Floats) -> tuple[Floats, Floats]:
    """How likely every place of the left and the right side is, (n,), up to a factor.

    By the evidence of each depth, `common` (depths,) and of either shoulder (depths, n), and how likely two places are
    to be one board's, `alike` (n, n).
    """
    most = common + left.max(axis=1) + right.max(axis=1)
    share = np.exp(most - most.max())
    lefts, rights = (np.exp(evidence - evidence.max(axis=1, keepdims=True)) for evidence in (left, right))
    return share @ (lefts * (rights @ alike)), share @ (rights * (lefts @ alike))


def _side(wall_x: float, reach: Floats, likely: Floats) -> Side:
    """The side at the likeliest of the places `reach` (n,) from its wall, widened by how far the others lie from it."""
    share = likely / likely.sum()
    best = reach[int(share.argmax())]
    near = np.abs(reach - best) < 2.0 * _CORNER_MM
    place = float((share * reach)[near].sum() / share[near].sum())
    return Side(wall_x + place, float(np.hypot(_SHOULDER_U, np.sqrt((share * (reach - place) ** 2).sum()))))


class _FloorView(NamedTuple):
    """Edges around the floors: running sums of contrast, -1 to 1, over `x` and `y` mm, for three colours.

    `level` (3, rows, columns + 1) runs along level lines, `upright` (3, rows + 1, columns) along upright ones. `gaps`
    are the sockets between tails, (left, right) in mm.
    """

    level: Light
    upright: Light
    x: Floats
    y: Floats
    gaps: Floats
    nadir: Floats
    thickness: float
    free: Run
    """Where, across the thickness, the card hides nothing, mm."""

    def _faces(self, ratios: Floats) -> list[Floats]:
        """The floors' near and far edges (depths,), mm."""
        return [self.nadir[1] + (face - self.nadir[1]) * ratios for face in (0.0, self.thickness)]

    def _drawn(self, x: Floats, ratios: Floats) -> Floats:
        """Where places `x` (n,) of the floors are drawn, (depths, n), mm."""
        return np.asarray(self.nadir[0] + (x - self.nadir[0]) * ratios[:, None])

    def _rows(self, y: Floats) -> Indices:
        return np.clip(np.rint((y - self.y[0]) * _UNIT), 0, len(self.y) - 1).astype(int)

    def _columns(self, x: Floats) -> Indices:
        return np.clip(np.rint((x - self.x[0]) * _UNIT), 0, len(self.x) - 1).astype(int)

    def _seen(self, ratios: Floats) -> list[tuple[Indices, NDArray[np.bool_]]]:
        """Rows (depths,) of the floors' level edges, and whether the card leaves each in sight."""
        return [(self._rows(y), (self.free[0] < y) & (y < self.free[1])) for y in self._faces(ratios)]

    def sockets(self, ratios: Floats) -> Floats:
        """Evidence (depths,) for the floors' level edges between the tails."""
        left = np.maximum(self.gaps[:, 0], self._drawn(self.gaps[:, 0], ratios))
        right = np.minimum(self.gaps[:, 1], self._drawn(self.gaps[:, 1], ratios))
        first, last = self._columns(left + _CORNER_MM), self._columns(right - _CORNER_MM)
        length = np.where(right - left > 1.0, last - first, 0) / _UNIT
        evidence = np.zeros(len(ratios))
        for row, seen in self._seen(ratios):
            clear = _mean(self.level, row[:, None], first, last) ** 2
            evidence += seen * (length / _ALIKE_MM * clear).max(axis=0).sum(axis=1)
        return evidence

    def shoulder(self, ratios: Floats, wall_x: float, outward: float, reach: Floats) -> Floats:
        """Evidence (depths, n) for a shoulder that ends `reach` (n,) mm beyond the wall at `wall_x`."""
        end = self._drawn(wall_x + outward * reach, ratios)
        start = outward * np.maximum(outward * wall_x, outward * self._drawn(np.array([wall_x]), ratios))
        near, far = (np.clip(y, *self.free) for y in self._faces(ratios))
        stops = [near + _CORNER_MM, far - _CORNER_MM, far + _CORNER_MM, far + _CORNER_MM + _BEYOND_MM]
        top, bottom, below, lowest = (self._rows(y)[:, None] for y in stops)
        at = self._columns(end)
        evidence = _evidence(
            _mean_down(self.upright, at, top, bottom),
            _mean_down(self.upright, at, below, lowest),
            (bottom - top) / _UNIT,
        )
        inner, outer, last = (
            self._columns(end + outward * beyond) for beyond in (-_CORNER_MM, _CORNER_MM, _CORNER_MM + _BEYOND_MM)
        )
        first = self._columns(start + outward * _CORNER_MM)
        length = np.maximum(outward * (inner - first), 0.0) / _UNIT
        for row, seen in self._seen(ratios):
            along, beyond = (_mean(self.level, row[:, None], *ends) for ends in ((first, inner), (outer, last)))
            evidence += seen[:, None] * _evidence(along, beyond, length)
        return np.where(outward * (end - wall_x) > _CLEAR_OF_TAIL_MM, evidence, 0.0)


def _mean(sums: Light, rows: Indices, first: Indices, last: Indices) -> Floats:
    """Mean contrast (colours, depths, n) along `rows` between columns `first` and `last`, in either order."""
    count = last - first
    return np.asarray((sums[:, rows, last] - sums[:, rows, first]) / np.where(count == 0, 1, count))


def _mean_down(sums: Light, columns: Indices, first: Indices, last: Indices) -> Floats:
    """Mean contrast (colours, depths, n) down `columns` between rows `first` and `last`."""
    return np.asarray((sums[:, last, columns] - sums[:, first, columns]) / np.maximum(1, last - first))


def _evidence(along: Floats, beyond: Floats, length: Floats) -> Floats:
    """Evidence (depths, n) for edges of contrast `along` (colours, depths, n) that stop where `beyond` begins.

    They are `length` mm long.
    """
    goes_on = np.maximum(beyond * np.sign(along), 0.0)
    clear = np.maximum(np.abs(along) - _GOES_ON * goes_on, 0.0)
    return np.asarray(length / _ALIKE_MM * (clear**2).max(axis=0))


def _free_of_card(
    rgb: NDArray[np.uint8], plane: PlaneMap, facing: Facing, frame: Frame, x: Run, thickness: float
) -> Run:
    """Where across the thickness the card hides nothing, mm: beyond the end of its white along `x`."""
    squares = float(frame.from_plane(facing.foot[None])[0, 1])
    toward_end = -float(np.sign(squares))
    y = squares + toward_end * np.arange(1.0, max(-squares, squares - thickness, 2.0), 1.0 / _UNIT)
    light, _ = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), np.arange(*x, 1.0), y)
    white = brightest(light)
    paper = np.logical_and.accumulate(white > _PAPER_SHARE * white[:3].mean(axis=0), axis=0)
    edge = float(y[min(len(y) - 1, int(np.percentile(paper.sum(axis=0), 95)))]) + toward_end * _CORNER_MM
    return (edge, np.inf) if toward_end > 0.0 else (-np.inf, edge)


def _floor_view(
    rgb: NDArray[np.uint8],
    plane: PlaneMap,
    frame: Frame,
    walls_x: Floats,
    thickness: float,
    free: Run,
) -> _FloorView:
    x = np.arange(walls_x[0] - _HALF_PIN_MM[1] - 3.0, walls_x[-1] + _HALF_PIN_MM[1] + 3.0, 1.0 / _UNIT)
    y = np.arange(-4.0, thickness + 4.0, 1.0 / _UNIT)
    light, inside = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), x, y)
    level, upright = np.zeros((3, len(y), len(x) + 1), np.float32), np.zeros((3, len(y) + 1, len(x)), np.float32)
    for colour, along, down in zip(light_and_colours(light), level, upright, strict=True):
        np.cumsum(_contrast(colour, 0) * inside, axis=1, out=along[:, 1:])
        np.cumsum(_contrast(colour, 1) * inside, axis=0, out=down[1:])
    nadir = frame.from_plane(plane.nadir_mm[None])[0]
    return _FloorView(level, upright, x, y, walls_x[1:-1].reshape(-1, 2), nadir, thickness, free)


def _contrast(colour: Light, axis: int) -> Light:
    """Steps across lines (rows, columns), over what is usual in this picture, -1 to 1."""
    calm = smooth(smooth(colour, 0.08 * _UNIT, axis), 0.2 * _UNIT, 1 - axis)
    step = np.gradient(calm, axis=axis)
    return np.clip(step / np.float32(max(_STEEP * _usual(step), 1e-3)), -1.0, 1.0)


def _usual(step: Light) -> float:
    """The median size of a picture's steps, by some of its rows and columns: neighbours are alike."""
    return float(np.median(np.abs(step[::_SOME, ::_SOME])))

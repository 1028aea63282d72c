"""The board's two sides: where the end's surface begins and ends along the show face.

While the waste is in, they are edges of the surface itself. Once it is out, the corners are gone and only the shoulders
remain, a baseline's depth below: their picture is drawn toward the point below the camera, by a ratio that the far
edge of the shoulders' floor gives away.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import WARNINGS, CannotMeasure, Kind
from calibration.plane import PlaneMap
from vision.end.face_edges import find_face_edge
from vision.end.find_walls import HALF_PIN_MM, HALF_PIN_SPREAD_MM
from vision.end.locate import FoundEnd
from vision.end.sawn_extent import RoughSide
from vision.photo.card_turn import Facing
from vision.photo.strip import Frame, Light, brightest, light_and_colours, sample_grid, smooth

Floats = NDArray[np.float64]
Run = tuple[float, float]

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
_UNIT = 10.0
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


@dataclass(frozen=True)
class Side:
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
        edge = find_face_edge(rgb, plane, upright, half - 0.5, 0.0, reach_mm=_NEAR_MM)
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
    common = -0.5 * (np.log(_DEPTHS) / _DEPTH_SPREAD) ** 2 + [view.sockets(ratio) for ratio in ratios]
    usual = -0.5 * ((reach - HALF_PIN_MM) / HALF_PIN_SPREAD_MM) ** 2
    left, right = (
        usual + [view.shoulder(ratio, place, outward, reach) for ratio in ratios]
        for place, outward in ((walls_x[0], -1.0), (walls_x[-1], 1.0))
    )
    uneven = -0.5 * ((reach[:, None] - reach[None, :]) / _UNEVEN_MM) ** 2
    evidence = common[:, None, None] + left[:, :, None] + right[:, None, :] + uneven
    likely = np.exp(evidence - evidence.max())
    return (
        _side(float(walls_x[0]), -reach, likely.sum(axis=(0, 2))),
        _side(float(walls_x[-1]), reach, likely.sum(axis=(0, 1))),
    )


def _side(wall_x: float, reach: Floats, likely: Floats) -> Side:
    """The side at the likeliest of the places `reach` (n,) from its wall, widened by how far the others lie from it."""
    share = likely / likely.sum()
    best = reach[int(share.argmax())]
    near = np.abs(reach - best) < 2.0 * _CORNER_MM
    place = float((share * reach)[near].sum() / share[near].sum())
    return Side(wall_x + place, float(np.hypot(_SHOULDER_U, np.sqrt((share * (reach - place) ** 2).sum()))))


@dataclass(frozen=True)
class _FloorView:
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

    def _lines(self, ratio: float) -> Floats:
        """The floors' near and far edges, mm."""
        return np.asarray(self.nadir[1] + (np.array([0.0, self.thickness]) - self.nadir[1]) * ratio)

    def _drawn(self, x: Floats, ratio: float) -> Floats:
        """Where places `x` of the floors are drawn, mm."""
        return np.asarray(self.nadir[0] + (x - self.nadir[0]) * ratio)

    def _row(self, y: float) -> int:
        return int(np.clip(np.rint((y - self.y[0]) * _UNIT), 0, len(self.y) - 1))

    def _columns(self, x: Floats) -> NDArray[np.int_]:
        return np.clip(np.rint((x - self.x[0]) * _UNIT), 0, len(self.x) - 1).astype(int)

    def _seen(self, ratio: float) -> list[int]:
        """Rows of the floors' level edges that the card does not hide."""
        return [self._row(y) for y in self._lines(ratio) if self.free[0] < y < self.free[1]]

    def sockets(self, ratio: float) -> float:
        """Evidence for the floors' level edges between the tails."""
        left, right = (np.maximum(self.gaps, self._drawn(self.gaps, ratio))[:, 0], self.gaps[:, 1])
        right = np.minimum(right, self._drawn(right, ratio))
        wide = right - left > 1.0
        first, last = self._columns(left[wide] + _CORNER_MM), self._columns(right[wide] - _CORNER_MM)
        length = (last - first) / _UNIT
        return float(
            sum(
                (length / _ALIKE_MM * _mean(self.level[:, row], first, last) ** 2).max(axis=0).sum()
                for row in self._seen(ratio)
            )
        )

    def shoulder(self, ratio: float, wall_x: float, outward: float, reach: Floats) -> Floats:
        """Evidence (n,) for a shoulder that ends `reach` (n,) mm beyond the wall at `wall_x`."""
        end = self._drawn(wall_x + outward * reach, ratio)
        start = outward * max(outward * wall_x, outward * float(self._drawn(np.array([wall_x]), ratio)[0]))
        near, far = np.clip(self._lines(ratio), *self.free)
        top, bottom = self._row(near + _CORNER_MM), self._row(far - _CORNER_MM)
        below = self._row(far + _CORNER_MM), self._row(far + _CORNER_MM + _BEYOND_MM)
        at = self._columns(end)
        evidence = _evidence(
            _rows_mean(self.upright, at, top, bottom), _rows_mean(self.upright, at, *below), (bottom - top) / _UNIT
        )
        inner, first = (
            self._columns(end - outward * _CORNER_MM),
            self._columns(np.full(len(end), start + outward * _CORNER_MM)),
        )
        outer, last = (
            self._columns(end + outward * _CORNER_MM),
            self._columns(end + outward * (_CORNER_MM + _BEYOND_MM)),
        )
        length = np.maximum(outward * (inner - first), 0.0) / _UNIT
        for row in self._seen(ratio):
            line = self.level[:, row]
            evidence += _evidence(_mean(line, first, inner), _mean(line, outer, last), length)
        return np.where(outward * (end - wall_x) > _CLEAR_OF_TAIL_MM, evidence, 0.0)


def _mean(sums: Light, first: NDArray[np.int_], last: NDArray[np.int_]) -> Floats:
    """Mean contrast (colours, n) between columns `first` and `last` (n,), in either order, from running sums."""
    count = last - first
    return np.asarray((sums[:, last] - sums[:, first]) / np.where(count == 0, 1, count))


def _rows_mean(sums: Light, columns: NDArray[np.int_], first: int, last: int) -> Floats:
    """Mean contrast (colours, n) of `columns` (n,) between rows `first` and `last`, from running sums."""
    return np.asarray((sums[:, last, columns] - sums[:, first, columns]) / max(1, last - first))


def _evidence(along: Floats, beyond: Floats, length: Floats | float) -> Floats:
    """Evidence (n,) for an edge of contrast `along` (colours, n) over `length` mm that stops where `beyond` begins."""
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

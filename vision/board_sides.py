"""The board's two sides: where the end's surface begins and ends along the show face.

While the waste is in, they are edges of the surface itself. Once it is out, the corners are gone and only the shoulders
remain, a baseline's depth below: their picture is drawn toward the point below the camera, by a ratio that the far
edge of the shoulders' floor gives away.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure
from calibration.plane import PlaneMap
from vision.face_edges import find_face_edge
from vision.strip import Frame, sample_grid, smooth

Floats = NDArray[np.float64]

_SIDE_U = 0.03
"""Standard uncertainty (mm) of a side edge's place, corners and wear included."""
_ROUGH_SIDE_U = 0.3
_SHOULDER_MM = (2.0, 16.0)
"""Narrowest and widest half-pin socket looked for."""
_DEPTH_MM = (6.0, 32.0)
_UNIT = 10.0
"""Samples per mm around the floors."""
_SILENT = 0.3
"""Contrast along a line that is no edge, on average."""
_UPRIGHT_WORTH = 4.0
_LEAST_EVIDENCE = 1.0
_UNEVEN_MM = 0.8
"""How unlike the two half pins of one board usually are, one standard deviation (common practice, no source)."""
_SHOULDER_U = 0.15
_RATIO_U = 0.006
_UNSEEN_U = 2.0
"""Standard uncertainty (mm) of a side taken from the usual width of a half pin, when no shoulder was found."""
_USUAL_HALF_PIN_MM, _HALF_PIN_SPREAD_MM = 6.5, 2.5
"""Width of a half pin at the end, and its spread (common practice, no source)."""


@dataclass(frozen=True)
class Side:
    """A side's place x (mm) at the show face in the end frame and its standard uncertainty (mm)."""

    x: float
    u: float


def sawn_side(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, x: float, inner_x: float, thickness: float
) -> Side:
    """The side near `x`, where the surface was last seen; `inner_x` lies within the surface."""
    upright = frame.moved(x, thickness / 2.0, np.pi / 2.0)
    try:
        edge = find_face_edge(rgb, plane, upright, thickness / 2.0 - 0.5, 0.0, inner_mm=x - inner_x)
    except CannotMeasure:
        return Side(x, _ROUGH_SIDE_U)
    place = x - edge.line.at(-thickness / 2.0)
    return Side(place, float(np.hypot(edge.line.u_at(-thickness / 2.0), _SIDE_U)))


def cleared_sides(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, walls_x: Floats, thickness: float
) -> tuple[Side, Side]:
    """Both sides, from the shoulders: `walls_x` (walls,) are the walls' places left to right.

    All floors lie equally deep, so one ratio draws all of them toward the nadir: it is the one that puts most floor
    edges where edges are seen. Along those lines each shoulder is followed outward to its upright end.
    """
    view = _floor_view(rgb, plane, frame, walls_x, thickness)
    distance = plane.distance_mm
    ratios = distance / (distance + np.arange(*_DEPTH_MM, 0.25))
    evidence = [view.edge_strength(ratio)[view.on_floors].sum() for ratio in ratios]
    ratio = float(ratios[int(np.argmax(evidence))])
    left, right = view.shoulder(ratio, float(walls_x[0]), -1.0), view.shoulder(ratio, float(walls_x[-1]), 1.0)
    uneven = (left.reach[:, None] - right.reach[None, :]) / _UNEVEN_MM
    both = (left.score - left.doubt)[:, None] + (right.score - right.doubt)[None, :] - 0.5 * uneven**2
    chosen = np.unravel_index(int(both.argmax()), both.shape)
    return left.side(int(chosen[0])), right.side(int(chosen[1]))


@dataclass(frozen=True)
class _FloorView:
    """Edges around the floors: contrast across level lines and upright lines (rows, columns), at `x` and `y` mm."""

    level: Floats
    upright: Floats
    x: Floats
    y: Floats
    on_floors: NDArray[np.bool_]
    nadir: Floats
    thickness: float

    def _row(self, y: float) -> int:
        return int(np.clip(np.rint((y - self.y[0]) * _UNIT), 1, len(self.y) - 2))

    def _lines(self, ratio: float) -> tuple[int, int]:
        """Rows of the floors' near and far edges."""
        near, far = self.nadir[1] + (np.array([0.0, self.thickness]) - self.nadir[1]) * ratio
        return self._row(near), self._row(far)

    def edge_strength(self, ratio: float) -> Floats:
        """Contrast (columns,) along the floors' two level edges, of the sign it has beside the sockets; -2 to 2."""
        strength = np.zeros(len(self.x))
        for row in self._lines(ratio):
            contrast = np.clip(self.level[row - 1 : row + 2].mean(axis=0), -1.0, 1.0)
            strength += contrast * np.sign(contrast[self.on_floors].sum())
        return strength

    def shoulder(self, ratio: float, wall_x: float, outward: float) -> _Shoulder:
        """The places where the shoulder beyond `wall_x` may end, and the evidence for each."""
        near, far = self._lines(ratio)
        upright = np.abs(np.clip(self.upright[near + 4 : far - 3], -1.0, 1.0).mean(axis=0))
        start = self.nadir[0] + (wall_x - self.nadir[0]) * ratio
        reach = outward * (self.x - start) / ratio
        order = np.argsort(reach)
        order = order[reach[order] > 0.5]
        score = np.cumsum(self.edge_strength(ratio)[order] - _SILENT) / _UNIT + _UPRIGHT_WORTH * upright[order]
        likely = (reach[order] > _SHOULDER_MM[0]) & (reach[order] < _SHOULDER_MM[1])
        order, score = order[likely], score[likely]
        lever = np.abs(self.x[order] - self.nadir[0])
        return _Shoulder(wall_x, outward, reach[order], score, np.hypot(_SHOULDER_U, _RATIO_U * lever))


@dataclass(frozen=True)
class _Shoulder:
    """Candidates for a shoulder's end: `reach` mm beyond the wall, their `score`, and their standard uncertainty."""

    wall_x: float
    outward: float
    reach: Floats
    score: Floats
    u: Floats

    @property
    def doubt(self) -> Floats:
        """What speaks against a half pin of an unusual width."""
        return np.asarray(0.5 * ((self.reach - _USUAL_HALF_PIN_MM) / _HALF_PIN_SPREAD_MM) ** 2)

    def side(self, index: int) -> Side:
        """The side that candidate `index` stands for, or a guess when there is no evidence for it."""
        if self.score[index] < _LEAST_EVIDENCE:
            return Side(self.wall_x + self.outward * _USUAL_HALF_PIN_MM, _UNSEEN_U)
        return Side(float(self.wall_x + self.outward * self.reach[index]), float(self.u[index]))


def _floor_view(rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, walls_x: Floats, thickness: float) -> _FloorView:
    x = np.arange(walls_x[0] - _SHOULDER_MM[1], walls_x[-1] + _SHOULDER_MM[1], 1.0 / _UNIT)
    y = np.arange(-4.0, thickness + 4.0, 1.0 / _UNIT)
    light, inside = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), x, y)
    logarithm = np.log(np.maximum(light.mean(axis=2), 0.0) + 0.02)
    level = np.asarray(np.gradient(smooth(smooth(logarithm, 0.1 * _UNIT, 0), 0.3 * _UNIT, 1), axis=0), float) * _UNIT
    upright = np.asarray(np.gradient(smooth(smooth(logarithm, 0.1 * _UNIT, 1), 0.3 * _UNIT, 0), axis=1), float) * _UNIT
    level, upright = level * inside, upright * inside
    surface = np.zeros(len(x), bool)
    for left, right in zip(walls_x[::2], walls_x[1::2], strict=True):
        surface |= (x > left - 0.5) & (x < right + 0.5)
    floors = ~surface & (x > walls_x[0] - 4.0) & (x < walls_x[-1] + 4.0)
    nadir = frame.from_plane(plane.nadir_mm[None])[0]
    return _FloorView(level, upright, x, y, floors, nadir, thickness)

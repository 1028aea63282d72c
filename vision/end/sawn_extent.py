"""How far a sawn end reaches along its faces: from side to side, told by wood, face edges and the sides' own edges.

With the waste in, the surface is one stretch of wood between two long straight upright edges. Stone, sawdust and a
bench show edges everywhere, but not one that runs over the whole thickness and stops at both faces, with this wood on
one side of it only. Every place has its evidence; the side is where most of it lies, its uncertainty how far the
rivals lie from there.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.plane import PlaneMap
from calibration.robust import MAD_TO_SD
from vision.photo.strip import Frame, Light, light_and_colours, sample_grid, smooth

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_UNIT = 10.0
"""Samples per mm along the face."""
_ROWS_PER_MM = 4.0
_OUTSIDE_MM = 2.5
"""How far beyond either face an upright edge must have stopped."""
_CORNER_MM = 0.6
"""What is left out about a face: worn arrises and tear-out."""
_CORE_SHARE = 0.6
"""Share of the surface, about its middle, that the usual look of the wood is taken from."""
_BRIGHT_ROWS = 70.0
"""Percentile of a column's light: between hatched lines, pores and late wood the bare wood shows."""
_LOOKS_U = np.array([0.20, 0.08, 0.08])
"""Least spread of the wood's light and of its two ratios of colours along the end, natural logarithms."""
_ALIKE_MM = 1.0
"""Length along which wood or an edge says the same thing once."""
_LIKE, _UNLIKE = 1.0, -1.5
"""Evidence, natural logarithm per `_ALIKE_MM`, of a column that looks like the wood at best, or not at all."""
_SEEN_WEIGHT = 0.3
"""A face edge's columns, 0.3 mm wide, are seen or missed several together."""
_STEEP = 6.0
"""A step this many times the median in the picture is a full one."""
_MOST = 8.0
"""Evidence of an edge at most: kerfs and drawn lines have as good ones."""
_GOES_ON = 0.7
"""How much an edge that goes on beyond the faces counts against it."""
_KERF_MM, _SLOT = 1.2, 0.8
"""How far off a kerf's other border is at most, and how much it counts against an edge being the board's own."""
_RIVAL_MM = 0.6
"""Places closer than this are told apart by the edge itself, when it is measured."""


class RoughSide(NamedTuple):
    """A side before its edge is measured: `places` (n,) mm where it may be, each with its `share` (n,) of belief.

    The shares add up to 1.
    """

    places: Floats
    share: Floats

    @classmethod
    def at(cls, x: float) -> RoughSide:
        """A side that is known to be near `x` (mm)."""
        return cls(np.array([x]), np.ones(1))

    @property
    def x(self) -> float:
        """The likeliest place, mm."""
        return float(self.places[int(self.share.argmax())])

    @property
    def rivals_mm(self) -> float:
        """How far off the rival places are, one standard deviation (mm); 0 when there is none."""
        off = self.places - self.x
        far = np.abs(off) > _RIVAL_MM
        return float(np.sqrt((self.share * off**2)[far].sum()))

    def beyond(self, x: float, outward: float) -> RoughSide:
        """The side when it is known to lie beyond `x` (mm) on the way `outward` (+-1); itself when it cannot."""
        possible = np.where(outward * (self.places - x) > 0.0, self.share, 0.0)
        total = float(possible.sum())
        return RoughSide(self.places, possible / total) if total > 0.0 else self

    def turned(self) -> RoughSide:
        """The side as told in a frame turned half round."""
        return RoughSide(-self.places, self.share)


def sawn_extent(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, reach: tuple[float, float], thickness: float, seen: SeenFaces
) -> tuple[RoughSide, RoughSide]:
    """Both sides of a sawn end within `reach` (mm along the frame's x); `seen` tells where its face edges show."""
    x = np.arange(*reach, 1.0 / _UNIT)
    y = np.arange(-_OUTSIDE_MM, thickness + _OUTSIDE_MM, 1.0 / _ROWS_PER_MM)
    light, inside = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), x, y)
    looks = list(light_and_colours(light))
    within = (y > _CORNER_MM) & (y < thickness - _CORNER_MM)
    wood = _wood_likeness([look[within] for look in looks], x, seen) * inside.all(axis=0)
    edge = _upright_edges(looks, y, thickness)
    middle = seen.middle
    faces = np.interp(x, seen.x, seen.evidence, left=0.0, right=0.0) * _SEEN_WEIGHT / (0.3 * _UNIT)
    inner = np.cumsum(wood / (_ALIKE_MM * _UNIT) + faces)
    left, right = x < middle, x > middle
    return _side(x[left], -inner[left] + edge[left]), _side(x[right], inner[right] + edge[right])


class SeenFaces(NamedTuple):
    """Log odds `evidence` (n,) for the surface from the face edges seen at the places `x` (n,), and its rough ends."""

    x: Floats
    evidence: Floats
    left: float
    right: float

    @property
    def middle(self) -> float:
        """Half-way between the rough ends, mm."""
        return (self.left + self.right) / 2.0


def _wood_likeness(looks: list[Light], x: Floats, seen: SeenFaces) -> Floats:
    """Evidence (n,) per `_ALIKE_MM` that a column shows the end's own wood."""
    columns = np.array([np.percentile(look, _BRIGHT_ROWS, axis=0) for look in looks])
    half = _CORE_SHARE * (seen.right - seen.left) / 2.0
    core = columns[:, np.abs(x - seen.middle) < half]
    usual = np.median(core, axis=1)
    spread = np.maximum(MAD_TO_SD * np.median(np.abs(core - usual[:, None]), axis=1), _LOOKS_U)
    off = ((columns - usual[:, None]) / spread[:, None]) ** 2
    return np.asarray(np.clip(_LIKE - 0.5 * off.max(axis=0), _UNLIKE, None))


def _upright_edges(looks: list[Light], y: Floats, thickness: float) -> Floats:
    """Evidence (n,) at every column for an upright edge that runs over the thickness and stops at both faces."""
    inside = (y > _CORNER_MM) & (y < thickness - _CORNER_MM)
    beyond = y > thickness + _CORNER_MM
    best = np.zeros(looks[0].shape[1])
    for look in looks:
        step = np.gradient(smooth(look, 0.1 * _UNIT, 1), axis=1)
        step = np.clip(step / max(_STEEP * float(np.median(np.abs(step[inside]))), 1e-3), -1.0, 1.0)
        along, after = step[inside].mean(axis=0), step[beyond].mean(axis=0)
        clear = np.abs(along) - _GOES_ON * np.maximum(after * np.sign(along), 0.0) - _SLOT * _other_border(along)
        best = np.maximum(best, clear)
    return _MOST * (1.0 - np.exp(-(best**2) * (thickness - 2.0 * _CORNER_MM) / _ALIKE_MM / _MOST))


def _other_border(along: Floats) -> Floats:
    """The strongest step (n,) the other way within a kerf's width: a slot's or a line's other border."""
    reach = round(_KERF_MM * _UNIT)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(along, reach), 2 * reach + 1)
    return np.asarray(np.where(along > 0.0, -around.min(axis=1), around.max(axis=1)))


def _side(x: Floats, evidence: Floats) -> RoughSide:
    """The side's places, half a sample past the last column inside or before the first one."""
    share = np.exp(evidence - evidence.max())
    return RoughSide(x + 0.5 / _UNIT, share / share.sum())

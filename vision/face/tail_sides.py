"""Where the tails' sides are on a cleared face, roughly: sharp slanted edges from the end to the baseline.

Grain, shadows and a bench's lines hardly ever slant as tails do. A side is told by that alone, however light what lies
beyond it, if only all of them make up whole tails; else it is sought near where the end's edge stops.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import Cut, EndStrip, Run
from vision.end.report import SIDES, Side, narrowing
from vision.face.cuts import NEAR_MM, RoughKerf
from vision.photo.strip import shear_columns

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_SLOPES = np.linspace(-0.36, 0.36, 49)
_ASIDE_MM, _MOST_STEP = 0.08, 0.3
"""How far to either side of an edge its light is looked at, and the step of light that counts most."""
_REACH_MM = 1.2
_FAINTEST_STEP = 0.01
"""Step of light, relative to the wood, below which a rough wall stays where the surface ends."""
_CLEAR_STEP, _STEP_SHARE = 0.08, 0.35
"""Step that shows a side wherever it is, and its share of the clearest one's."""
_SLANT = (0.05, 0.3)
"""Slopes of tails, from 1:20 to steeper than 1:4."""
_UNLIKE = 0.06
"""How much steeper or flatter than the usual a tail's side may be."""
_APART_MM, _BEYOND_MM = 1.0, 15.0
"""Sides are no closer than this; how far beyond what was seen of the end's edge they may be."""
_CUT_MM = 1.0
"""How far from its wall the middle of a kerf lies, at most."""
_SEEN_SIDE_MM = 4.0
"""The widest strip of a tail's own side that the camera sees."""
_NARROWEST_SOCKET_MM, _NARROWEST_TAIL_MM = 1.2, 4.0


@dataclass(frozen=True)
class _Slants:
    """How much the light falls to the right (slopes, columns) along every slanted line; negative where it rises.

    `at_edge` (slopes, columns) are the places at which the lines meet the end's edge, mm.
    """

    fall: Floats
    at_edge: Floats

    @classmethod
    def of(cls, strip: EndStrip, baseline_mm: float) -> _Slants:
        rows = (strip.y > NEAR_MM) & (strip.y < baseline_mm - NEAR_MM)
        light, gap = strip.brightest[rows], max(1, round(_ASIDE_MM * strip.unit))
        step = np.zeros_like(light)
        step[:, gap:-gap] = np.clip(light[:, : -2 * gap] - light[:, 2 * gap :], -_MOST_STEP, _MOST_STEP)
        fall = np.array([shear_columns(step, float(slope)).mean(axis=0) for slope in _SLOPES])
        return cls(fall, strip.x[None, :] - _SLOPES[:, None] * float(strip.y[rows].mean()))

    def strongest(self, x: float, side: Side) -> tuple[float, float]:
        """Place at the end's edge and slope of the strongest fall outward near the corner at `x` of that side."""
        away = np.abs(self.at_edge - x)
        strength = -narrowing(side) * self.fall * (away < _REACH_MM) * (1.0 - 0.3 * away / _REACH_MM)
        best = np.unravel_index(int(strength.argmax()), strength.shape)
        if strength[best] < _FAINTEST_STEP:
            return x, 0.0
        return float(self.at_edge[best]), float(_SLOPES[best[0]])

    def clearest(self, side: Side, between: Run, *, either: bool) -> list[tuple[float, float]]:
        """Places and slopes of all clear sides of that kind, left to right; light falls outward, or does `either`.

        Outside a tail's side the camera may see the wood of that side, darker, and where that ends light rises again:
        of several close by the innermost counts.
        """
        slant = narrowing(side) * _SLOPES[:, None]
        likely = (slant > _SLANT[0]) & (slant < _SLANT[1]) & (self.at_edge > between[0]) & (self.at_edge < between[1])
        fall = -narrowing(side) * self.fall
        left = np.where(likely, np.abs(fall) if either else fall, 0.0)
        least, found = max(_CLEAR_STEP, _STEP_SHARE * float(left.max())), []
        while left.max() >= least:
            best = np.unravel_index(int(left.argmax()), left.shape)
            found.append((float(self.at_edge[best]), float(_SLOPES[best[0]])))
            left[np.abs(self.at_edge - self.at_edge[best]) < _APART_MM] = 0.0
        if either:
            inward = narrowing(side) * np.array([x for x, _ in found])
            found = [each for each, x in zip(found, inward, strict=True) if not np.any(_just_beyond(inward - x))]
        return sorted(found)


def kerfs_of_tails(strip: EndStrip, runs: list[Run], baseline_mm: float) -> list[RoughKerf]:
    """The tails' sides, left to right; `runs` are the stretches in which the end's edge was seen."""
    slants = _Slants.of(strip, baseline_mm)
    return _plain_tails(slants, runs) or [
        RoughKerf(index, side, *slants.strongest(x, side), None, None)
        for index, run in enumerate(_tails_of(runs))
        for side, x in zip(SIDES, run, strict=True)
    ]


def sockets_show(strip: EndStrip, runs: list[Run], cuts: list[Cut], baseline_mm: float) -> bool:
    """Whether whole tails show at whose sides hardly any of the dark `cuts` run: the waste between them is out."""
    sides = _plain_tails(_Slants.of(strip, baseline_mm), runs)
    sawn = [any(0.0 < narrowing(side.side) * (side.x_mm - cut.middle) < _CUT_MM for cut in cuts) for side in sides]
    return bool(sides) and sum(sawn) < len(sawn) / 2


def _plain_tails(slants: _Slants, runs: list[Run]) -> list[RoughKerf]:
    """The sides of whole tails, by the light that falls there or else by any that changes; none where they do not."""
    between = runs[0][0] - _BEYOND_MM, runs[-1][1] + _BEYOND_MM
    return _whole_tails(slants, between, either=False) or _whole_tails(slants, between, either=True)


def _whole_tails(slants: _Slants, between: Run, *, either: bool) -> list[RoughKerf]:
    """Walls at all clear sides, if they slant alike and make up whole tails; else none."""
    found = [(x, slope, side) for side in SIDES for x, slope in slants.clearest(side, between, either=either)]
    if not found:
        return []
    usual = float(np.median([abs(slope) for _, slope, _ in found]))
    sides = sorted((x, slope, side) for x, slope, side in found if abs(abs(slope) - usual) < _UNLIKE)
    if len(sides) % 2 or any(side != SIDES[index % 2] for index, (_, _, side) in enumerate(sides)):
        return []
    least = (_NARROWEST_TAIL_MM, _NARROWEST_SOCKET_MM)
    if any(after[0] - before[0] < least[index % 2] for index, (before, after) in enumerate(pairwise(sides))):
        return []
    return [RoughKerf(index // 2, side, x, slope, None, None) for index, (x, slope, side) in enumerate(sides)]


def _just_beyond(away_mm: Floats) -> Bools:
    return (away_mm > 0.0) & (away_mm < _SEEN_SIDE_MM)


def _tails_of(runs: list[Run]) -> list[Run]:
    """The runs with narrow breaks closed: one for every tail of a cleared board."""
    tails = runs[:1]
    for before, after in pairwise(runs):
        if after[0] - before[1] < _NARROWEST_SOCKET_MM:
            tails[-1] = (tails[-1][0], after[1])
        else:
            tails.append(after)
    return tails

"""Where the tails' sides are on a face, roughly: sharp slanted edges from the end to the baseline.

Grain, shadows and a bench's lines hardly ever slant as tails do. A side is told by that alone, however light what lies
beyond it, if only all of them make up whole tails. With the waste in light falls at each and rises again a saw's width
away.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import NARROWEST_MARK_MM, WIDEST_KERF_MM, Cut, EndStrip, Run
from vision.end.report import SIDES, Side, narrowing
from vision.face.cuts import NEAR_MM, SLOPES, RoughKerf
from vision.face.steps import steps_to_the_right
from vision.photo.strip import shear_columns

Floats = NDArray[np.float64]

_CLEAR_STEP, _STEP_SHARE = 0.08, 0.35
"""Step that shows a side wherever it is, and its share of the clearest one's."""
_SLANT = (0.05, 0.3)
"""Slopes of tails, from 1:20 to steeper than 1:4."""
_UNLIKE = 0.06
"""How much steeper or flatter than the usual a tail's side may be."""
_APART_MM, _CLEAR_MM = 1.0, 5.0
"""Sides are no closer to one another than this, nor to the ends of the strip, which slanted lines leave."""
_SAWN_SHARE = 0.7
"""Share of the sides with a kerf beside them from which the waste is in."""
_CUT_MM = 1.0
"""How far from its wall the middle of a kerf lies, at most."""
_SEEN_SIDE_MM = 4.0
"""The widest strip of a tail's own side that the camera sees."""
_NARROWEST_SOCKET_MM, _NARROWEST_TAIL_MM, _WIDEST_TAIL_MM = 1.2, 4.0, 45.0
"""Along the end's edge."""
_BACK_TO_WOOD = 0.4
"""How much of the clearest fall of light into what seems a kerf a rise out of it is, at least: a kerf has wood on both
sides."""
_FAINT_STEP, _MOST_MISSING = 0.03, 0.25
"""Step that shows a side where one has to be, and the share of all sides that may be found so."""


class _Slanted(NamedTuple):
    """A slanted edge: where it meets the end's edge (mm), its slope, its step of light, the side that it may be."""

    x: float
    slope: float
    step: float
    side: Side


@dataclass(frozen=True)
class Slants:
    """How much the light falls to the right (slopes, columns) along every slanted line; negative where it rises.

    `change` (slopes, columns) is how much it changes either way, over what noise changes. `at_edge` (slopes, columns)
    are the places at which the lines meet the end's edge, mm; tails stand `between` two.
    """

    fall: Floats
    change: Floats
    at_edge: Floats
    between: Run

    @classmethod
    def of(cls, strip: EndStrip, baseline_mm: float) -> Slants:
        """The slanted lines of a face from its end's edge to the baseline."""
        rows = (strip.y > NEAR_MM) & (strip.y < baseline_mm - NEAR_MM)
        step = steps_to_the_right(strip.brightest[rows], strip.unit)
        fall = np.array([shear_columns(step, float(slope)).mean(axis=0) for slope in SLOPES])
        change = np.array([shear_columns(np.abs(step), float(slope)).mean(axis=0) for slope in SLOPES])
        at_edge = strip.x[None, :] - SLOPES[:, None] * float(strip.y[rows].mean())
        between = float(strip.x[0]) + _CLEAR_MM, float(strip.x[-1]) - _CLEAR_MM
        return cls(fall, change - np.median(change), at_edge, between)

    def clear(self, side: Side, sign: int) -> list[_Slanted]:
        """All clear sides of that kind, the clearest first: where light falls outward (`sign` 1), rises (-1) or now the
        one, now the other (0)."""
        slant, (first, last) = narrowing(side) * SLOPES[:, None], self.between
        likely = (slant > _SLANT[0]) & (slant < _SLANT[1]) & (self.at_edge > first) & (self.at_edge < last)
        left = np.where(likely, -sign * narrowing(side) * self.fall if sign else self.change, 0.0)
        found: list[_Slanted] = []
        while left.max() >= max(_CLEAR_STEP, _STEP_SHARE * (found[0].step if found else 0.0)):
            best = np.unravel_index(int(left.argmax()), left.shape)
            found.append(_Slanted(float(self.at_edge[best]), float(SLOPES[best[0]]), float(left[best]), side))
            left[np.abs(self.at_edge - self.at_edge[best]) < _APART_MM] = 0.0
        return found

    def faint(self, side: Side, between: Run, usual: float) -> _Slanted | None:
        """The side of that kind that shows best between two places, as the others slant; None where hardly any does."""
        likely = np.abs(narrowing(side) * SLOPES[:, None] - usual) < _UNLIKE / 2.0
        step = np.where(likely & (self.at_edge > between[0]) & (self.at_edge < between[1]), self.change, 0.0)
        best = np.unravel_index(int(step.argmax()), step.shape)
        if step[best] < _FAINT_STEP:
            return None
        return _Slanted(float(self.at_edge[best]), float(SLOPES[best[0]]), float(step[best]), side)


@dataclass(frozen=True)
class Tails:
    """Whole tails by their slanted `sides`, left to right; `kerfs` has what seems a kerf beside each, None without."""

    sides: list[RoughKerf]
    kerfs: list[Cut | None]

    @property
    def sawn(self) -> bool:
        """Whether a kerf shows beside nearly all: of a tail's own side the camera sees no more than every second."""
        return sum(kerf is not None for kerf in self.kerfs) > _SAWN_SHARE * len(self.kerfs)

    def cut_by(self, cuts: list[Cut]) -> bool:
        """Whether some of these dark marks run beside half of the sides or more."""
        beside = [any(0.0 < narrowing(s.side) * (s.x_mm - cut.middle) < _CUT_MM for cut in cuts) for s in self.sides]
        return sum(beside) >= len(beside) / 2

    def cuts(self) -> list[Cut]:
        """The kerfs, if one shows beside every side; else none: what is not seen is no cut."""
        seen = [kerf for kerf in self.kerfs if kerf is not None]
        return seen if len(seen) == len(self.sides) else []


def whole_tails(slants: Slants) -> Tails | None:
    """The tails, if sides that slant alike make up whole ones.

    By the light that falls outward there; where that is not all, also by light that rises, or that changes at all;
    where a few are missing then, by what is faint where they have to be.
    """
    falls = _alike([found for side in SIDES for found in slants.clear(side, 1)])
    rises, changes = (
        _alike([found for side in SIDES for found in slants.clear(side, sign)], falls) for sign in (-1, 0)
    )
    own = [edge for edge in falls if not _just_outside(edge, falls)]
    more = own + [edge for edge in rises if not _near(edge, own) and not _just_outside(edge, rises)]
    rest = [edge for edge in changes if not _near(edge, more) and not _just_outside(edge, changes)]
    sides = _paired(own) or _paired(more) or _paired(more + rest) or _paired(_completed(more, slants))
    if not sides:
        return None
    back = _BACK_TO_WOOD * max((edge.step for edge in falls), default=0.0)
    return Tails(sides, [_kerf_beside(side, [rise for rise in rises if rise.step > back]) for side in sides])


def _kerf_beside(side: RoughKerf, rises: list[_Slanted]) -> Cut | None:
    """The kerf from a side to where the light rises again, as far away as saws are wide."""
    widths = [narrowing(side.side) * (side.x_mm - edge.x) for edge in rises if edge.side == side.side]
    likely = [width for width in widths if NARROWEST_MARK_MM < width < WIDEST_KERF_MM]
    if not likely:
        return None
    places = sorted((side.x_mm, side.x_mm - narrowing(side.side) * min(likely)))
    return Cut(places[0], places[1], side.slope, 0.0)


def _alike(found: list[_Slanted], usual: list[_Slanted] | None = None) -> list[_Slanted]:
    """The edges that slant as the clear ones do, of these or of the `usual` ones."""
    slope = _usual_slope(usual or found)
    return [edge for edge in found if slope is not None and abs(abs(edge.slope) - slope) < _UNLIKE]


def _usual_slope(found: list[_Slanted]) -> float | None:
    """How the clearest edges slant, None without any."""
    if not found:
        return None
    clearest = max(edge.step for edge in found)
    return float(np.median([abs(edge.slope) for edge in found if edge.step > clearest / 2.0]))


def _just_outside(one: _Slanted, others: list[_Slanted]) -> bool:
    """Whether a side of the same tail lies just inward of an edge: that then is where the tail's own side ends."""
    inward = [narrowing(one.side) * (other.x - one.x) for other in others if other.side == one.side]
    return any(0.0 < away < _SEEN_SIDE_MM for away in inward)


def _near(one: _Slanted, others: list[_Slanted]) -> bool:
    return any(abs(one.x - other.x) < _SEEN_SIDE_MM for other in others if other.side == one.side)


def _completed(found: list[_Slanted], slants: Slants) -> list[_Slanted]:
    """The sides with one put in wherever two of a kind follow one another; none where too many are missing."""
    usual, whole = _usual_slope(found), list[_Slanted]()
    for edge in sorted(found):
        if edge.side != SIDES[len(whole) % 2] and usual is not None:
            first = whole[-1].x if whole else edge.x - _WIDEST_TAIL_MM
            missing = slants.faint(
                SIDES[len(whole) % 2], (first + _NARROWEST_SOCKET_MM, edge.x - _NARROWEST_SOCKET_MM), usual
            )
            whole += [missing] if missing else []
        whole.append(edge)
    if len(whole) % 2 and usual is not None:
        missing = slants.faint("right", (whole[-1].x + _NARROWEST_TAIL_MM, whole[-1].x + _WIDEST_TAIL_MM), usual)
        whole += [missing] if missing else []
    return whole if len(whole) - len(found) <= _MOST_MISSING * len(whole) else []


def _paired(found: list[_Slanted]) -> list[RoughKerf]:
    """Walls at all these edges, if they make up whole tails; else none."""
    sides = sorted(found)
    if len(sides) % 2 or any(edge.side != SIDES[index % 2] for index, edge in enumerate(sides)):
        return []
    least = (_NARROWEST_TAIL_MM, _NARROWEST_SOCKET_MM)
    if any(after.x - before.x < least[index % 2] for index, (before, after) in enumerate(pairwise(sides))):
        return []
    return [RoughKerf(index // 2, edge.side, edge.x, edge.slope, None, None) for index, edge in enumerate(sides)]

"""Do the views of one board agree, and which photo to doubt if not.

End and face show the same corner of every wall, and all views the board's width. Chi-square by the joint covariance
says whether two views differ by more than both can be wrong, and Baarda's test of one alternative at a time in what:
one wall's place, one of the board's sides, or the scale (W. Baarda, A testing procedure for use in geodetic networks,
Netherlands Geodetic Commission 2(5), 1968, from memory). A few odd numbers are told, and left open as far as they
differ; where more is wrong, a photo lies, or they show two boards. A face that alone contradicts the end is the one to
doubt; an end that contradicts both faces is itself, unless those differ in the board's width. With a single face nobody
can tell.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.parts import parts_of, sources_of, values_of
from calibration.quantity import COVERAGE_FACTOR, Quantity
from vision.board.views import BoardViews, SeenFace, ViewName
from vision.together.adjustment import covariance_of
from vision.together.agreement import DOUBT, FIRM, SIDE, WIDTH, Difference
from vision.together.combine import Deviation

Floats = NDArray[np.float64]
Doubt = Literal["end", "show", "transfer", "either"]

PLACE, SCALE = "place", "scale"
"""Kinds of difference besides the board's `left side` and its `width`, where only the right side is off."""
MOST_ODD = 0.25
"""A larger share of odd walls is no accident of single walls any more."""


@dataclass(frozen=True)
class Comparison:
    """Two views of the board compared, first less second, by the corners and the width that both show.

    `odd` are the single numbers that stand out where all others agree: `scatter` and `probability`, the chance of
    differing as much, are without them. `differences` is in what two views differ that firmly contradict one another.
    """

    first: ViewName
    second: ViewName
    corners: tuple[Quantity, ...]
    width: Quantity
    scatter: Deviation
    probability: float
    odd: tuple[Difference, ...] = ()
    differences: tuple[Difference, ...] = ()

    @property
    def contradicts(self) -> bool:
        """Whether the two firmly disagree."""
        return self.probability < FIRM


@dataclass(frozen=True)
class BoardAgreement:
    """The views compared, each wall's own chance of differing as much as it does, and the photo to doubt, if any."""

    comparisons: tuple[Comparison, ...]
    walls: tuple[float, ...]
    doubt: Doubt | None

    @property
    def agree(self) -> bool:
        """Whether no photo is in doubt."""
        return self.doubt is None

    @property
    def bears_out_a_face(self) -> bool:
        """Whether the end agrees with some face in everything."""
        ends = [one for one in self.comparisons if one.first == "end"]
        return any(not (one.contradicts or one.odd) for one in ends)

    @property
    def birge_ratio(self) -> float:
        """By how much the views in use differ more than stated, at least 1 (R. T. Birge, Phys. Rev. 40, 207, 1932)."""
        kept = [one.scatter for one in self.comparisons if self._used(one)]
        freedom = sum(one.freedom for one in kept)
        return max(1.0, math.sqrt(sum(one.chi_square for one in kept) / freedom)) if freedom else 1.0

    def _used(self, one: Comparison) -> bool:
        """Whether neither of the two views is a face to doubt, which is left out."""
        return self.doubt not in ("show", "transfer") or self.doubt not in (one.first, one.second)


def compare_views(views: BoardViews) -> BoardAgreement:
    """Every view against the others."""
    faces = list(views.faces.values())
    ends = [_end_and_face(views, face) for face in faces]
    between = [_compared(faces[0].view, faces[1].view, [], faces[0].width - faces[1].width)] if len(faces) == 2 else []
    walls = tuple(_Numbers.of([one.corners[index] for one in ends]).scatter.probability for index in _indices(views))
    return BoardAgreement((*ends, *between), walls, _doubt(ends, between))


def misfit(views: BoardViews) -> float:
    """Chi-square of everything that the end and any face both show, nothing put aside."""
    ends = [_end_and_face_numbers(views, face) for face in views.faces.values()]
    return sum(_Numbers.of([width, *corners]).scatter.chi_square for width, corners in ends)


def _indices(views: BoardViews) -> range:
    return range(len(views.walls))


def _end_and_face_numbers(views: BoardViews, face: SeenFace) -> tuple[Quantity, list[Quantity]]:
    """What end and face differ by: in the width, and at every wall's corner."""
    corners = [x - line.x_at_end for x, line in zip(views.x_end(face.view), face.lines, strict=True)]
    return views.width - face.width, corners


def _end_and_face(views: BoardViews, face: SeenFace) -> Comparison:
    width, corners = _end_and_face_numbers(views, face)
    places = np.array([x.value for x in (views.width, *views.x_end(face.view))])
    return _compared("end", face.view, corners, width, places / views.width.value)


class _Alternative(NamedTuple):
    """What may be wrong: how much each number moves per mm of it."""

    what: str
    wall: int | None
    weights: Floats


class _Numbers(NamedTuple):
    """Differences of two views (n,), mm, and their covariance."""

    values: Floats
    covariance: Floats

    @classmethod
    def of(cls, quantities: Sequence[Quantity]) -> _Numbers:
        return cls(values_of(quantities), covariance_of(parts_of(quantities, sources_of(quantities))))

    def without(self, rows: Sequence[int]) -> _Numbers:
        kept = [row for row in range(len(self.values)) if row not in rows]
        return _Numbers(self.values[kept], self.covariance[np.ix_(kept, kept)])

    @property
    def scatter(self) -> Deviation:
        return Deviation(float(self.values @ np.linalg.solve(self.covariance, self.values)), len(self.values))

    def by(self, alternative: _Alternative) -> Difference:
        """How much of the alternative explains the numbers best, and its U."""
        weighed = np.linalg.solve(self.covariance, alternative.weights)
        information = float(weighed @ alternative.weights)
        by_mm, u = float(weighed @ self.values) / information, 1.0 / math.sqrt(information)
        return Difference(alternative.what, by_mm, COVERAGE_FACTOR * u, alternative.wall)


def _alternatives(walls: int, places: Floats | None) -> list[_Alternative]:
    """Each number alone; all with the side they count from; all with their distance from it. The width comes first."""
    single = np.eye(1 + walls)
    kinds = [_Alternative(WIDTH, None, single[0])]
    kinds += [_Alternative(PLACE, wall, single[1 + wall]) for wall in range(walls)]
    if places is not None:
        kinds += [_Alternative(SIDE, None, np.ones(1 + walls)), _Alternative(SCALE, None, places)]
    return kinds


def _compared(
    first: ViewName, second: ViewName, corners: Sequence[Quantity], width: Quantity, places: Floats | None = None
) -> Comparison:
    """The comparison, single odd numbers put aside one by one while that makes the rest agree."""
    numbers = _Numbers.of([width, *corners])
    kinds = _alternatives(len(corners), places)
    odd: list[int] = []
    while _probability(numbers, kinds, odd) < DOUBT and len(odd) < max(1.0, MOST_ODD * len(corners)):
        worst = _worst(numbers, kinds, odd)
        if worst.what not in (WIDTH, PLACE):
            break
        odd.append(0 if worst.wall is None else 1 + worst.wall)
    probability = _probability(numbers, kinds, odd)
    if probability < FIRM:
        surest = sorted((numbers.by(kind) for kind in kinds), key=_chance)
        told = tuple(one for one in surest if len(kinds) * _chance(one) < DOUBT)
        probability = _probability(numbers, kinds, [])
        return Comparison(first, second, tuple(corners), width, numbers.scatter, probability, (), told)
    singled = tuple(numbers.by(kinds[row]) for row in odd)
    return Comparison(first, second, tuple(corners), width, numbers.without(odd).scatter, probability, singled)


def _tests(numbers: _Numbers, kinds: Sequence[_Alternative], odd: Sequence[int]) -> list[Difference]:
    """Every alternative for itself on the numbers but the `odd` ones."""
    kept = [row for row in range(len(numbers.values)) if row not in odd]
    rest = numbers.without(odd)
    cut = [kind._replace(weights=kind.weights[kept]) for kind in kinds]
    return [rest.by(kind) for kind in cut if kind.weights.any()]


def _probability(numbers: _Numbers, kinds: Sequence[_Alternative], odd: Sequence[int]) -> float:
    """Chance by chi-square or by the alternative that stands out most, each counted for all that were tried."""
    tests = _tests(numbers, kinds, odd)
    if not tests:
        return 1.0
    by_one = len(kinds) * min(_chance(one) for one in tests)
    return min(1.0, 2.0 * min(numbers.without(odd).scatter.probability, by_one))


def _worst(numbers: _Numbers, kinds: Sequence[_Alternative], odd: Sequence[int]) -> Difference:
    return min(_tests(numbers, kinds, odd), key=_chance)


def _chance(one: Difference) -> float:
    """Probability that a normal error is at least as large."""
    return math.erfc(COVERAGE_FACTOR * abs(one.by_mm) / one.u95_mm / math.sqrt(2.0))


def _doubt(ends: Sequence[Comparison], between: Sequence[Comparison]) -> Doubt | None:
    """The end if both faces contradict it but not each other, or the only face that does; else it may be either."""
    bad = [one for one in ends if one.contradicts]
    if not bad:
        return None
    if len(bad) == 2:
        return "either" if between[0].odd else "end"
    vouched = any(one.probability >= DOUBT for one in ends)
    return _face(bad[0].second) if vouched else "either"


def _face(view: ViewName) -> Doubt:
    return "show" if view == "show" else "transfer"

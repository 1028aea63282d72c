"""How the card lies against the end, from what the photo itself shows, and the end's numbers corrected for it.

What is known beforehand is how well people set the card up. What the photo adds: the faces of a planed board are
parallel, and so are its sides; a sawyer's leans do not fan out along the board but by chance; the board is as wide and
thick as a person measured it. Each is a quantity that ought to be zero (`calibration.evidence`), and what it does not
settle stays in the budget. Weak evidence moves nothing, firm evidence is believed: the regression on it is the
posterior mean.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.evidence import given, log_likelihood, spread_of_mixture, widened
from calibration.prints.known import NOTHING_KNOWN, Known
from calibration.quantity import Quantity, Source, combine
from vision.end.laid import BOARD_UNPARALLEL_U
from vision.end.sides import Side
from vision.end.uncertainty import EndQuantities
from vision.lie.card_lie import ACROSS, ALONG, CARD_HEIGHT_U_MM, CARD_TILT_U, HEIGHT, IN_PLANE, CardLie

Floats = NDArray[np.float64]

CARELESS_SHARE, CARELESS_TIMES = 0.02, 10.0
"""One set-up in fifty is careless in its height, one in its tilts, and then ten times as far out (common practice, no
source). So firm evidence of a large error is believed."""

SAWYER_U_RAD, SAWYER_WORTH = math.radians(0.4), 1.0
"""Scatter of one sawyer's leans, and how many walls' worth of evidence that is: the walls themselves soon outvote it
(common practice, no source)."""
_ROUNDS = 2
"""A tilt of 3 degrees bends a width of 80 mm by 0.1 mm; one more linearisation leaves a hundredth of that."""
LEAST_WALLS = 4
"""Fewer walls make no fan: a line through them says hardly anything of their scatter."""

UNLIKELY_TIMES = 4.0
"""A told size that is farther from the seen one than this many standard uncertainties, those of a careless set-up, is a
mistake."""

BOARD_SIDES_U = math.radians(0.2)
"""How far from parallel the sides of a planed board are across its thickness, one standard deviation: each shot square
to a twentieth of a millimetre (common practice, no source)."""

FACES, SIDES, SAWING = Source("faces not parallel"), Source("sides not parallel"), Source("fan of the sawing")
LIE_CAUSES = frozenset({HEIGHT.cause, ALONG.cause, FACES.cause, SIDES.cause, SAWING.cause})
"""Causes through which the card's lie enters U: what the set-up leaves open and what its estimate rests on."""
_WALLS_OWN = frozenset({"wall edge place", "wall edge direction", "placed by hand"})
"""What the evidence must not touch: nothing is presumed of how a student sawed one wall."""


class FoundLie(NamedTuple):
    """The end's numbers corrected, and the lie behind it.

    `height` (mm) is that of the end above the card in the middle of the show-face edge; `along` and `across` (deg) are
    its rise along the width and across the thickness. The left side, from which the walls' places are counted, moved by
    `left_shift_mm`. `doubted` names the told sizes that fit no set-up and were left out.
    """

    numbers: EndQuantities
    height: Quantity
    along: Quantity
    across: Quantity
    left_shift_mm: float
    doubted: tuple[str, ...] = ()

    @property
    def lie(self) -> CardLie:
        """The likeliest lie."""
        along, across = (math.tan(math.radians(tilt.value)) for tilt in (self.along, self.across))
        return CardLie(self.height.value, along, across)


def find_lie(
    numbers_at: Callable[[CardLie], EndQuantities],
    left: Side,
    known: Known = NOTHING_KNOWN,
    *,
    sawing_may_fan: bool = False,
) -> FoundLie:
    """The card's lie against the end, and the end's numbers corrected for it.

    `numbers_at` gives the numbers for any lie; `left` is the side that the walls' places are counted from; `known` may
    tell the board's sizes. What a large lie bends is followed by `_ROUNDS` linearisations, each at the lie of the one
    before. Where `sawing_may_fan`, because a drift of the leans is what is asked for, a fan says nothing of the card.
    """
    found = _corrected(numbers_at(IN_PLANE), IN_PLANE, left, known, sawing_may_fan)
    for _ in range(_ROUNDS - 1):
        found = _corrected(numbers_at(found.lie), found.lie, left, known, sawing_may_fan)
    return found


def _corrected(numbers: EndQuantities, at: CardLie, left: Side, known: Known, sawing_may_fan: bool) -> FoundLie:
    """The numbers, told for the lie `at`, corrected along straight lines from there."""
    numbers = _without_lie(numbers, at)
    sizes, doubted = _sizes_seen(numbers, known)
    evidence = [_faces(numbers), *_sides(numbers), *([] if sawing_may_fan else _fan(numbers)), *sizes]
    times = _carelessness(evidence)
    lie = [Quantity(0.0, {source: u}, unit) for source, (u, unit) in _ALLOWANCES.items()]
    side = Quantity(0.0, {Source("board side", "left"): left.u})
    all_numbers = [*lie, side, numbers.width, numbers.thickness, *numbers.x_show, *numbers.x_transfer]
    height, along, across, side, width, thickness, *ends = given(
        [widened(number, times) for number in all_numbers], [widened(one, times) for one in evidence], apart=_WALLS_OWN
    )
    walls = len(numbers.x_show)
    corrected = replace(numbers, width=width, thickness=thickness, x_show=ends[:walls], x_transfer=ends[walls:])
    return FoundLie(corrected, height, along, across, side.value, doubted)


def _without_lie(numbers: EndQuantities, at: CardLie) -> EndQuantities:
    """The numbers of an end in the card's plane, reached from those `at` a lie along straight lines."""

    def back(number: Quantity) -> Quantity:
        return number - sum(number.parts.get(source, 0.0) * steps for source, steps in at.in_steps().items())

    return EndQuantities(
        back(numbers.width),
        back(numbers.thickness),
        [back(x) for x in numbers.x_show],
        [back(x) for x in numbers.x_transfer],
        back(numbers.divergence),
        None if numbers.fan_of_sides is None else back(numbers.fan_of_sides),
    )


_ALLOWANCES = {
    HEIGHT: (CARD_HEIGHT_U_MM, "mm"),
    ALONG: (math.degrees(CARD_TILT_U), "deg"),
    ACROSS: (math.degrees(CARD_TILT_U), "deg"),
}


def _faces(numbers: EndQuantities) -> Quantity:
    """The divergence of the faces (rad), which a planed board has not."""
    return numbers.divergence.with_part(FACES, BOARD_UNPARALLEL_U)


def _sides(numbers: EndQuantities) -> list[Quantity]:
    """The angle between the sides (rad), which a planed board has not; none where one of them is not seen."""
    return [] if numbers.fan_of_sides is None else [numbers.fan_of_sides.with_part(SIDES, BOARD_SIDES_U)]


def _fan(numbers: EndQuantities) -> list[Quantity]:
    """How the walls' leans grow along the width (rad / mm), which sawing makes by chance alone; none of few walls."""
    if len(numbers.x_show) < LEAST_WALLS:
        return []
    thickness = numbers.thickness.value
    walls = list(zip(numbers.x_show, numbers.x_transfer, strict=True))
    leans = [(far - near).scaled(1.0 / thickness, "rad") for near, far in walls]
    x = np.array([(near.value + far.value) / 2.0 for near, far in walls])
    centred = x - x.mean()
    power = float(centred @ centred)
    fan = combine(zip((centred / power).tolist(), leans, strict=True))
    scatter = _sawyers_scatter(centred, np.array([lean.value for lean in leans]))
    return [fan.with_part(SAWING, scatter / math.sqrt(power))]


def _sawyers_scatter(centred: Floats, leans: Floats) -> float:
    """Standard deviation (rad) of the leans about a line along the width, calmed by what sawyers usually do.

    A few walls tell their scatter badly, so a slope by chance has Student's t distribution: this is the normal
    distribution's that is as wide. Prior is a scaled inverse chi-squared one (Gelman et al., Bayesian Data Analysis,
    3rd ed., sections 2.6 and 3.2).
    """
    level, slope = leans.mean(), centred @ leans / (centred @ centred)
    left = leans - level - slope * centred
    freedom = SAWYER_WORTH + len(leans) - 2
    return float(np.sqrt((SAWYER_WORTH * SAWYER_U_RAD**2 + left @ left) / (freedom - 2)))


def _sizes_seen(numbers: EndQuantities, known: Known) -> tuple[list[Quantity], tuple[str, ...]]:
    """Seen less told sizes, and the names of those that not even a careless set-up explains."""
    pairs = {"width": (numbers.width, known.width), "thickness": (numbers.thickness, known.thickness)}
    differences = {name: seen - size for name, (seen, size) in pairs.items() if size is not None}
    careless = dict.fromkeys(_ALLOWANCES, CARELESS_TIMES)
    doubted = {name for name, one in differences.items() if abs(one.value) > UNLIKELY_TIMES * widened(one, careless).u}
    return [one for name, one in differences.items() if name not in doubted], tuple(sorted(doubted))


def _carelessness(evidence: list[Quantity]) -> dict[Source, float]:
    """How many times the allowances of height and of tilts are to be widened for a 95 % interval to hold, by Bayes."""
    log_odds = {(high, tilted): _log_odds(evidence, high, tilted) for high in (False, True) for tilted in (False, True)}
    most = max(log_odds.values())  # the evidence may be so strange that each likelihood alone is nothing
    odds = {careless: math.exp(each - most) for careless, each in log_odds.items()}
    total = sum(odds.values())
    high = sum(share for (is_high, _), share in odds.items() if is_high) / total
    tilted = sum(share for (_, is_tilted), share in odds.items() if is_tilted) / total
    return _times(spread_of_mixture(high, CARELESS_TIMES), spread_of_mixture(tilted, CARELESS_TIMES))


def _log_odds(evidence: list[Quantity], high: bool, tilted: bool) -> float:
    """Logarithm of prior times likelihood of a set-up that was careless, or not, in height and in tilts."""
    times = _times(*(CARELESS_TIMES if careless else 1.0 for careless in (high, tilted)))
    prior = math.prod(CARELESS_SHARE if careless else 1.0 - CARELESS_SHARE for careless in (high, tilted))
    return math.log(prior) + log_likelihood([widened(one, times) for one in evidence])


def _times(height: float, tilt: float) -> dict[Source, float]:
    return {HEIGHT: height, ALONG: tilt, ACROSS: tilt}

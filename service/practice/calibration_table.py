"""Do things foretold with 30 % come in 30 % of cases: reliability table and Brier score.

Sources: G. W. Brier, "Verification of forecasts expressed in terms of probability", Monthly Weather Review 78 (1950);
A. H. Murphy, "A new vector partition of the probability score", Journal of Applied Meteorology 12 (1973); D. B.
Stephenson and others, "Two extra components in the Brier score decomposition", Weather and Forecasting 23 (2008);
E. B. Wilson, "Probable inference", Journal of the American Statistical Association 22 (1927); D. J. Spiegelhalter,
"Probabilistic prediction in patient management and clinical trials", Statistics in Medicine 5 (1986).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import NDArray

from calibration.said import listed
from service.practice.outcomes import EVENTS, Event, Outcome, forecasts_of, grouped
from service.practice.say import counted

Floats = NDArray[np.float64]

BINS = 5
"""Equal steps of probability; a workshop never has the thousands of cases that ten would ask for."""
FEWEST = 20
"""Driven sockets below which a score says next to nothing (common practice, no source)."""
_Z = NormalDist().inv_cdf(0.975)
_Z_OF_THREE = NormalDist().inv_cdf(1.0 - 0.025 / 3.0)


@dataclass(frozen=True)
class ReliabilityRow:
    """Forecasts from `low` to `high`: how many, their mean, how often the event came, and Wilson's 95 % interval."""

    low: float
    high: float
    count: int
    forecast: float
    observed: float
    observed_low: float
    observed_high: float


@dataclass(frozen=True)
class BrierParts:
    """One event's score, reliability - resolution + uncertainty + within_bins: 0 is perfect, 1 always wrong.

    `within_bins` holds Stephenson's two components (variance less covariance within bins); it is zero where all
    forecasts of a bin are equal, and then the rest is Murphy's partition. `z` is Spiegelhalter's: standard normal if
    things come as often as they are foretold.
    """

    score: float
    reliability: float
    resolution: float
    uncertainty: float
    within_bins: float
    z: float

    @property
    def believable(self) -> bool:
        """Whether forecasts and outcomes agree within chance, the three events considered together."""
        return abs(self.z) <= _Z_OF_THREE

    @property
    def skill(self) -> float:
        """Share of the score of always foretelling the overall frequency that is saved; 0 where that is perfect."""
        return 1.0 - self.score / self.uncertainty if self.uncertainty > 0.0 else 0.0


@dataclass(frozen=True)
class Scorecard:
    """How predictions did over so many driven sockets: `brier` over the three events together (0 to 2)."""

    count: int
    brier: float
    parts: dict[Event, BrierParts]
    tables: dict[Event, tuple[ReliabilityRow, ...]]

    @property
    def usual(self) -> float:
        """The score of always foretelling how often each thing came over all."""
        return sum(part.uncertainty for part in self.parts.values())

    @property
    def believable(self) -> bool | None:
        """Whether all three things came as often as foretold, within chance; None with too few sockets to say."""
        return None if self.count < FEWEST else all(part.believable for part in self.parts.values())

    @property
    def sentence(self) -> str:
        """The score in plain words."""
        if self.believable is None:
            return f"{counted(self.count, 'driven pin')} so far; predictions can be judged from {FEWEST} on."
        off = [event for event in EVENTS if not self.parts[event].believable]
        if not off:
            return f"Over {self.count} driven pins things came about as often as predicted, as far as chance lets see."
        return f"Predictions of {listed(off)} do not match what {self.count} driven pins did, beyond chance."

    def to_chart(self) -> dict[str, Any]:
        """For a reliability diagram on a page."""
        return {
            "count": self.count,
            "brier": self.brier,
            "sentence": self.sentence,
            "events": {event: self._event(event) for event in EVENTS},
        }

    def _event(self, event: Event) -> dict[str, Any]:
        """One event's parts and rows; an infinite z, which JSON cannot say, is null."""
        parts, rows = self.parts[event], [vars(row) for row in self.tables[event]]
        z = parts.z if math.isfinite(parts.z) else None
        return {**vars(parts), "z": z, "skill": parts.skill, "believable": parts.believable, "rows": rows}


def scorecard(outcomes: Sequence[Outcome]) -> Scorecard:
    """Score predictions against outcomes. Raises ValueError for none."""
    if not outcomes:
        raise ValueError("outcomes must not be empty")
    forecasts = {event: forecasts_of(outcomes, event) for event in EVENTS}
    parts = {event: brier_parts(*pair) for event, pair in forecasts.items()}
    tables = {event: reliability_table(*pair) for event, pair in forecasts.items()}
    return Scorecard(len(outcomes), sum(part.score for part in parts.values()), parts, tables)


def scorecards(outcomes: Sequence[Outcome], key: Callable[[Outcome], str]) -> dict[str, Scorecard]:
    """A scorecard for each species or person, by a word of the outcome; in alphabetical order."""
    return {word: scorecard(group) for word, group in grouped(outcomes, key).items()}


def reliability_table(chances: Floats, came: Floats) -> tuple[ReliabilityRow, ...]:
    """Rows for the bins that hold forecasts, from low to high."""
    places = _bins(chances)
    rows = []
    for place in np.unique(places).tolist():
        own = places == place
        count, observed = int(own.sum()), float(came[own].mean())
        interval = wilson(int(came[own].sum()), count)
        rows.append(
            ReliabilityRow(place / BINS, (place + 1) / BINS, count, float(chances[own].mean()), observed, *interval)
        )
    return tuple(rows)


def brier_parts(chances: Floats, came: Floats) -> BrierParts:
    """Brier score of one event and its parts, which add up exactly."""
    places = _bins(chances)
    weights = np.bincount(places, minlength=BINS) / len(chances)
    forecast, observed = (_bin_means(places, values) for values in (chances, came))
    base = float(came.mean())
    deviation = chances - forecast[places]
    within = deviation**2 - 2.0 * deviation * (came - observed[places])
    return BrierParts(
        score=float(((chances - came) ** 2).mean()),
        reliability=float(weights @ (forecast - observed) ** 2),
        resolution=float(weights @ (observed - base) ** 2),
        uncertainty=base * (1.0 - base),
        within_bins=float(within.mean()),
        z=spiegelhalter_z(chances, came),
    )


def spiegelhalter_z(chances: Floats, came: Floats) -> float:
    """How far the Brier score lies from what the forecasts themselves promise, in standard deviations.

    Where every forecast is certain, or one half, there is nothing to scatter: zero if none failed, else infinite.
    """
    excess = float(((came - chances) * (1.0 - 2.0 * chances)).sum())
    variance = float(((1.0 - 2.0 * chances) ** 2 * chances * (1.0 - chances)).sum())
    if variance <= 0.0:
        return 0.0 if excess == 0.0 else math.copysign(math.inf, excess)
    return excess / math.sqrt(variance)


def wilson(successes: int, trials: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a proportion. Raises ValueError for no trials."""
    if not 0 <= successes <= trials or trials < 1:
        raise ValueError(f"successes must lie between 0 and trials, trials above 0, got {successes} of {trials}")
    share, spread = successes / trials, _Z**2 / trials
    centre = (share + spread / 2.0) / (1.0 + spread)
    half = math.sqrt(spread * share * (1.0 - share) + spread**2 / 4.0) / (1.0 + spread)
    return max(centre - half, 0.0), min(centre + half, 1.0)


def _bins(chances: Floats) -> NDArray[np.int64]:
    """Which bin each forecast falls in; a certain one falls in the last."""
    return np.minimum((chances * BINS).astype(np.int64), BINS - 1)


def _bin_means(places: NDArray[np.int64], values: Floats) -> Floats:
    """(BINS,) means; an empty bin has zero, and no weight."""
    return np.bincount(places, values, minlength=BINS) / np.maximum(np.bincount(places, minlength=BINS), 1)

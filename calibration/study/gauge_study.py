"""Gauge repeatability and reproducibility: does a measurement stay the same when it is made again, and by another?

Parts are measured by several persons several times. The scatter is split by analysis of variance into what one person
makes (repeatability, "equipment variation" EV), what changing persons adds (reproducibility, "appraiser variation" AV,
the interaction of part and person with it) and what the parts themselves differ by (PV), after AIAG, "Measurement
Systems Analysis", 4th edition. Two things differ from its tables, neither in a balanced study of single readings:
counts may differ (see `random_effects`), and values read from one photo may share an error, which is a factor of its
own and part of the repeatability.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from calibration.quantity import COVERAGE_FACTOR
from calibration.study.random_effects import ERROR, Anova, ConfoundedError, Variance, random_effects_anova
from calibration.study.student import spread_factors

PART, PERSON, INTERACTION, PHOTO = "part", "person", "part x person", "photo"

POOL_ABOVE_P = 0.25
"""An interaction or a photo effect less significant than this is left out and its scatter counted as error: the
level that keeps a real effect from being pooled by chance (common practice, as in AIAG's worked example)."""

CATEGORY_FACTOR = 1.41
"""Number of distinct categories = 1.41 PV / GRR (AIAG MSA 4th edition)."""

AIAG_SPREAD = 6.0
"""Standard deviations that AIAG's per cent of tolerance sets against the width of the tolerance."""

REPRODUCIBILITY_FACTOR = 2.8
"""Two results differ by less than 2.8 standard deviations with 95 % probability (ISO 5725-6: 1.96 times root 2)."""

OUTLYING = 4.0
"""Standard deviations from the median of its part beyond which a reading is named: chance goes so far once in 16 000
readings."""


@dataclass(frozen=True)
class Reading:
    """One part measured once. `photo` is shared by readings that may share an error; `u` is the standard uncertainty
    claimed for what varies from photo to photo, None if nothing is claimed. `value` and `u` are in one unit."""

    part: str
    person: str
    photo: str
    value: float
    u: float | None = None


@dataclass(frozen=True)
class Spread:
    """A standard deviation in the unit of the readings, with its effective degrees of freedom."""

    sd: float
    dof: float

    @classmethod
    def of(cls, variance: Variance) -> Spread:
        """The root of an estimated variance."""
        return cls(math.sqrt(max(variance.value, 0.0)), variance.dof)

    @property
    def u95(self) -> float:
        """Expanded uncertainty U = 2 sd."""
        return COVERAGE_FACTOR * self.sd

    @property
    def factors95(self) -> tuple[float, float]:
        """What `sd` must be multiplied by for the ends of its 95 % confidence interval (chi-squared)."""
        return spread_factors(0.95, self.dof) if self.dof > 0.0 else (0.0, math.inf)


@dataclass(frozen=True)
class GaugeStudy:
    """The result. `anova` is the table the figures come from, `full` the one before anything was pooled;
    `claimed_u95` is the root mean square of the uncertainties claimed, None when a reading claims none."""

    readings: tuple[Reading, ...]
    full: Anova
    anova: Anova
    pooled: tuple[str, ...]
    balanced: bool
    claimed_u95: float | None

    @property
    def persons(self) -> tuple[str, ...]:
        """Everyone who measured, in the order of the readings."""
        return tuple(dict.fromkeys(reading.person for reading in self.readings))

    @property
    def parts(self) -> tuple[str, ...]:
        """Every part, in the order of the readings."""
        return tuple(dict.fromkeys(reading.part for reading in self.readings))

    @property
    def repeatability(self) -> Spread:
        """EV: one person measures again."""
        return self._spread(PHOTO, ERROR)

    @property
    def reproducibility(self) -> Spread | None:
        """AV with the interaction: what another person adds; None when one person measured all."""
        return self._spread(PERSON, INTERACTION) if len(self.persons) > 1 else None

    @property
    def operators(self) -> Spread:
        """AV alone: persons who read high or low on every part."""
        return self._spread(PERSON)

    @property
    def gauge(self) -> Spread:
        """GRR: repeatability and reproducibility together."""
        return self._spread(PERSON, INTERACTION, PHOTO, ERROR)

    @property
    def part(self) -> Spread:
        """PV: how the parts themselves differ."""
        return self._spread(PART)

    @property
    def total(self) -> Spread:
        """TV: all of it."""
        return self._spread(PART, PERSON, INTERACTION, PHOTO, ERROR)

    @property
    def categories(self) -> float:
        """How many groups of parts the measurement can tell apart; infinite when it repeats exactly."""
        return CATEGORY_FACTOR * self.part.sd / self.gauge.sd if self.gauge.sd else math.inf

    @property
    def reproducibility_limit(self) -> float:
        """By how much two readings of one part, of different persons, differ at most in 95 of 100 cases."""
        return REPRODUCIBILITY_FACTOR * self.gauge.sd

    @property
    def claim_ratio(self) -> tuple[float, float, float] | None:
        """Realised U over claimed U, and the ends of its 95 % confidence interval; None when nothing is claimed."""
        if not self.claimed_u95:
            return None
        ratio, (low, high) = self.gauge.u95 / self.claimed_u95, self.gauge.factors95
        return ratio, ratio * low, ratio * high

    def contribution_percent(self, spread: Spread) -> float:
        """Share of the total variance; 0 when nothing varies."""
        return 100.0 * spread.sd**2 / self.total.sd**2 if self.total.sd else 0.0

    def total_percent(self, spread: Spread) -> float:
        """AIAG's per cent of the total variation, by standard deviations; 0 when nothing varies."""
        return 100.0 * spread.sd / self.total.sd if self.total.sd else 0.0

    def limit_percent(self, limit: float) -> float:
        """Per cent of a one-sided limit that U takes up: the guard band of ISO 14253-1 over the limit."""
        return 100.0 * self.gauge.u95 / limit

    def tolerance_percent(self, width: float) -> float:
        """AIAG's per cent of a two-sided tolerance of this width: 6 GRR over the width."""
        return 100.0 * AIAG_SPREAD * self.gauge.sd / width

    def outlying(self) -> tuple[Reading, ...]:
        """Readings further than `OUTLYING` GRR standard deviations from the median of their part, furthest first."""
        medians = {part: _median([r.value for r in self.readings if r.part == part]) for part in self.parts}
        far = [r for r in self.readings if abs(r.value - medians[r.part]) > OUTLYING * self.gauge.sd]
        return tuple(sorted(far, key=lambda r: -abs(r.value - medians[r.part])))

    def _spread(self, *names: str) -> Spread:
        return Spread.of(self.anova.variance(*names))


def study_gauge(readings: Sequence[Reading]) -> GaugeStudy:
    """The study of these readings. Raises ValueError, in a sentence for people, when they cannot carry one."""
    _check(readings)
    full = anova = _table(readings, _factors(readings))
    pooled: list[str] = []
    for name in (PHOTO, INTERACTION):
        if _is_idle(anova, name):
            pooled.append(name)
            anova = _table(readings, [row.name for row in anova.rows if row.name not in (name, ERROR)])
    return GaugeStudy(tuple(readings), full, anova, tuple(pooled), _is_balanced(readings), _claimed_u95(readings))


def _check(readings: Sequence[Reading]) -> None:
    if len({reading.part for reading in readings}) < 2:
        raise ValueError("a study needs at least two parts")
    if not all(math.isfinite(reading.value) for reading in readings):
        raise ValueError("every value must be a finite number")
    if max(Counter((reading.part, reading.person) for reading in readings).values()) < 2:
        raise ValueError("nobody measured a part twice, so repeatability cannot be told: at least two times each")


def _factors(readings: Sequence[Reading]) -> list[str]:
    """The factors that these readings can have, in the order of fitting."""
    several = len({reading.person for reading in readings}) > 1
    shares = max(Counter(reading.photo for reading in readings).values()) > 1
    return [PART, *([PERSON, INTERACTION] if several else []), *([PHOTO] if shares else [])]


def _table(readings: Sequence[Reading], names: Sequence[str]) -> Anova:
    """The table, without an interaction or a photo effect that these counts cannot tell from the rest."""
    labels: dict[str, Sequence[Hashable]] = {
        PART: [reading.part for reading in readings],
        PERSON: [reading.person for reading in readings],
        INTERACTION: [(reading.part, reading.person) for reading in readings],
        PHOTO: [reading.photo for reading in readings],
    }
    try:
        return random_effects_anova([r.value for r in readings], {name: labels[name] for name in names})
    except ConfoundedError as error:
        return _table(readings, _without(error.factor, names))


def _without(factor: str, names: Sequence[str]) -> list[str]:
    if factor == PERSON:
        raise ValueError("the persons have no part in common, so what they differ by cannot be told from the parts")
    doubtful = [name for name in (PHOTO, INTERACTION) if name in names and factor in (name, ERROR)]
    if not doubtful:
        raise ValueError("there are too few readings to tell repeatability from the rest")
    return [name for name in names if name != doubtful[0]]


def _is_idle(anova: Anova, name: str) -> bool:
    """Whether the table holds an effect that could well be chance."""
    rows = [row for row in anova.rows if row.name == name]
    return bool(rows) and (rows[0].p is None or rows[0].p > POOL_ABOVE_P)


def _is_balanced(readings: Sequence[Reading]) -> bool:
    """Whether every person measured every part equally often."""
    cells = Counter((reading.part, reading.person) for reading in readings)
    persons = {reading.person for reading in readings}
    parts = {reading.part for reading in readings}
    return len(cells) == len(parts) * len(persons) and len(set(cells.values())) == 1


def _claimed_u95(readings: Sequence[Reading]) -> float | None:
    claims = [reading.u for reading in readings if reading.u is not None]
    return COVERAGE_FACTOR * math.sqrt(float(np.mean(np.square(claims)))) if len(claims) == len(readings) else None


def _median(values: Sequence[float]) -> float:
    return float(np.median(values))

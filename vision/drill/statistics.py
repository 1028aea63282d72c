"""Statistics of a row of cuts: a straight-line model of their deviations, spreads, and what both are worth.

Ordinary least squares with its standard errors (Draper, Smith, Applied Regression Analysis, 3rd ed., 5.1), Student's t
intervals for a mean and chi-squared intervals for the standard deviation of a normal sample (NIST/SEMATECH e-Handbook
of Statistical Methods, 1.3.5.2 and 1.3.5.8), and effective degrees of freedom where a sample's error meets one that all
cuts share (Welch and Satterthwaite, JCGM 100:2008, G.4.1).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Quantity, Source, combine
from calibration.study.student import MOST_FREEDOM, spread_factors, student, two_sided_p

Floats = NDArray[np.float64]

SAMPLE = Source("scatter of the cuts")
"""What a handful of cuts leaves open of the sawyer's own mean or trend."""
OWN_CAUSES = frozenset({"wall edge place", "wall edge direction"})
"""Causes of error that each cut has for itself: their effect is in the scatter of the cuts already."""
P95 = 0.95


@dataclass(frozen=True)
class Estimate:
    """A number estimated from a sample: `quantity` with the sample's own error among its parts, degrees of freedom."""

    quantity: Quantity
    freedom: float

    @property
    def value(self) -> float:
        """The estimate."""
        return self.quantity.value

    @property
    def u95(self) -> float:
        """Expanded uncertainty at 95 %, with Student's factor."""
        return self.half_width(P95)

    def half_width(self, confidence: float) -> float:
        """Half the confidence interval."""
        return student(confidence, self.freedom) * self.quantity.u

    def firm(self, confidence: float) -> float:
        """How large the number is at least, either way; zero when its interval holds zero."""
        return max(0.0, abs(self.value) - self.half_width(confidence))

    def possible(self, confidence: float) -> float:
        """How large the number may be, either way."""
        return abs(self.value) + self.half_width(confidence)

    @property
    def p_value(self) -> float:
        """Probability of a value as far from zero by chance alone."""
        if self.quantity.u == 0.0:
            return 0.0 if self.value else 1.0
        return two_sided_p(self.value / self.quantity.u, self.freedom)

    @property
    def sample_share(self) -> float:
        """Share of the variance that more cuts would shrink."""
        return self.quantity.parts.get(SAMPLE, 0.0) ** 2 / (self.quantity.u**2 or 1.0)


@dataclass(frozen=True)
class Spread:
    """A standard deviation with its degrees of freedom; `noise` is the part of it that the measurement makes.

    Variances add, so that the sawyer's own is what is left of each end of the interval without the noise's.
    """

    sd: float
    freedom: float
    noise: float = 0.0

    def interval(self, confidence: float = P95) -> tuple[float, float]:
        """The confidence interval of the standard deviation as seen."""
        low, high = spread_factors(confidence, self.freedom)
        return self.sd * low, self.sd * high

    def own(self) -> float:
        """The standard deviation without the measurement's."""
        return self._without_noise(self.sd)

    def own_interval(self, confidence: float = P95) -> tuple[float, float]:
        """The confidence interval of the standard deviation without the measurement's."""
        low, high = self.interval(confidence)
        return self._without_noise(low), self._without_noise(high)

    def _without_noise(self, sd: float) -> float:
        return math.sqrt(max(0.0, sd**2 - self.noise**2))


@dataclass(frozen=True)
class Fit:
    """Least squares of `values` on columns: coefficients are `weights` (p, n) times the values.

    `sd` is the residual standard deviation with its degrees of freedom, zero and zero when nothing is left over.
    """

    weights: Floats
    coefficients: Floats
    sd: float
    freedom: int

    @classmethod
    def of(cls, columns: Floats, values: Floats) -> Fit:
        """The fit of `values` (n,) on `columns` (n, p). Raises ValueError when the columns are not independent."""
        if np.linalg.matrix_rank(columns) < columns.shape[1]:
            raise ValueError(f"columns must be independent, got {columns.shape[1]} of rank below that")
        weights = np.linalg.pinv(columns)
        found = weights @ values
        left, freedom = values - columns @ found, len(values) - columns.shape[1]
        return cls(
            np.asarray(weights, float), found, math.sqrt(float(left @ left) / freedom) if freedom else 0.0, freedom
        )

    def standard_error(self, index: int) -> float:
        """Standard error of a coefficient."""
        return self.sd * float(np.linalg.norm(self.weights[index]))


def mean_fit(values: Floats) -> Fit:
    """The mean as the least squares of one constant: its residual standard deviation is that of the sample."""
    return Fit.of(np.ones((len(values), 1)), values)


def estimate(weights: Sequence[float] | Floats, values: Sequence[Quantity], sd: float, freedom: float) -> Estimate:
    """The sum of weights times values, its error from the sample's scatter `sd` and from what the values share.

    The values' own errors show in their scatter; should that be smaller by chance, they count in its place.
    """
    terms = list(zip(map(float, weights), values, strict=True))
    own = math.sqrt(sum(weight**2 * own_u(value) ** 2 for weight, value in terms))
    sample = max(sd * math.sqrt(sum(weight**2 for weight, _ in terms)), own)
    shared = combine([(weight, _shared(value)) for weight, value in terms])
    whole = shared.with_part(SAMPLE, sample)
    return Estimate(whole, effective_freedom(whole.u, sample, freedom))


def effective_freedom(u: float, sample_u: float, freedom: float) -> float:
    """Degrees of freedom of `u` when a part of it, `sample_u`, has `freedom` and the rest is known well (G.4.1)."""
    return min(MOST_FREEDOM, freedom * (u / sample_u) ** 4) if sample_u else MOST_FREEDOM


def own_u(value: Quantity) -> float:
    """Standard uncertainty from the causes that a cut has for itself."""
    return math.sqrt(sum(part**2 for source, part in value.parts.items() if source.cause in OWN_CAUSES))


def _shared(value: Quantity) -> Quantity:
    parts = {source: part for source, part in value.parts.items() if source.cause not in OWN_CAUSES}
    return Quantity(value.value, parts, value.unit)

"""Means and differences with confidence intervals that know of the measurement's own error.

Board-to-board scatter already holds the errors that differ from photo to photo; adding them again would count them
twice. What it cannot show are errors that all photos share (the print, a card glued crooked, the lens): those are
added, and they do not shrink with the number of boards. Scatter can by chance come out below the measurement's own;
then the latter is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from calibration.study.student import student, two_sided_p

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
COMMON_SHARE = 0.5
"""Share of a measurement's variance that all photos of one card have in common. A convention: half of the variance of
the card's tilt goes with the card, half with setting it up; the print is common, the fit of a wall is not."""


@dataclass(frozen=True)
class Estimate:
    """A mean or a difference, its standard error and degrees of freedom, and how much of the variance is measurement.

    `counts` are the boards behind it. `comparisons` is how many such estimates are looked at together: `simultaneous`
    intervals are widened for them (Bonferroni), because among twenty differences that are none, one looks like one.
    """

    value: float
    error: float
    freedom: float
    counts: tuple[int, ...]
    measured: float = 0.0
    comparisons: int = 1

    @property
    def half_width(self) -> float:
        """Half of the 95 % confidence interval."""
        return self._half_width(1.0 - CONFIDENCE)

    @property
    def simultaneous(self) -> float:
        """Half of the interval that holds for all comparisons together with 95 %."""
        return self._half_width((1.0 - CONFIDENCE) / self.comparisons)

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval."""
        return self.value - self.half_width

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval."""
        return self.value + self.half_width

    @property
    def firm(self) -> bool:
        """Whether it differs from zero beyond doubt, all comparisons considered."""
        return abs(self.value) > self.simultaneous

    @property
    def firm_size(self) -> float:
        """How far from zero it is at least; 0 where that is in doubt."""
        return max(abs(self.value) - self.simultaneous, 0.0)

    @property
    def p(self) -> float:
        """Two-sided p-value of a difference this large where there is none (one comparison)."""
        return two_sided_p(self.value / self.error, self.freedom) if self.error > 0.0 else float(self.value == 0.0)

    def among(self, comparisons: int) -> Estimate:
        """The same estimate as one of so many comparisons."""
        return replace(self, comparisons=comparisons)

    def _half_width(self, doubt: float) -> float:
        return self.error * student(1.0 - doubt, self.freedom) if self.error > 0.0 else 0.0


def mean_estimate(values: Floats, u: Floats, *, common: float = COMMON_SHARE) -> Estimate:
    """The mean of (n,) values whose standard measurement uncertainties are (n,) `u`, n at least two.

    `common` is the share of the measurement's variance that all values share: 0 where shared errors cancel, as in a
    difference of walls of one photo. Raises ValueError for fewer than two values.
    """
    scatter, shared = _variance_of_mean(values, u, common), common * _mean_u(u) ** 2
    error = math.sqrt(scatter + shared)
    freedom = _freedom(scatter + shared, (scatter,), (len(values),))
    measured = shared + (1.0 - common) * float((u**2).mean()) / len(values)
    return Estimate(float(values.mean()), error, freedom, (len(values),), _share(measured, error))


def difference_estimate(
    values: Floats, u: Floats, others: Floats, others_u: Floats, *, common: float = COMMON_SHARE
) -> Estimate:
    """Mean of `values` less mean of `others` after Welch (1947), the shared measurement error of each added.

    The shared errors of the two are counted as independent, which holds for two cards and is too much for one. Raises
    ValueError for fewer than two of either.
    """
    one, other = mean_estimate(values, u, common=common), mean_estimate(others, others_u, common=common)
    scatters = (_variance_of_mean(values, u, common), _variance_of_mean(others, others_u, common))
    variance = one.error**2 + other.error**2
    measured = one.measured * one.error**2 + other.measured * other.error**2
    return Estimate(
        one.value - other.value,
        math.sqrt(variance),
        _freedom(variance, scatters, (len(values), len(others))),
        (len(values), len(others)),
        _share(measured, math.sqrt(variance)),
    )


def _variance_of_mean(values: Floats, u: Floats, common: float) -> float:
    """Squared standard error from scatter, never less than what the photos' own errors alone make."""
    if len(values) < 2:
        raise ValueError(f"values must be at least two for an interval, got {len(values)}")
    own = (1.0 - common) * float((u**2).mean())
    return max(float(values.var(ddof=1)), own) / len(values)


def _mean_u(u: Floats) -> float:
    """Of a mean whose errors are one and the same."""
    return float(u.mean())


def _freedom(variance: float, scatters: tuple[float, ...], counts: tuple[int, ...]) -> float:
    """Welch and Satterthwaite's effective degrees of freedom; shared measurement error counts as known."""
    below = sum(scatter**2 / (count - 1) for scatter, count in zip(scatters, counts, strict=True))
    return variance**2 / below if below > 0.0 else math.inf


def _share(part: float, error: float) -> float:
    return min(part / error**2, 1.0) if error > 0.0 else 0.0

"""How much of the difference from board to board is the person's, and how much the measurement's."""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.practice.distributions import chi_square_quantile
from service.practice.estimates import COMMON_SHARE, CONFIDENCE
from service.practice.series import Series

FEWEST = 3


@dataclass(frozen=True)
class Variation:
    """Standard deviations from one board to the next: all of it, the measurement's part, and what is left for the
    person, with its 95 % interval."""

    total: float
    measurement: float
    practice: float
    practice_low: float
    practice_high: float

    @property
    def visible(self) -> bool:
        """Whether the person's own variation is firmly more than none."""
        return self.practice_low > 0.0


def variation_of(series: Series, *, common: float = COMMON_SHARE) -> Variation:
    """Split the variance of a series of at least three boards. Raises ValueError for fewer.

    The total is half of the mean square successive difference, which learning hardly touches; its effective degrees of
    freedom for normal values are 2 (n - 1)^2 / (3 n - 4) (von Neumann and others 1941). Of the measurement only what
    differs from photo to photo, `1 - common` of its variance, can show in it.
    """
    number = len(series.values)
    if number < FEWEST:
        raise ValueError(f"series must have at least {FEWEST} boards, got {number}")
    steps = series.values[1:] - series.values[:-1]
    total = float((steps**2).mean()) / 2.0
    measurement = (1.0 - common) * float((series.u**2).mean())
    low, high = _interval(total, 2.0 * (number - 1) ** 2 / (3.0 * number - 4.0))
    left = [math.sqrt(max(variance - measurement, 0.0)) for variance in (total, low, high)]
    return Variation(math.sqrt(total), math.sqrt(measurement), *left)


def _interval(variance: float, freedom: float) -> tuple[float, float]:
    tail = (1.0 - CONFIDENCE) / 2.0
    ends = (chi_square_quantile(1.0 - tail, freedom), chi_square_quantile(tail, freedom))
    return variance * freedom / ends[0], variance * freedom / ends[1]

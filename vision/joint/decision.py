"""When a measured value is firmly inside a limit, firmly outside, or too close to call.

The rule of ISO 14253-1 with guard bands as in JCGM 106: a limit counts as met, or as missed, only by more than the
expanded uncertainty. The 95 % interval comes from a linear budget (value +- U) or from draws (JCGM 101).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Quantity

Floats = NDArray[np.float64]
Decision = Literal["met", "missed", "undecided"]

TAIL = 0.025
"""Share of the draws left out at either end: the probabilistically symmetric 95 % interval (JCGM 101:2008, 7.7.2)."""


@dataclass(frozen=True)
class Estimate:
    """A value and the interval that holds the true one with 95 % probability, all in one unit."""

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise ValueError(f"value {self.value} must lie within its interval [{self.low}, {self.high}]")


def from_quantity(quantity: Quantity) -> Estimate:
    """The estimate value +- U, U with k = 2."""
    return Estimate(quantity.value, quantity.value - quantity.u95, quantity.value + quantity.u95)


def from_draws(values: Floats, draws: Floats) -> list[Estimate]:
    """Estimates of (n,) `values` from (n, draws) random draws; each interval is widened to hold its value."""
    left_out = int(TAIL * draws.shape[1])
    ends = (left_out, draws.shape[1] - 1 - left_out)
    lows, highs = np.partition(draws, ends, axis=1)[:, ends].T
    return [
        Estimate(float(value), float(min(low, value)), float(max(high, value)))
        for value, low, high in zip(values, lows, highs, strict=True)
    ]


def decide(estimate: Estimate, limit: float) -> Decision:
    """Whether the upper `limit` is met by more than U, missed by more than U, or neither."""
    if estimate.high < limit:
        return "met"
    return "missed" if estimate.low > limit else "undecided"

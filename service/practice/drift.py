"""Charts for slow drift: the exponentially weighted moving average and the tabular CUSUM.

Source: NIST/SEMATECH e-Handbook, 6.3.2.4 (EWMA) and 6.3.2.3 (CUSUM).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

WEIGHT = 0.3
"""Of the newest value: the handbook recommends 0.2 to 0.3."""
EWMA_SIGMAS = 3.0
CUSUM_SLACK, CUSUM_DECISION = 0.5, 5.0
"""k and h in sigmas: tuned to a shift of one sigma; in control one signal in 465 values (Montgomery, from memory)."""


@dataclass(frozen=True, eq=False)
class Ewma:
    """(n,) averages, and how far the (n,) limits, which widen, lie from the `target`."""

    target: float
    averages: Floats
    half_widths: Floats

    @property
    def signals(self) -> NDArray[np.int64]:
        """Indices at which the average is outside its limits."""
        return np.flatnonzero(abs(self.averages - self.target) > self.half_widths)


@dataclass(frozen=True, eq=False)
class Cusum:
    """(n,) upper and lower sums, in the values' unit, and the decision interval that neither should exceed."""

    upper: Floats
    lower: Floats
    decision: float

    @property
    def signals(self) -> NDArray[np.int64]:
        """Indices at which a sum exceeds the decision interval."""
        return np.flatnonzero(np.maximum(self.upper, self.lower) > self.decision)


def ewma(values: Floats, target: float, sigma: float, *, weight: float = WEIGHT) -> Ewma:
    """EWMA of (n,) values, begun at the `target`. Raises ValueError for a weight outside (0, 1]."""
    if not 0.0 < weight <= 1.0:
        raise ValueError(f"weight must lie above 0 and not above 1, got {weight}")
    final = EWMA_SIGMAS * sigma * math.sqrt(weight / (2.0 - weight))
    widths = final * np.sqrt(1.0 - (1.0 - weight) ** (2.0 * np.arange(1, len(values) + 1)))
    return Ewma(target, _averages(values, target, weight), widths)


def cusum(values: Floats, target: float, slack: float, decision: float) -> Cusum:
    """Tabular CUSUM of (n,) values: `slack` is k, `decision` is h, both in the values' unit."""
    upper, lower = _one_sided(values - target - slack), _one_sided(target - slack - values)
    return Cusum(upper, lower, decision)


def standard_cusum(values: Floats, target: float, sigma: float) -> Cusum:
    """CUSUM with the usual slack and decision interval, half a sigma and five sigmas."""
    return cusum(values, target, CUSUM_SLACK * sigma, CUSUM_DECISION * sigma)


def _averages(values: Floats, start: float, weight: float) -> Floats:
    averages, last = [], start
    for value in values.tolist():
        last += weight * (value - last)
        averages.append(last)
    return np.array(averages)


def _one_sided(steps: Floats) -> Floats:
    """Running sums that start anew whenever they would fall below zero: the sum less its lowest point so far."""
    total = np.cumsum(steps)
    return np.asarray(total - np.minimum(np.minimum.accumulate(total), 0.0))

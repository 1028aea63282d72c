"""Individuals and moving-range control chart (NIST/SEMATECH e-Handbook, 6.3.2.2).

Limits are three sigma from the mean, sigma being the mean moving range over d2. A value that is not normal by nature
(waiting times) is charted on a power of itself, and the limits are carried back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

D2 = 1.128
"""Mean range of two standard normal values, as tabulated (ASTM, NIST) and used in the handbook's example."""
D4 = 3.267
"""Upper limit of a moving range of two over its mean, as tabulated."""
SIGMAS = 3.0
FEWEST = 3
"""Values without which there are no two moving ranges to average."""
FIRM = 20
"""Values below which limits still wander (common practice; Shewhart asked for 25 samples)."""


@dataclass(frozen=True)
class Baseline:
    """Centre and sigma on the charted scale: values to the `power`."""

    centre: float
    sigma: float
    mean_range: float
    count: int
    power: float = 1.0
    floor: float = -np.inf

    def level(self, sigmas: float) -> float:
        """The value that lies so many sigmas above the centre, on the values' own scale."""
        return float(self.uncharted(np.array([self.centre + sigmas * self.sigma]))[0])

    @property
    def upper(self) -> float:
        """Upper control limit."""
        return self.level(SIGMAS)

    @property
    def lower(self) -> float:
        """Lower control limit."""
        return self.level(-SIGMAS)

    @property
    def range_upper(self) -> float:
        """Upper control limit of the moving range, on the charted scale."""
        return D4 * self.mean_range

    @property
    def provisional(self) -> bool:
        """Whether the limits rest on too few values to be firm."""
        return self.count < FIRM

    def charted(self, values: Floats) -> Floats:
        """Values on the scale of the chart."""
        return values**self.power if self.power != 1.0 else values

    def uncharted(self, charted: Floats) -> Floats:
        """Back from the chart's scale to the values' own, never below the floor."""
        own = np.maximum(charted, 0.0) ** (1.0 / self.power) if self.power != 1.0 else charted
        return np.asarray(np.maximum(own, self.floor))

    def scores(self, values: Floats) -> Floats:
        """Distances from the centre in sigmas; all zero where there is no scatter at all."""
        off = self.charted(values) - self.centre
        return off / self.sigma if self.sigma > 0.0 else np.zeros_like(off)


def baseline_of(values: Floats, *, power: float = 1.0, never_negative: bool = False) -> Baseline:
    """The baseline of (n,) values in time order. Raises ValueError for fewer than three."""
    if len(values) < FEWEST:
        raise ValueError(f"values must be at least {FEWEST} for control limits, got {len(values)}")
    charted = values**power if power != 1.0 else values
    mean_range = float(moving_ranges(charted).mean())
    floor = 0.0 if never_negative else -np.inf
    return Baseline(float(charted.mean()), mean_range / D2, mean_range, len(values), power, floor)


def moving_ranges(values: Floats) -> Floats:
    """(n - 1,) sizes of the steps from each value to the next."""
    return np.asarray(abs(np.diff(values)))

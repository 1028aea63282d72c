"""How a sharp edge looks in this photo: blur and sharpening, learned from the card's own black and white edges.

Every lens, focus, hand and phone smears an edge in its own way, and the phone then sharpens it, which leaves halos.
The card carries dozens of perfect straight edges in the same photo: their average profile is the edge spread function
(as in ISO 12233's slanted-edge method) that the walls are measured with.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_REACH = 7.0
_TABLE = 2801
_GRID = 1.07
_WIDTHS = 0.35 * _GRID ** np.arange(64)
_BLURS = 48
_HALO_STEPS = (3, 6, 9, 12, 15)
"""Widths tried, in a geometric row: blurs from 0.35 to 8.4, and halos 1.2 to 2.8 times as wide."""


@dataclass(frozen=True)
class EdgeProfile:
    """Edge spread function (1 + overshoot) Phi(z / blur) - overshoot Phi(z / halo); lengths in mm or px."""

    blur: float
    overshoot: float
    halo: float

    @cached_property
    def _table(self) -> tuple[Floats, Floats, Floats]:
        z = np.linspace(-_REACH, _REACH, _TABLE) * max(self.blur, self.halo)
        density = (1.0 + self.overshoot) * _normal(z, self.blur) - self.overshoot * _normal(z, self.halo)
        step = np.cumsum((density[1:] + density[:-1]) * 0.5) * (z[1] - z[0])
        step = np.concatenate([[0.0], step])
        return z, step / step[-1], density

    def step(self, z: Floats) -> Floats:
        """Light at distance `z` past an edge from dark (0) to bright (1), any shape."""
        table, step, _ = self._table
        return np.interp(z, table, step)

    def slope(self, z: Floats) -> Floats:
        """Derivative of `step`, per unit of `z`."""
        table, _, density = self._table
        return np.interp(z, table, density, left=0.0, right=0.0)

    def scaled(self, factor: float) -> EdgeProfile:
        """The same profile with lengths times `factor`."""
        return EdgeProfile(self.blur * factor, self.overshoot, self.halo * factor)

    @property
    def rise(self) -> float:
        """Distance from 10 % to 90 % of the step (first crossings), in the profile's unit."""
        table, step, _ = self._table
        return float(table[np.argmax(step >= 0.9)] - table[np.argmax(step >= 0.1)])

    @classmethod
    def from_samples(cls, distance: Floats, level: Floats) -> EdgeProfile:
        """The profile through samples: `distance` (n,) from the edge, `level` (n,) from 0 (dark) to 1 (bright).

        Least squares on the medians of narrow bins, over a grid of widths; the overshoot has a closed form for each.
        Raises ValueError when fewer than 50 samples are given.
        """
        if len(distance) < 50:
            raise ValueError(f"distance must hold at least 50 samples, got {len(distance)}")
        places, levels = _binned(distance, level)
        curves = [cls(width, 0.0, width).step(places) for width in _WIDTHS.tolist()]
        candidates = [
            _fit_overshoot(levels, curves, index, index + step) for index in range(_BLURS) for step in _HALO_STEPS
        ]
        return min(candidates, key=lambda candidate: candidate[0])[1]


def _normal(z: Floats, sigma: float) -> Floats:
    return np.exp(-0.5 * (z / sigma) ** 2) / (sigma * np.sqrt(2.0 * np.pi))


def _binned(distance: Floats, level: Floats) -> tuple[Floats, Floats]:
    """Centres and medians of bins a tenth of a unit wide, the edge centred where the medians cross one half."""
    bins = np.rint(distance * 10.0).astype(int)
    names = np.unique(bins)
    places = np.array([distance[bins == name].mean() for name in names])
    levels = np.array([np.median(level[bins == name]) for name in names])
    middle = np.abs(places) < 2.5
    crossing = float(np.interp(0.5, levels[middle], places[middle]))
    return places - crossing, levels


def _fit_overshoot(levels: Floats, curves: list[Floats], blur: int, halo: int) -> tuple[float, EdgeProfile]:
    """Squared error and profile of the best overshoot for two of the widths, given the plain steps of all widths."""
    difference = curves[blur] - curves[halo]
    overshoot = float(np.clip(difference @ (levels - curves[blur]) / (difference @ difference), 0.0, 2.0))
    error = levels - curves[blur] - overshoot * difference
    return float(error @ error), EdgeProfile(float(_WIDTHS[blur]), overshoot, float(_WIDTHS[halo]))

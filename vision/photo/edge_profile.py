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
Light = NDArray[np.float32]

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

    @cached_property
    def _fine(self) -> tuple[Light, Light, float]:
        """`step` and `slope` at the table's places, and how many of them there are in a unit."""
        table, step, density = self._table
        return step.astype(np.float32), density.astype(np.float32), float(1.0 / (table[1] - table[0]))

    def at(self, z: Floats) -> tuple[Light, Light]:
        """`step` and `slope` together, for many places `z` of any shape: as exact as single precision is."""
        step, slope, per_unit = self._fine
        place = np.clip(z.astype(np.float32) * np.float32(per_unit) + np.float32(_TABLE // 2), 0, _TABLE - 1)
        nearest = np.rint(place)
        index = nearest.astype(np.intp)
        there = slope.take(index)
        return step.take(index) + (place - nearest) * (there / np.float32(per_unit)), there

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
        curves = np.interp(places / _WIDTHS[:, None], *cls(1.0, 0.0, 1.0)._table[:2])
        return _best_overshoot(levels, curves)


def _normal(z: Floats, sigma: float) -> Floats:
    return np.exp(-0.5 * (z / sigma) ** 2) / (sigma * np.sqrt(2.0 * np.pi))


def _binned(distance: Floats, level: Floats) -> tuple[Floats, Floats]:
    """Centres and medians of bins a tenth of a unit wide, the edge centred where the medians cross one half."""
    bins = np.rint(distance * 10.0).astype(int)
    order = np.lexsort((level, bins))
    starts = np.flatnonzero(np.diff(bins[order], prepend=bins[order[0]] - 1))
    ends = np.append(starts[1:], len(order))
    places = np.add.reduceat(distance[order], starts) / (ends - starts)
    ranked = level[order]
    levels = (ranked[(starts + ends - 1) // 2] + ranked[(starts + ends) // 2]) / 2.0
    middle = np.abs(places) < 2.5
    crossing = float(np.interp(0.5, levels[middle], places[middle]))
    return places - crossing, levels


def _best_overshoot(levels: Floats, curves: Floats) -> EdgeProfile:
    """The profile of least squared error, given the plain steps (widths, n) of all widths."""
    blur = np.repeat(np.arange(_BLURS), len(_HALO_STEPS))
    halo = blur + np.tile(_HALO_STEPS, _BLURS)
    off, difference = levels - curves[blur], curves[blur] - curves[halo]
    overshoot = np.clip((difference * off).sum(axis=1) / (difference**2).sum(axis=1), 0.0, 2.0)
    best = int(((off - overshoot[:, None] * difference) ** 2).sum(axis=1).argmin())
    return EdgeProfile(float(_WIDTHS[blur[best]]), float(overshoot[best]), float(_WIDTHS[halo[best]]))

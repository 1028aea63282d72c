"""Scenes by chance and their errors, for tests of the claim of uncertainty on ends and on drill boards."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Quantity
from tests.scenes import Scene

Floats = NDArray[np.float64]

WOODS = ((0.52, 0.40, 0.27), (0.60, 0.50, 0.36), (0.40, 0.28, 0.18))


def by_chance(walls: Scene, rng: np.random.Generator, seed: int) -> Scene:
    """The scene's walls in a board, before a camera and cut by a saw that chance drew."""
    return replace(
        walls,
        thickness_mm=float(rng.uniform(*((14.0, 21.0) if walls.drill else (15.0, 21.0)))),
        kerf_mm=float(rng.uniform(0.45, 0.75)),
        rough_mm=float(rng.uniform(0.005, 0.02)),
        board_turn_deg=float(rng.normal(0.0, 0.4)),
        wood=WOODS[seed % 3],
        size_px=(2100, 1300),
        px_per_mm=14.5,
        focal_px=float(rng.uniform(2400.0, 4800.0)),
        tilt_deg=tuple(rng.uniform(-7.0, 7.0, 2).tolist()),
        roll_deg=float(rng.uniform(-2.0, 2.0)),
        k1=float(rng.normal(0.0, 0.01)),
        blur_px=float(rng.uniform(0.8, 1.4)),
        noise=float(rng.uniform(0.004, 0.014)),
        seed=seed,
    )


class Claims(NamedTuple):
    """Errors (n,) of many numbers and the U (n,) that was stated of each."""

    error: Floats
    u95: Floats

    @classmethod
    def of(cls, pairs: Iterable[tuple[Quantity, float]]) -> Claims:
        """The claims of measured quantities against their truths."""
        rows = [(measured.value - true, measured.u95) for measured, true in pairs]
        return cls(*np.array(rows).T)

    @property
    def inside(self) -> float:
        """The share of errors inside U."""
        return float(np.mean(np.abs(self.error) <= self.u95))

    @property
    def p95(self) -> float:
        """The 95th percentile of the errors' size."""
        return float(np.percentile(np.abs(self.error), 95))

    @property
    def use_of_u(self) -> float:
        """The mean size of the errors over the mean U: 0.4 for normal errors, less for an idle claim."""
        return float(np.mean(np.abs(self.error)) / np.mean(self.u95))

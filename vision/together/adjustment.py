"""Unknowns from more observations than are needed: generalised least squares (Gauss and Aitken).

Observations are quantities whose parts name their sources, so their joint covariance is known, shared causes included.
The result is a sum of the observations and keeps their labelled parts (JCGM 102:2011, 6.2; A. C. Aitken, Proc. R. Soc.
Edinburgh 55, 1936).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calibration.parts import parts_of, quantity_of, sources_of, values_of
from calibration.quantity import Quantity

Floats = NDArray[np.float64]

ROUNDING = 1e-4
"""Standard deviation added to every observation, in its unit: far below what a photo tells, it keeps the covariance of
observations that share all their errors invertible."""


def adjusted(design: Floats, observed: Sequence[Quantity]) -> list[Quantity]:
    """The (m,) unknowns of which the (n,) `observed` are the sums `design` (n, m), all in one unit.

    Raises ValueError when units differ, or the observations do not determine the unknowns.
    """
    units = {one.unit for one in observed}
    if len(units) != 1:
        raise ValueError(f"observations must share one unit, got {sorted(units)}")
    if np.linalg.matrix_rank(design) < design.shape[1]:
        raise ValueError("the observations do not determine all unknowns")
    sources = sources_of(observed)
    parts = parts_of(observed, sources)
    gain = best_weights(design, covariance_of(parts))
    values, found = gain @ values_of(observed), gain @ parts
    unit = units.pop()
    return [quantity_of(value, row, sources, unit) for value, row in zip(values, found, strict=True)]


def covariance_of(parts: Floats) -> Floats:
    """Covariance (n, n) of observations with these `parts` (n, sources), each with `ROUNDING` of its own."""
    return np.asarray(parts @ parts.T + ROUNDING**2 * np.eye(len(parts)))


def best_weights(design: Floats, covariance: Floats) -> Floats:
    """The weights (m, n) of the best linear unbiased estimate: (A' C^-1 A)^-1 A' C^-1 (Aitken)."""
    weighed = np.linalg.solve(covariance, design)
    return np.asarray(np.linalg.solve(design.T @ weighed, weighed.T))

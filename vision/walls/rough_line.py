"""The line through a rough edge seen with errors.

The line asked for is the least-squares line through the edge as it is, roughness included. Where a point is sharp it is
believed; where it is not, the edge is interpolated between its neighbours as a straight path with correlated roughness
(generalised least squares and its best linear predictor: Cressie, Statistics for Spatial Data, 1993, 3.4).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.robust import robust_sigma
from vision.walls.fit import LineFit

Floats = NDArray[np.float64]

ROUGH_MM = 0.02
"""Roughness of a sawn edge as a fine backsaw leaves it, rms."""
ROUGH_LENGTH_MM = 0.4
"""Length over which it is alike: about a tooth."""
TORN_MM = 0.08
"""How far all of an edge's last millimetre may be off, torn or worn, one standard deviation."""
_OUTLIER = 2.5
_WIDEST_MM = 0.04
_STEPS = 5
"""Usual deviations from which points count less, the roughest an edge is taken to be, and how often both are told."""


def fit_rough_line(along: Floats, across: Floats, sigma: Floats, counts: NDArray[np.bool_] | None = None) -> LineFit:
    """Least-squares line through the edge whose points (n,) are seen with standard deviations `sigma` (n,), mm.

    Points that do not `counts` (n,) lie beyond the edge's part asked for: they help to see it, as far as it may be torn
    there. Points far off (chips of dust, a hole) lose their weight; `scatter` is the points' rms about their line.
    Raises ValueError for fewer than 4 points.
    """
    if len(along) < 4:
        raise ValueError(f"along must hold at least 4 points, got {len(along)}")
    counts = np.ones(len(along), bool) if counts is None else counts
    middle = float(along[counts].mean())
    design = np.stack([np.ones_like(along), along - middle], axis=1)
    rough = ROUGH_MM**2 * np.exp(-np.abs(along[:, None] - along) / ROUGH_LENGTH_MM)
    end = np.where(counts, 0.0, np.sign(along - middle))
    rough += TORN_MM**2 * (end[:, None] * end > 0.0)
    variance = sigma**2
    for _ in range(_STEPS - 1):
        variance = sigma**2 + _doubt(_off_line(design, rough + np.diag(variance), across), sigma)
    line = np.zeros((2, len(along)))
    line[:, counts] = np.linalg.pinv(design[counts])
    weights, residual = _predicted(line, design, rough + np.diag(variance), rough, across)
    variance = sigma**2 + _doubt(residual, sigma)
    level, slope = weights @ across
    level_u, slope_u = np.sqrt(np.diag(_covariance(weights, line, rough, variance)))
    left = (across - design @ (line @ across))[counts]
    scatter = float(np.sqrt(np.mean(left**2)))
    return LineFit(middle, float(level), float(slope), float(level_u), float(slope_u), scatter, float(len(along)))


def _off_line(design: Floats, covariance: Floats, across: Floats) -> Floats:
    """The points' residuals (n,) from the line alone."""
    solved = np.linalg.solve(covariance, np.column_stack([design, across]))
    line = np.linalg.solve(design.T @ solved[:, :2], design.T @ solved[:, 2])
    return np.asarray(across - design @ line)


def _predicted(line: Floats, design: Floats, seen: Floats, rough: Floats, across: Floats) -> tuple[Floats, Floats]:
    """Weights (2, n) that tell the `line` (2, n) through the edge from its points, and the points' residuals (n,).

    The edge is predicted as the straight path and what roughness, of the covariances `rough` and `seen`, adds to it;
    the residuals are from the straight path alone.
    """
    solved = np.linalg.solve(seen, np.column_stack([design, (line @ rough).T]))
    straight = np.linalg.solve(design.T @ solved[:, :2], solved[:, :2].T)
    uneven = solved[:, 2:4].T
    weights = line @ design @ straight + uneven - (uneven @ design) @ straight
    return weights, across - design @ (straight @ across)


def _doubt(residual: Floats, sigma: Floats) -> Floats:
    """Variance (n,) added to points too far off to be roughness."""
    spread = float(np.clip(robust_sigma(residual), ROUGH_MM, _WIDEST_MM))
    usual = sigma**2 + spread**2
    return np.asarray(usual * (np.maximum(np.abs(residual) / np.sqrt(usual) / _OUTLIER, 1.0) ** 4 - 1.0))


def _covariance(weights: Floats, line: Floats, rough: Floats, variance: Floats) -> Floats:
    """Covariance (2, 2) of predicted minus true line; the straight path drops out, for it is predicted exactly."""
    error = weights - line
    return np.asarray(error @ rough @ error.T + (weights * variance) @ weights.T)

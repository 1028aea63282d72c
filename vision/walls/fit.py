"""Straight lines through measured points: robust, with the covariance that roughness along an edge really leaves.

Points along a sawn edge are not independent: teeth, grain and chips push neighbours the same way. The residuals' own
autocorrelation tells how many of them count (JCGM 100:2008, 4.2.7 note 1, and the usual variance inflation of a mean of
a stationary series, sum over lags of 1 + 2 rho).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.robust import robust_sigma

Floats = NDArray[np.float64]

_HUBER = 2.0
_STEPS = 25
_SETTLED = 1e-3
"""Huber's limit in standard deviations, rounds at most, and the change of weights that ends them."""


@dataclass(frozen=True)
class LineFit:
    """The line value = level + slope (t - middle), with the standard uncertainties of level and slope.

    Taken about the points' weighted `middle`, level and slope are uncorrelated. `scatter` is the residual standard
    deviation, `independent` the number of independent points the scatter is worth.
    """

    middle: float
    level: float
    slope: float
    level_u: float
    slope_u: float
    scatter: float
    independent: float

    def at(self, t: float) -> float:
        """The line's value at `t`."""
        return self.level + self.slope * (t - self.middle)

    def u_at(self, t: float) -> float:
        """Standard uncertainty of the line's value at `t`."""
        return float(np.hypot(self.level_u, self.slope_u * (t - self.middle)))

    def residuals(self, t: Floats, values: Floats) -> Floats:
        """Values minus the line, (n,)."""
        return np.asarray(values - self.level - self.slope * (t - self.middle))


def fit_line(t: Floats, values: Floats, *, robust: bool = True) -> LineFit:
    """Line through (t, values), each (n,), in order of t or not; Huber's weights when `robust`.

    Without robustness this is ordinary least squares with its usual standard errors (n - 2 degrees of freedom); they
    are inflated by the residuals' autocorrelation when `robust`.
    Raises ValueError for fewer than 3 points or points all at one t.
    """
    if len(t) < 3 or np.ptp(t) == 0.0:
        raise ValueError(f"t must hold at least 3 points at different places, got {len(t)}")
    weight = np.ones(len(values))
    for _ in range(_STEPS):
        middle, level, slope = _weighted_line(t, values, weight)
        residual = values - level - slope * (t - middle)
        if not robust:
            break
        limit = _HUBER * max(robust_sigma(residual - np.median(residual)), 1e-9)
        earlier = weight
        weight = np.minimum(1.0, limit / np.maximum(np.abs(residual), 1e-12))
        if np.abs(weight - earlier).max() < _SETTLED:
            break
    return _with_uncertainty(t, residual, weight, middle, level, slope, correlated=robust)


def _weighted_line(t: Floats, values: Floats, weight: Floats) -> tuple[float, float, float]:
    total = weight.sum()
    middle = float(weight @ t / total)
    level = float(weight @ values / total)
    centred = t - middle
    slope = float((weight * centred) @ (values - level) / ((weight * centred) @ centred))
    return middle, level, slope


def _with_uncertainty(
    t: Floats, residual: Floats, weight: Floats, middle: float, level: float, slope: float, *, correlated: bool
) -> LineFit:
    share = weight / weight.max()
    effective = float(share.sum())
    variance = float(share @ residual**2) / max(effective - 2.0, 1.0)
    inflation = _correlation_factor(t, residual * np.sqrt(share)) if correlated else 1.0
    centred = t - middle
    level_u = np.sqrt(variance * inflation / effective)
    slope_u = np.sqrt(variance * inflation / float((share * centred) @ centred))
    return LineFit(
        middle, level, slope, float(level_u), float(slope_u), float(np.sqrt(variance)), effective / inflation
    )


def _correlation_factor(t: Floats, residual: Floats) -> float:
    """Variance inflation 1 + 2 sum(rho_k), summed to the first lag whose autocorrelation is not positive."""
    ordered = residual[np.argsort(t, kind="stable")]
    ordered = ordered - ordered.mean()
    power = float(ordered @ ordered)
    if power <= 0.0:
        return 1.0
    factor = 1.0
    for lag in range(1, len(ordered) // 3):
        rho = float(ordered[:-lag] @ ordered[lag:]) / power
        if rho <= 0.0:
            break
        factor += 2.0 * rho
    return factor

"""Whether the card in one photo contradicts the camera profile: the photo solved with it, and with the lens left free.

A likelihood ratio: how much dearer the corners and all that is known of the lens and of the print are together with the
profile than without. What one photo hardly determines costs nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.lens_prior import LensPrior
from calibration.plane import LENS, SIGMA_PX, PlaneMap, huber_weights, solve_plane
from calibration.prints.shape import PrintShape
from calibration.robust import robust_sigma

Floats = NDArray[np.float64]

CONTRADICTION = 25.7
"""Chi-square of five degrees of freedom that chance exceeds once in 10 000 photos."""
WORSE_TIMES, WORSE_PX = 2.0, 0.15
"""Corners that scatter this many times more with the profile than without it, and by this much, contradict it too."""
_FREE_SIGMA = np.array([0.25, 0.2, 0.2])
_FREE_PRINCIPAL_SHARE = 0.05
"""Of a lens solved freely: far more than phones differ by."""


def contradicts(
    points_mm: Floats,
    points_px: Floats,
    solved: tuple[PlaneMap, Floats],
    *,
    size_px: tuple[int, int],
    lens: LensPrior,
    card: PrintShape,
) -> bool:
    """Whether corners (n, 2) contradict `lens`, with which they were `solved` to a plane and residuals (n, 2)."""
    free_lens = _freed(lens, max(size_px))
    free = solve_plane(points_mm, points_px, size_px=size_px, lens=free_lens, card=card)
    scatter, free_scatter = robust_sigma(solved[1]), robust_sigma(free[1])
    sigma_px = max(SIGMA_PX, free_scatter)
    dearer = (_cost(solved, lens, card) - _cost(free, free_lens, card)) * (SIGMA_PX / sigma_px) ** 2
    return dearer > CONTRADICTION or scatter > max(WORSE_TIMES * free_scatter, WORSE_PX)


def _cost(solved: tuple[PlaneMap, Floats], lens: LensPrior, card: PrintShape) -> float:
    """What `solve_plane` made least: corners, lens and print, each in standard deviations squared."""
    plane, residual = solved
    scaled = residual.ravel() / SIGMA_PX
    of_lens = lens.whitened(plane.theta[LENS] - lens.mean)
    of_print = np.linalg.solve(card.steps.T, _three(plane.card) - _three(card))
    return float(np.sum(scaled**2 * huber_weights(scaled)) + of_lens @ of_lens + of_print @ of_print)


def _three(card: PrintShape) -> Floats:
    return np.array([card.x_scale, card.y_scale, card.skew_rad])


def _freed(lens: LensPrior, long_px: int) -> LensPrior:
    sigma = np.concatenate([_FREE_SIGMA, np.full(2, _FREE_PRINCIPAL_SHARE * long_px)])
    return LensPrior(lens.mean, np.diag(sigma**2), lens.decentring)

"""The camera fit on measured points whose published calibration is known, and beside OpenCV's own.

Points and published figures: OpenCV's test data, see `data/planar_grid_views.txt`.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from calibration.camera.bundle import Beliefs, Bundle, View, adjust

Floats = NDArray[np.float64]

DATA = Path(__file__).parent / "data" / "planar_grid_views.txt"
SIZE = (640, 480)
MIDDLE = (np.array(SIZE) - 1.0) / 2.0
GRID = np.column_stack([axis.ravel() for axis in np.meshgrid(25.4 * np.arange(7), 25.4 * np.arange(5))])

FOCAL, PRINCIPAL = (809.94790, 806.55964), (361.99611, 214.39514)
DISTORTION = (-0.12821, -0.39441, -0.00435, -0.00732)
SCATTER_PX = (0.10179, 0.09492)
ERRORS = (9.483582, 8.827730, 8.536274, 13.276340, 0.0397214, 0.5217585, 0.00316302, 0.00242049)
"""Published errors of fx, fy, cx, cy, k1, k2, p1, p2; their scale is not stated, only their ratios are compared."""
UNINFORMED = np.array([1e3, 1e3, 1e3, 1e6, 1e6, 1e3, 1e3, 1e3])
"""Deviations so wide that beliefs weigh nothing: to nine digits."""
AGREE = 1e-4
"""Two least-squares solutions of one model, each stopped when its cost no longer fell: a small share of a sigma."""


SINGLE = 1e-5
"""OpenCV takes points in single precision: 3e-5 px of residuals of 0.14 px, at random."""


@cache
def views() -> tuple[View, ...]:
    rows = [line.split() for line in DATA.read_text().splitlines() if line and not line.startswith("#")]
    return tuple(View(GRID, each) for each in np.array(rows, float).reshape(7, 35, 2))


def fitted(sigma: Floats) -> Bundle:
    """Our fit with those lens parameters free, the grid's own shape held true, every corner with full weight."""
    mean = np.concatenate([[np.log(640.0)], np.zeros(9)])
    everything = Beliefs(mean, np.concatenate([sigma, np.zeros(2)]), np.zeros(3))
    return adjust(list(views()), everything, SIZE, robust=False)


def in_opencvs_terms(bundle: Bundle) -> tuple[Floats, Floats]:
    """fx, fy, cx, cy, k1, k2, p1, p2 (8,) and their standard deviations (8,)."""
    focal, k1, k2, x, y, p1, p2, pixel = bundle.shared[:8]
    fx, fy = np.exp(focal), np.exp(focal + pixel)
    slope = np.zeros((8, 10))
    slope[0, 0], slope[1, [0, 7]] = fx, fy
    slope[[2, 3, 4, 5, 6, 7], [3, 4, 1, 2, 5, 6]] = 1.0
    values = np.array([fx, fy, x + MIDDLE[0], y + MIDDLE[1], k1, k2, p1, p2])
    return values, np.sqrt(np.diag(slope @ bundle.covariance @ slope.T))


def opencvs(flags: int) -> tuple[float, Floats, Floats]:
    """RMS, fx, fy, cx, cy, k1, k2, p1, p2 (8,) and standard deviations (8,) by OpenCV's calibration."""
    flat = np.column_stack([GRID, np.zeros(len(GRID))]).astype(np.float32)
    pixels = [view.points_px.astype(np.float32) for view in views()]
    guess = np.array([[640.0, 0.0, MIDDLE[0]], [0.0, 640.0, MIDDLE[1]], [0.0, 0.0, 1.0]])
    rms, matrix, distortion, _, _, sigma, _, _ = cv2.calibrateCameraExtended(
        [flat] * 7,
        pixels,
        SIZE,
        guess,
        np.zeros(5),
        flags=flags | cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_K3,
        criteria=(3, 200, 1e-14),
    )
    values = np.array([matrix[0, 0], matrix[1, 1], matrix[0, 2], matrix[1, 2], *distortion.ravel()[:4]])
    return float(rms), values, sigma.ravel()[:8]


def test_the_published_calibration_comes_out() -> None:
    bundle = fitted(UNINFORMED)
    values, sigma = in_opencvs_terms(bundle)
    published = np.array([*FOCAL, *PRINCIPAL, *DISTORTION])
    # Printed to five decimals. The published search stopped 3e-4 of a standard deviation before the least that OpenCV's
    # and ours agree on to 1e-4 (below).
    np.testing.assert_array_less(np.abs(values - published), 3e-4 * sigma + 1e-5)
    scatter = np.concatenate(bundle.residuals).std(axis=0, ddof=1)
    np.testing.assert_allclose(scatter, SCATTER_PX, atol=1e-5)  # as many digits as are printed


def test_published_errors_are_in_proportion_to_ours() -> None:
    _, sigma = in_opencvs_terms(fitted(UNINFORMED))
    ratios = np.array(ERRORS) / sigma
    # Seven digits printed; the published search stopped a little earlier.
    np.testing.assert_allclose(ratios, ratios.mean(), rtol=1e-4)


def test_standard_deviations_are_opencvs() -> None:
    ours, sigma = in_opencvs_terms(fitted(UNINFORMED))
    rms, theirs, their_sigma = opencvs(0)
    np.testing.assert_array_less(np.abs(ours - theirs), AGREE * sigma)
    np.testing.assert_allclose(sigma, their_sigma, rtol=AGREE)
    assert rms == pytest.approx(_rms(fitted(UNINFORMED)), rel=SINGLE)


def test_with_square_pixels_and_no_decentring_opencv_agrees_too() -> None:
    """The model that phones get."""
    plain = UNINFORMED.copy()
    plain[5:] = 0.0
    bundle = fitted(plain)
    rms, theirs, their_sigma = opencvs(cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_ASPECT_RATIO)
    ours, sigma = in_opencvs_terms(bundle)
    free = [0, 2, 3, 4, 5]
    np.testing.assert_array_less(np.abs(ours - theirs)[free], AGREE * sigma[free])
    # OpenCV's standard deviation of a focal length that drags the other along is that of fy.
    np.testing.assert_allclose(sigma[free[1:]], their_sigma[free[1:]], rtol=AGREE)
    np.testing.assert_allclose(sigma[1], their_sigma[1], rtol=AGREE)
    assert rms == pytest.approx(_rms(bundle), rel=SINGLE)


def _rms(bundle: Bundle) -> float:
    """OpenCV's: over points, not coordinates."""
    return float(np.sqrt(np.mean(np.sum(np.concatenate(bundle.residuals) ** 2, axis=1))))

"""The plane solver against an independent program: OpenCV's calibrateCamera on simulated views of the card.

OpenCV sees six views and shares the camera between them; ours sees each view alone with OpenCV's focal length and
principal point as its prior, and must then find the same pose.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from calibration.camera.model import rotation_matrix
from calibration.card import CARDS
from calibration.lens_prior import K1_PRIOR, K2_PRIOR, LensPrior
from calibration.plane import solve_plane
from tests.scenes import Scene, camera

POINTS = CARDS["short"].corner_points_mm
SIZE = (2400, 1700)
TILTS = [(0.0, 25.0), (25.0, 0.0), (-25.0, 10.0), (10.0, -25.0), (18.0, 18.0), (-15.0, -20.0)]
FIXED = cv2.CALIB_FIX_PRINCIPAL_POINT | cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_ZERO_TANGENT_DIST
FIXED |= cv2.CALIB_FIX_K2 | cv2.CALIB_FIX_K3 | cv2.CALIB_USE_INTRINSIC_GUESS


def test_poses_agree_with_opencvs_calibration_of_several_views() -> None:
    rng = np.random.default_rng(31)
    flat = np.column_stack([POINTS, np.zeros(len(POINTS))]).astype(np.float32)
    views = [camera(Scene(tilt_deg=tilt, k1=0.01)) for tilt in TILTS]
    pixels = [(view.to_image(POINTS) + 0.05 * rng.standard_normal(POINTS.shape)).astype(np.float32) for view in views]
    middle = (np.array(SIZE) - 1.0) / 2.0
    guess = np.array([[3600.0, 0.0, middle[0]], [0.0, 3600.0, middle[1]], [0.0, 0.0, 1.0]])
    rms, matrix, distortion, turns, shifts = cv2.calibrateCamera(
        [flat] * len(views), pixels, SIZE, guess, np.zeros(5), flags=FIXED
    )
    # White noise of 0.05 px in each coordinate: OpenCV's rms is over points, 0.05 sqrt(2), within sampling.
    assert rms == pytest.approx(0.05 * np.sqrt(2.0), rel=0.1)
    for turn, shift, seen in zip(turns, shifts, pixels, strict=True):
        known = np.array([1e-4, K1_PRIOR, K2_PRIOR, 1e-3, 1e-3])
        prior = LensPrior(np.array([np.log(matrix[0, 0]), 0.0, 0.0, 0.0, 0.0]), np.diag(known**2))
        found, residual = solve_plane(POINTS, seen.astype(float), size_px=SIZE, lens=prior)
        angle = _angle_deg(rotation_matrix(found.theta[:3]), cv2.Rodrigues(turn)[0])
        # 33 corners at 0.05 px fix the direction of a 120 mm card to about 0.01 degrees along and 0.03 across.
        assert angle < 0.06
        np.testing.assert_allclose(found.theta[3:6], shift.ravel(), rtol=1e-3, atol=0.05)
        assert np.sqrt(np.mean(residual**2)) < 0.07
    assert distortion.ravel()[0] == pytest.approx(0.01, abs=0.02)


def _angle_deg(a: np.ndarray, b: np.ndarray) -> float:
    return float(np.degrees(np.arccos(np.clip((np.trace(a.T @ b) - 1.0) / 2.0, -1.0, 1.0))))

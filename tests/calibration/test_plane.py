"""The card's plane solved from exact and noisy corners: pose, focal length, distortion, and the claim of covariance."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from calibration.camera.model import rotation_matrix, rotation_vector
from calibration.card import CARDS
from calibration.lens_prior import PRINCIPAL_SHARE, LensPrior
from calibration.plane import LENS, PARAMETERS, Floats, PlaneMap, solve_plane
from tests.scenes import Scene, camera

SIZE = (2400, 1700)
POINTS = CARDS["short"].corner_points_mm
SIGMA = 0.05
PRIOR = LensPrior.from_focal(4000.0, 0.02, SIZE)
PRINCIPAL_PX = PRINCIPAL_SHARE * SIZE[0]


def true_plane(rng: np.random.Generator) -> PlaneMap:
    """A camera within what the priors say of cameras, so that prior and data tell one story."""
    tilt = tuple(rng.uniform(-12.0, 12.0, 2))
    focal = 4000.0 * float(np.exp(0.02 * rng.standard_normal()))
    k1, k2 = 0.02 * rng.standard_normal(), 0.008 * rng.standard_normal()
    plane = camera(Scene(tilt_deg=tilt, roll_deg=float(rng.uniform(-180.0, 180.0)), focal_px=focal, k1=k1, k2=k2))
    return plane.with_theta(plane.theta + np.concatenate([np.zeros(9), PRINCIPAL_PX * rng.standard_normal(2)]))


def solved(plane: PlaneMap, rng: np.random.Generator) -> PlaneMap:
    """The plane solved from corners with white noise of SIGMA."""
    seen = plane.to_image(POINTS) + SIGMA * rng.standard_normal(POINTS.shape)
    return solve_plane(POINTS, seen, size_px=SIZE, lens=PRIOR, sigma_px=SIGMA)[0]


def test_exact_corners_give_the_pose_back_when_the_priors_are_true() -> None:
    plane = camera(Scene(tilt_deg=(9.0, -14.0), roll_deg=100.0, focal_px=4000.0, k1=0.0))
    found, residual = solve_plane(POINTS, plane.to_image(POINTS), size_px=SIZE, lens=PRIOR)
    # No noise and priors centred on the truth: only the stopping rule (a relative 1e-9 of the cost) is left.
    assert np.abs(residual).max() < 1e-6
    assert found.tilt_deg == pytest.approx(plane.tilt_deg, abs=1e-5)
    assert found.focal_px == pytest.approx(4000.0, rel=1e-6)


def test_errors_are_as_large_as_the_covariance_says() -> None:
    rng = np.random.default_rng(11)
    squares = []
    for _ in range(60):
        plane = true_plane(rng)
        found = solved(plane, rng)
        turned = rotation_vector(rotation_matrix(found.theta[:3]) @ rotation_matrix(plane.theta[:3]).T)
        points = np.array([[10.0, 45.0], [110.0, 45.0], [60.0, 65.0]])
        error = (found.to_plane(plane.to_image(points)) - points).ravel()
        squares.append(float(error @ np.linalg.solve(_covariance_at(found, points), error)))
        assert np.linalg.norm(turned) < np.radians(0.5)
    # Six coordinates each: the sum over 60 trials is chi-square with 360 degrees of freedom; 4 sigma either way,
    # where one standard deviation is sqrt(720) = 27. The covariance may be scaled up a little, never down.
    assert 360.0 * 0.6 < sum(squares) < 360.0 + 4.0 * 27.0


def _covariance_at(plane: PlaneMap, points: Floats) -> Floats:
    """Covariance (6, 6) of the plane points seen at three pixels, by numerical differentiation."""
    pixels = plane.to_image(points)
    scale = np.sqrt(np.diag(plane.covariance)) * 1e-2
    columns = []
    for index in range(PARAMETERS):
        step = np.zeros(PARAMETERS)
        step[index] = scale[index]
        ahead, behind = (plane.with_theta(plane.theta + sign * step).to_plane(pixels) for sign in (1.0, -1.0))
        columns.append((ahead - behind).ravel() / (2.0 * scale[index]))
    jacobian = np.column_stack(columns)
    return jacobian @ plane.covariance @ jacobian.T


def test_every_part_of_the_lens_stays_within_its_standard_uncertainty() -> None:
    rng = np.random.default_rng(12)
    scores = []
    for _ in range(60):
        plane = true_plane(rng)
        found = solved(plane, rng)
        scores.append((found.theta - plane.theta)[LENS] / np.sqrt(np.diag(found.covariance)[LENS]))
    # Root mean square of 60 standard normal scores: 1 within 4 / sqrt(120) = 0.37.
    rms = np.sqrt(np.mean(np.square(scores), axis=0))
    assert np.all(rms < 1.37)
    assert np.all(rms > 0.5)


def test_one_corner_far_off_hardly_moves_the_plane() -> None:
    rng = np.random.default_rng(13)
    plane = true_plane(rng)
    seen = plane.to_image(POINTS) + SIGMA * rng.standard_normal(POINTS.shape)
    wrong = seen.copy()
    wrong[17] += [6.0, -5.0]
    clean, _ = solve_plane(POINTS, seen, size_px=SIZE, lens=PRIOR)
    found, residual = solve_plane(POINTS, wrong, size_px=SIZE, lens=PRIOR)
    below = np.array([[20.0, 55.0], [60.0, 55.0], [100.0, 55.0]])
    moved = np.linalg.norm(found.to_image(below) - clean.to_image(below), axis=1)
    # Huber's weights let one corner in 33 pull at most like one of 3 sigma: a fraction of a pixel beyond the card.
    assert moved.max() < 0.3
    assert np.linalg.norm(residual[17]) > 7.0


def test_to_plane_undoes_to_image() -> None:
    plane = true_plane(np.random.default_rng(14))
    points = np.random.default_rng(15).uniform([-10.0, -5.0], [130.0, 80.0], (50, 2))
    # Fixed-point inversion of mild distortion gains two digits a step.
    np.testing.assert_allclose(plane.to_plane(plane.to_image(points)), points, atol=1e-9)


def test_a_raised_point_agrees_with_opencv() -> None:
    plane = camera(Scene(tilt_deg=(5.0, 8.0), k1=0.0))
    matrix = np.array([[plane.focal_px, 0.0, plane.centre[0]], [0.0, plane.focal_px, plane.centre[1]], [0.0, 0.0, 1.0]])
    # The card's z axis points away from the camera: 3 mm toward it is z = -3.
    raised = np.column_stack([POINTS, np.full(len(POINTS), -3.0)])
    expected, _ = cv2.projectPoints(raised, plane.theta[:3], plane.theta[3:6], matrix, None)
    np.testing.assert_allclose(plane.to_image(POINTS, 3.0), expected.reshape(-1, 2), atol=1e-8)


def test_tilt_distance_and_nadir_are_the_cameras() -> None:
    plane = camera(Scene(tilt_deg=(0.0, 0.0), roll_deg=33.0, focal_px=4000.0, px_per_mm=15.0, aim_mm=(50.0, 30.0)))
    assert plane.tilt_deg == pytest.approx(0.0, abs=1e-6)
    assert plane.distance_mm == pytest.approx(4000.0 / 15.0, rel=1e-12)
    np.testing.assert_allclose(plane.nadir_mm, [50.0, 30.0], atol=1e-9)
    # Distortion is nil in the middle of the picture, but the millimetre is not: k1 r^2 at 15 px is 1e-7.
    assert plane.px_per_mm(np.array([50.0, 30.0])) == pytest.approx(15.0, rel=1e-6)
    assert camera(Scene(tilt_deg=(0.0, 12.0), roll_deg=0.0)).tilt_deg == pytest.approx(12.0, abs=1e-9)


def test_five_points_are_too_few() -> None:
    with pytest.raises(ValueError, match="at least 6 points, got 5"):
        solve_plane(POINTS[:5], POINTS[:5], size_px=SIZE, lens=PRIOR)


def test_the_scale_is_as_sure_as_it_says() -> None:
    at = np.array([60.0, 50.0])  # beside the card, where a board's end lies
    off = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        plane = true_plane(rng)
        found = solved(plane, rng)
        off.append((found.px_per_mm(at) - plane.px_per_mm(at)) / found.px_per_mm_u(at))
    # Forty draws know a standard deviation to 1 / sqrt(80), 11 %: three times that.
    assert 0.66 < np.std(off) < 1.34

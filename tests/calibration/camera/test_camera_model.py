"""The camera's formulas: against OpenCV's own, against differences, and undone."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from calibration.camera.model import (
    LENS_SIZE,
    POSE_SIZE,
    Floats,
    distort,
    first_pose,
    fit_homography,
    image_derivatives,
    image_points,
    plane_points,
    rotation_matrix,
    rotation_vector,
    undistort,
)
from calibration.card import CARDS

POINTS = CARDS["short"].corner_points_mm
CENTRE = np.array([1199.5, 849.5])
POSE = np.array([0.2, -0.15, 2.1, 40.0, -50.0, 280.0])
LENS = np.array([np.log(4000.0), 0.08, -0.05, 12.0, -20.0, 0.004, -0.003, 0.01])
"""Every part of a lens at once, each larger than a phone's."""


def test_projection_agrees_with_opencv() -> None:
    focal = np.exp(LENS[0])
    middle = CENTRE + LENS[3:5]
    matrix = np.array([[focal, 0.0, middle[0]], [0.0, focal * np.exp(LENS[7]), middle[1]], [0.0, 0.0, 1.0]])
    flat = np.column_stack([POINTS, np.zeros(len(POINTS))])
    expected, _ = cv2.projectPoints(flat, POSE[:3], POSE[3:], matrix, np.array([*LENS[1:3], *LENS[5:7], 0.0]))
    # The same formula in double precision, at thousands of pixels.
    np.testing.assert_allclose(image_points(POSE, LENS, CENTRE, POINTS), expected.reshape(-1, 2), atol=1e-8)


@pytest.mark.parametrize("vector", [(0.2, -0.15, 2.1), (0.0, 0.0, 0.0), (1e-8, 0.0, 0.0), (0.0, 3.1, 0.0)])
def test_derivatives_are_those_of_differences(vector: tuple[float, float, float]) -> None:
    pose = np.concatenate([vector, POSE[3:]])
    slopes = image_derivatives(pose, LENS, CENTRE, POINTS)
    np.testing.assert_array_equal(slopes.pixels, image_points(pose, LENS, CENTRE, POINTS))
    by_pose = [_difference(pose + step, pose - step, LENS, LENS) for step in 1e-6 * np.eye(POSE_SIZE)]
    by_lens = [_difference(pose, pose, LENS + step, LENS - step) for step in 1e-6 * np.eye(LENS_SIZE)]
    # Central differences over 1e-6 of pixels near 1e3: rounding of 1e-13 times 1e3 over 2e-6, against slopes to 1e3.
    np.testing.assert_allclose(slopes.by_pose, np.stack(by_pose, axis=2) / 2e-6, rtol=1e-5, atol=2e-3)
    np.testing.assert_allclose(slopes.by_lens, np.stack(by_lens, axis=2) / 2e-6, rtol=1e-5, atol=2e-3)


def _difference(ahead: Floats, behind: Floats, lens_ahead: Floats, lens_behind: Floats) -> Floats:
    return image_points(ahead, lens_ahead, CENTRE, POINTS) - image_points(behind, lens_behind, CENTRE, POINTS)


def test_derivatives_by_the_points_are_those_of_differences() -> None:
    slopes = image_derivatives(POSE, LENS, CENTRE, POINTS)
    for column, step in enumerate(1e-4 * np.eye(2)):
        ahead, behind = (image_points(POSE, LENS, CENTRE, POINTS + sign * step) for sign in (1.0, -1.0))
        np.testing.assert_allclose(slopes.by_point[:, :, column], (ahead - behind) / 2e-4, rtol=1e-6, atol=1e-6)


def test_plane_points_undo_image_points() -> None:
    points = np.random.default_rng(15).uniform([-10.0, -5.0], [130.0, 80.0], (50, 2))
    # Fixed-point inversion gains a digit and a half a step where distortion bends by 3 k1 r2 = 3 %.
    np.testing.assert_allclose(
        plane_points(POSE, LENS, CENTRE, image_points(POSE, LENS, CENTRE, points)), points, atol=1e-6
    )


def test_undistort_undoes_distort() -> None:
    points = np.random.default_rng(16).uniform(-0.4, 0.4, (40, 2))
    phone = np.array([0.0, 0.02, -0.01, 0.0, 0.0, 0.0, 0.0, 0.0])
    np.testing.assert_allclose(undistort(distort(points, phone), phone), points, atol=1e-9)


def test_a_first_pose_from_exact_points_is_the_pose() -> None:
    plain = np.concatenate([[np.log(4000.0)], np.zeros(7)])
    found = first_pose(POINTS, image_points(POSE, plain, CENTRE, POINTS), CENTRE, 4000.0)
    # Exact points: the direct linear transform to rounding, conditioned by the card's shape.
    np.testing.assert_allclose(found, POSE, rtol=1e-7, atol=1e-7)


def test_homography_agrees_with_opencv() -> None:
    pixels = image_points(POSE, np.concatenate([LENS[:1], np.zeros(7)]), CENTRE, POINTS)
    ours = fit_homography(POINTS, pixels)
    theirs, _ = cv2.findHomography(POINTS, pixels)
    # Exact points: both give the one true matrix to the precision of OpenCV's refinement.
    np.testing.assert_allclose(ours / ours[2, 2], theirs, rtol=1e-5, atol=1e-9)


def test_rotation_vectors_and_matrices_undo_each_other() -> None:
    for vector in (np.zeros(3), np.array([0.3, -0.2, 3.0]), np.array([0.0, np.pi - 1e-7, 0.0])):
        np.testing.assert_allclose(rotation_vector(rotation_matrix(vector)), vector, atol=1e-9)
        np.testing.assert_allclose(rotation_matrix(vector), cv2.Rodrigues(vector)[0], atol=1e-12)

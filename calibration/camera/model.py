"""What a camera makes of a flat card: pinhole, distortion (Brown-Conrady) and principal point, with exact derivatives.

A view is a pose (6,): rotation vector and translation (mm) of the card's plane in the camera. A lens is (8,): log focal
length (px), k1, k2, the principal point's distance from the middle of the picture (px, x and y), the decentring terms
p1, p2, and the log of a pixel's height over its width. Formulas and the order of p1 and p2 are OpenCV's, so that its
results can stand beside ours.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

POSE_SIZE, LENS_SIZE = 6, 8
FOCAL, PRINCIPAL, DECENTRING, PIXEL = 0, slice(3, 5), slice(5, 7), 7
"""Where in a lens its parts stand."""


class Derivatives(NamedTuple):
    """Pixels (n, 2) and their derivatives by pose (n, 2, 6), by lens (n, 2, 8) and by the plane points (n, 2, 2)."""

    pixels: Floats
    by_pose: Floats
    by_lens: Floats
    by_point: Floats


def image_points(pose: Floats, lens: Floats, centre: Floats, points_mm: Floats, height_mm: float = 0.0) -> Floats:
    """Pixels (n, 2) of plane points (n, 2) in mm, raised `height_mm` above the plane toward the camera.

    `centre` (2,) is the middle of the picture in px.
    """
    matrix = rotation_matrix(pose[:3])
    offset = pose[3:6] - height_mm * matrix[:, 2] * np.sign(matrix[:, 2] @ pose[3:6])
    camera = points_mm @ matrix[:, :2].T + offset
    return centre + lens[PRINCIPAL] + _focal(lens) * distort(camera[:, :2] / camera[:, 2:], lens)


def image_derivatives(pose: Floats, lens: Floats, centre: Floats, points_mm: Floats) -> Derivatives:
    """`image_points` of points in the plane, and what each parameter does to them."""
    matrix = rotation_matrix(pose[:3])
    camera = points_mm @ matrix[:, :2].T + pose[3:6]
    normalised = camera[:, :2] / camera[:, 2:]
    focal = _focal(lens)
    distorted = distort(normalised, lens)
    by_camera = focal[:, None] * (_distortion_slope(normalised, lens) @ _perspective_slope(camera))
    by_pose = np.concatenate([by_camera @ _turning_slope(pose[:3], matrix, points_mm), by_camera], axis=2)
    pixels = centre + lens[PRINCIPAL] + focal * distorted
    return Derivatives(pixels, by_pose, _lens_slope(normalised, focal, distorted), by_camera @ matrix[:, :2])


def plane_points(pose: Floats, lens: Floats, centre: Floats, points_px: Floats) -> Floats:
    """Plane points (n, 2) in mm of pixels (n, 2): `image_points` undone."""
    ideal = undistort((np.asarray(points_px, float) - centre - lens[PRINCIPAL]) / _focal(lens), lens)
    matrix = rotation_matrix(pose[:3])
    homography = np.column_stack([matrix[:, 0], matrix[:, 1], pose[3:6]])
    plane = np.linalg.solve(homography, np.column_stack([ideal, np.ones(len(ideal))]).T).T
    return np.asarray(plane[:, :2] / plane[:, 2:])


def distort(normalised: Floats, lens: Floats) -> Floats:
    """Distortion of normalised points (n, 2): k1, k2 radial, p1, p2 decentring."""
    x, y = normalised.T
    squared = x * x + y * y
    radial = 1.0 + squared * (lens[1] + squared * lens[2])
    p1, p2 = lens[DECENTRING]
    if p1 == 0.0 and p2 == 0.0:
        return np.asarray(normalised * radial[:, None])
    across = x * radial + 2.0 * p1 * x * y + p2 * (squared + 2.0 * x * x)
    return np.column_stack([across, y * radial + p1 * (squared + 2.0 * y * y) + 2.0 * p2 * x * y])


def undistort(distorted: Floats, lens: Floats) -> Floats:
    """Inverse of `distort` by fixed-point iteration; converges for any distortion a phone leaves."""
    ideal = distorted
    for _ in range(8):
        ideal = ideal + distorted - distort(ideal, lens)
    return ideal


def rotation_matrix(vector: Floats) -> Floats:
    """Rotation matrix (3, 3) of a rotation vector (3,), by Rodrigues' formula."""
    angle = float(np.linalg.norm(vector))
    if angle < 1e-12:
        return np.eye(3)
    cross = _cross(vector / angle)
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross)


def rotation_vector(matrix: Floats) -> Floats:
    """Rotation vector (3,) of a rotation matrix (3, 3), through its unit quaternion (safe near half a turn)."""
    k = np.empty((4, 4))
    k[0, 0] = np.trace(matrix)
    k[0, 1:] = k[1:, 0] = [matrix[2, 1] - matrix[1, 2], matrix[0, 2] - matrix[2, 0], matrix[1, 0] - matrix[0, 1]]
    k[1:, 1:] = matrix + matrix.T - np.trace(matrix) * np.eye(3)
    quaternion = np.linalg.eigh(k)[1][:, -1]
    if quaternion[0] < 0:
        quaternion = -quaternion
    sine = np.linalg.norm(quaternion[1:])
    if sine < 1e-15:
        return np.zeros(3)
    return np.asarray(2.0 * np.arctan2(sine, quaternion[0]) * quaternion[1:] / sine)


def first_pose(points_mm: Floats, points_px: Floats, principal_px: Floats, focal_px: float) -> Floats:
    """Pose (6,) from the homography of the points (Zhang's decomposition), no distortion."""
    homography = fit_homography(points_mm, (points_px - principal_px) / focal_px)
    scale = np.mean(np.linalg.norm(homography[:, :2], axis=0))
    columns = homography / scale * np.sign(homography[2, 2])
    left, _, right = np.linalg.svd(np.column_stack([columns[:, :2], np.cross(columns[:, 0], columns[:, 1])]))
    return np.concatenate([rotation_vector(left @ right), columns[:, 2]])


def fit_homography(source: Floats, target: Floats) -> Floats:
    """Homography (3, 3) from (n, 2) source to (n, 2) target points by the normalised direct linear transform.

    Hartley, R., Zisserman, A., Multiple View Geometry, 2nd ed., algorithm 4.2.
    """
    to_source, to_target = _normaliser(source), _normaliser(target)
    x, y = (source @ to_source[:2, :2].T + to_source[:2, 2]).T
    u, v = (target @ to_target[:2, :2].T + to_target[:2, 2]).T
    zero, one = np.zeros_like(x), np.ones_like(x)
    rows = np.vstack(
        [
            np.column_stack([x, y, one, zero, zero, zero, -u * x, -u * y, -u]),
            np.column_stack([zero, zero, zero, x, y, one, -v * x, -v * y, -v]),
        ]
    )
    solution = np.linalg.svd(rows, full_matrices=False)[2][-1].reshape(3, 3)
    return np.asarray(np.linalg.solve(to_target, solution @ to_source))


def _normaliser(points: Floats) -> Floats:
    mean = points.mean(axis=0)
    scale = np.sqrt(2.0) / np.mean(np.linalg.norm(points - mean, axis=1))
    return np.array([[scale, 0.0, -scale * mean[0]], [0.0, scale, -scale * mean[1]], [0.0, 0.0, 1.0]])


def _focal(lens: Floats) -> Floats:
    """Focal length (2,) in pixels, by the pixel's width and by its height."""
    return np.exp(lens[FOCAL] + np.array([0.0, lens[PIXEL]]))


def _cross(vector: Floats) -> Floats:
    x, y, z = vector
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])


def _turning_slope(vector: Floats, matrix: Floats, points_mm: Floats) -> Floats:
    """d(turned point)/d(rotation vector), (n, 3, 3), through the right Jacobian of the rotation group.

    Chirikjian, G., Stochastic Models, Information Theory, and Lie Groups, vol. 2, 10.86.
    """
    x, y = points_mm[:, 0, None], points_mm[:, 1, None]
    first, second, third = matrix.T
    turned = np.stack([third * y, -third * x, second * x - first * y], axis=2)
    return np.asarray(turned @ _right_jacobian(vector))


def _right_jacobian(vector: Floats) -> Floats:
    angle = float(np.linalg.norm(vector))
    cross = _cross(vector)
    if angle < 1e-6:
        return np.eye(3) - cross / 2.0
    bend, twist = (1.0 - np.cos(angle)) / angle**2, (angle - np.sin(angle)) / angle**3
    return np.asarray(np.eye(3) - bend * cross + twist * cross @ cross)


def _perspective_slope(camera: Floats) -> Floats:
    """d(normalised)/d(camera point), (n, 2, 3)."""
    x, y, z = camera.T
    zero = np.zeros_like(z)
    rows = [[1.0 / z, zero, -x / z**2], [zero, 1.0 / z, -y / z**2]]
    return np.asarray(np.moveaxis(np.array(rows), 2, 0))


def _distortion_slope(normalised: Floats, lens: Floats) -> Floats:
    """d(distorted)/d(normalised), (n, 2, 2); symmetric."""
    x, y = normalised.T
    p1, p2 = lens[DECENTRING]
    squared = x * x + y * y
    radial = 1.0 + squared * (lens[1] + squared * lens[2])
    growth = 2.0 * lens[1] + 4.0 * lens[2] * squared
    mixed = growth * x * y + 2.0 * (p1 * x + p2 * y)
    across = radial + growth * x * x + 2.0 * p1 * y + 6.0 * p2 * x
    along = radial + growth * y * y + 6.0 * p1 * y + 2.0 * p2 * x
    return np.asarray(np.moveaxis(np.array([[across, mixed], [mixed, along]]), 2, 0))


def _lens_slope(normalised: Floats, focal: Floats, distorted: Floats) -> Floats:
    """d(pixels)/d(lens), (n, 2, 8)."""
    x, y = normalised.T
    squared = x * x + y * y
    slope = np.zeros((len(x), 2, LENS_SIZE))
    slope[:, :, FOCAL] = focal * distorted
    slope[:, :, 1] = focal * normalised * squared[:, None]
    slope[:, :, 2] = slope[:, :, 1] * squared[:, None]
    slope[:, 0, 3] = slope[:, 1, 4] = 1.0
    slope[:, :, 5] = focal * np.column_stack([2.0 * x * y, squared + 2.0 * y * y])
    slope[:, :, 6] = focal * np.column_stack([squared + 2.0 * x * x, 2.0 * x * y])
    slope[:, 1, PIXEL] = slope[:, 1, FOCAL]
    return slope

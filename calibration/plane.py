"""The card's plane as one photo shows it: pose, focal length and lens distortion solved together, with covariance.

Model: a pinhole with the principal point in the middle of the picture and radial distortion (Brown-Conrady, k1 and k2
on normalised coordinates). One photo of a flat card, taken nearly square-on, hardly determines the focal length and
the distortion, so both carry prior knowledge: the focal length the photo's own data state, and distortion as small as
phones leave it after their own correction. The solution is the maximum a posteriori estimate; its covariance holds what
the photo does not determine, and every later step inherits it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

POSE = slice(0, 6)
LOG_FOCAL, K1, K2 = 6, 7, 8
PARAMETERS = 9

K1_PRIOR = 0.02
K2_PRIOR = 0.008
"""Standard deviations of radial distortion left in a phone's own pictures (common practice, no source)."""

FOCAL_PRIOR_UNKNOWN = 0.25
"""Relative standard deviation of the focal length when the photo does not state it (24 to 50 mm equivalent)."""

_STEPS = 30
_HUBER_PX = 3.0


@dataclass(frozen=True)
class FocalPrior:
    """What is known of the focal length before solving: value (px) and relative standard deviation."""

    focal_px: float
    relative_u: float


@dataclass(frozen=True)
class PlaneMap:
    """Maps between the card's plane (mm) and the upright photo (px, integer = pixel centre).

    `theta` (9,): rotation vector and translation (mm) of the plane in the camera, log focal length (px), k1, k2.
    `centre` (2,): principal point (px). `covariance` (9, 9) of `theta`.
    """

    theta: Floats
    centre: Floats
    covariance: Floats

    @property
    def focal_px(self) -> float:
        """Focal length in pixels."""
        return float(np.exp(self.theta[LOG_FOCAL]))

    @property
    def tilt_deg(self) -> float:
        """Angle between the camera's axis and the normal of the plane, in degrees."""
        normal = rotation_matrix(self.theta[:3])[:, 2]
        return float(np.degrees(np.arccos(np.clip(abs(normal[2]), 0.0, 1.0))))

    @property
    def distance_mm(self) -> float:
        """Distance from the camera to the plane along the plane's normal, in mm."""
        return float(abs(rotation_matrix(self.theta[:3])[:, 2] @ self.theta[3:6]))

    @property
    def nadir_mm(self) -> Floats:
        """The point (2,) of the plane straight below the camera, in mm."""
        return -(rotation_matrix(self.theta[:3]).T @ self.theta[3:6])[:2]

    def with_theta(self, theta: Floats) -> PlaneMap:
        """The same map with other parameters (9,)."""
        return replace(self, theta=theta)

    def to_image(self, points_mm: Floats, height_mm: float = 0.0) -> Floats:
        """Pixels (n, 2) of plane points (n, 2) in mm, raised `height_mm` above the plane toward the camera."""
        return project(self.theta, self.centre, points_mm, height_mm)

    def to_plane(self, points_px: Floats) -> Floats:
        """Plane points (n, 2) in mm of pixels (n, 2)."""
        normalised = (np.asarray(points_px, float) - self.centre) / self.focal_px
        ideal = undistort(normalised, self.theta[K1], self.theta[K2])
        matrix = rotation_matrix(self.theta[:3])
        homography = np.column_stack([matrix[:, 0], matrix[:, 1], self.theta[3:6]])
        rays = np.column_stack([ideal, np.ones(len(ideal))])
        plane = np.linalg.solve(homography, rays.T).T
        return plane[:, :2] / plane[:, 2:]

    def px_per_mm(self, point_mm: Floats) -> float:
        """Scale of the photo at a plane point (2,), as the root of the area ratio."""
        x, y = point_mm
        origin, right, down = self.to_image(np.array([[x, y], [x + 1.0, y], [x, y + 1.0]]))
        return float(np.sqrt(abs(np.linalg.det(np.array([right - origin, down - origin])))))


def rotation_matrix(vector: Floats) -> Floats:
    """Rotation matrix (3, 3) of a rotation vector (3,), by Rodrigues' formula."""
    angle = float(np.linalg.norm(vector))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross)


def project(theta: Floats, centre: Floats, points_mm: Floats, height_mm: float = 0.0) -> Floats:
    """Pixels (n, 2) of plane points (n, 2) in mm, raised `height_mm` above the plane toward the camera."""
    matrix = rotation_matrix(theta[:3])
    offset = theta[3:6] - height_mm * matrix[:, 2] * np.sign(matrix[:, 2] @ theta[3:6])
    camera = points_mm @ matrix[:, :2].T + offset
    normalised = camera[:, :2] / camera[:, 2:]
    return centre + np.exp(theta[LOG_FOCAL]) * distort(normalised, theta[K1], theta[K2])


def distort(normalised: Floats, k1: float, k2: float) -> Floats:
    """Radial distortion of normalised points (n, 2) (Brown-Conrady, two terms)."""
    squared = np.sum(normalised**2, axis=1, keepdims=True)
    return np.asarray(normalised * (1.0 + squared * (k1 + squared * k2)))


def undistort(distorted: Floats, k1: float, k2: float) -> Floats:
    """Inverse of `distort` by fixed-point iteration; converges for any distortion a phone leaves."""
    ideal = distorted
    for _ in range(8):
        squared = np.sum(ideal**2, axis=1, keepdims=True)
        ideal = distorted / (1.0 + squared * (k1 + squared * k2))
    return ideal


def solve_plane(
    points_mm: Floats, points_px: Floats, *, size_px: tuple[int, int], focal: FocalPrior, sigma_px: float = 0.05
) -> tuple[PlaneMap, Floats]:
    """The plane from (n, 2) card points in mm and their pixels (n, 2); `size_px` is (width, height).

    Returns the map and the reprojection residuals (n, 2) in px. The covariance is scaled up, never down, by the
    residuals' own scatter. Raises ValueError for fewer than 6 points.
    """
    if len(points_mm) < 6:
        raise ValueError(f"points_mm must hold at least 6 points, got {len(points_mm)}")
    centre = (np.array(size_px, float) - 1.0) / 2.0
    theta = _first_guess(points_mm, points_px, centre, focal.focal_px)
    prior_mean = np.array([np.log(focal.focal_px), 0.0, 0.0])
    prior_sigma = np.array([focal.relative_u, K1_PRIOR, K2_PRIOR])
    normal = np.eye(PARAMETERS)
    damping = 1e-3
    cost = np.inf
    for _ in range(_STEPS):
        residual, weight = _residuals(theta, centre, points_mm, points_px, sigma_px)
        prior = (theta[LOG_FOCAL:] - prior_mean) / prior_sigma
        jacobian = projection_jacobian(theta, centre, points_mm) / sigma_px * weight[:, None]
        normal = jacobian.T @ jacobian
        normal[LOG_FOCAL:, LOG_FOCAL:] += np.diag(prior_sigma**-2.0)
        gradient = jacobian.T @ residual
        gradient[LOG_FOCAL:] += prior / prior_sigma
        step = -np.linalg.solve(normal + damping * np.diag(np.diag(normal)), gradient)
        trial = theta + step
        trial_cost = _cost(trial, centre, points_mm, points_px, sigma_px, prior_mean, prior_sigma)
        if trial_cost <= cost:
            done = cost - trial_cost < 1e-9 * trial_cost
            theta, cost, damping = trial, trial_cost, damping * 0.1
            if done:
                break
        else:
            damping *= 10.0
    residuals_px = project(theta, centre, points_mm) - points_px
    scatter = max(1.0, robust_sigma(residuals_px) / sigma_px)
    covariance = np.asarray(np.linalg.inv(normal) * scatter**2, np.float64)
    return PlaneMap(theta, centre, covariance), residuals_px


def projection_jacobian(theta: Floats, centre: Floats, points_mm: Floats) -> Floats:
    """d(pixels)/d(theta), (2n, 9), by central differences with steps matched to the parameters' sizes."""
    steps = np.array([1e-6] * 3 + [1e-4] * 3 + [1e-6] * 3)
    columns = []
    for index, step in enumerate(steps):
        shift = np.zeros(PARAMETERS)
        shift[index] = step
        ahead = project(theta + shift, centre, points_mm)
        behind = project(theta - shift, centre, points_mm)
        columns.append(((ahead - behind) / (2.0 * step)).ravel())
    return np.column_stack(columns)


def robust_sigma(values: Floats) -> float:
    """Standard deviation estimated by the median absolute value (normal errors about zero)."""
    return float(1.4826 * np.median(np.abs(values)))


def _residuals(
    theta: Floats, centre: Floats, points_mm: Floats, points_px: Floats, sigma_px: float
) -> tuple[Floats, Floats]:
    difference = (project(theta, centre, points_mm) - points_px).ravel() / sigma_px
    limit = _HUBER_PX * max(1.0, robust_sigma(difference))
    weight = np.sqrt(np.minimum(1.0, limit / np.maximum(np.abs(difference), 1e-12)))
    return difference * weight, weight


def _cost(
    theta: Floats,
    centre: Floats,
    points_mm: Floats,
    points_px: Floats,
    sigma_px: float,
    prior_mean: Floats,
    prior_sigma: Floats,
) -> float:
    residual, _ = _residuals(theta, centre, points_mm, points_px, sigma_px)
    prior = (theta[LOG_FOCAL:] - prior_mean) / prior_sigma
    return float(residual @ residual + prior @ prior)


def _first_guess(points_mm: Floats, points_px: Floats, centre: Floats, focal_px: float) -> Floats:
    """Pose from the homography of the points (Zhang's decomposition), no distortion."""
    homography = fit_homography(points_mm, (points_px - centre) / focal_px)
    scale = np.mean(np.linalg.norm(homography[:, :2], axis=0))
    columns = homography / scale * np.sign(homography[2, 2])
    left, _, right = np.linalg.svd(np.column_stack([columns[:, :2], np.cross(columns[:, 0], columns[:, 1])]))
    vector = rotation_vector(left @ right)
    return np.concatenate([vector, columns[:, 2], [np.log(focal_px), 0.0, 0.0]])


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
    solution = np.linalg.svd(rows)[2][-1].reshape(3, 3)
    return np.asarray(np.linalg.solve(to_target, solution @ to_source))


def _normaliser(points: Floats) -> Floats:
    mean = points.mean(axis=0)
    scale = np.sqrt(2.0) / np.mean(np.linalg.norm(points - mean, axis=1))
    return np.array([[scale, 0.0, -scale * mean[0]], [0.0, scale, -scale * mean[1]], [0.0, 0.0, 1.0]])

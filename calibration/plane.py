"""The card's plane as one photo shows it: pose, focal length, distortion and principal point, with covariance.

One photo of a flat card, taken nearly square-on, hardly determines the lens, so the lens carries prior knowledge: the
focal length the photo's own data state, what phones leave of distortion after their own correction, a principal point
near the middle; or, far sharper, a camera profile. The printed card's own shape is solved for as well, near what is
known of the print: pixels are square, so one photo tells a stretched or skewed print from a tilted one, but not its
size. The solution is the maximum a posteriori estimate; its covariance holds what the photo does not determine, and
every later step inherits it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from calibration.camera.model import (
    POSE_SIZE,
    first_pose,
    image_derivatives,
    image_points,
    plane_points,
    rotation_matrix,
)
from calibration.lens_prior import LensPrior
from calibration.prints.shape import EXACT, PrintShape
from calibration.prints.shape import PARAMETERS as PRINT_PARAMETERS
from calibration.robust import robust_sigma

Floats = NDArray[np.float64]

POSE, LENS = slice(0, 6), slice(6, 11)
LOG_FOCAL = 6
PRINCIPAL = slice(9, 11)
PARAMETERS = 11

FEWEST_POINTS = 6
SIGMA_PX = 0.05
"""Standard deviation of a corner of the card in a sharp photo, in each direction."""
_STEPS = 30
_SETTLED, _ROUGHLY = 1e-9, 1e-4
"""Relative change of the cost below which the solution has settled, at last and on the way."""
_COARSE_PX = (1.0, 0.2)
"""How far corners are trusted on the way to the solution, one standard deviation."""
_TINY = 1e-300
_FIRST_ORDER = 0.1
"""Share of a standard deviation stepped for a first-order change."""
_HUBER_PX = 3.0
"""Corners farther off than so many of their usual scatter count less (Huber)."""


@dataclass(frozen=True)
class PlaneMap:
    """Maps between the card's plane (mm) and the upright photo (px, integer = pixel centre).

    `theta` (11,): rotation vector and translation (mm) of the plane in the camera, log focal length (px), k1, k2, and
    the principal point less `centre` (px). `centre` (2,): the middle of the picture. `covariance` (11, 11) of `theta`.
    `decentring` (2,): p1 and p2, for the few lenses that need them. `card` is the print's shape as solved;
    `print_steps` (3, 11) tells how one standard step of each of the print's three errors moves `theta`, `print_cost`
    (3, 11) how far `theta` is open in three directions only because the print is not known exactly.
    """

    theta: Floats
    centre: Floats
    covariance: Floats
    decentring: Floats = field(default_factory=lambda: np.zeros(2))
    card: PrintShape = EXACT
    print_steps: Floats = field(default_factory=lambda: np.zeros((PRINT_PARAMETERS, PARAMETERS)))
    print_cost: Floats = field(default_factory=lambda: np.zeros((PRINT_PARAMETERS, PARAMETERS)))

    @property
    def own_covariance(self) -> Floats:
        """Covariance (11, 11) of `theta` without the part of the print."""
        return np.asarray(self.covariance - self.print_steps.T @ self.print_steps)

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
        """The same map with other parameters (11,)."""
        return replace(self, theta=theta)

    def to_image(self, points_mm: Floats, height_mm: float = 0.0) -> Floats:
        """Pixels (n, 2) of plane points (n, 2) in mm, raised `height_mm` above the plane toward the camera."""
        return image_points(self.theta[POSE], self._lens, self.centre, points_mm, height_mm)

    def to_plane(self, points_px: Floats) -> Floats:
        """Plane points (n, 2) in mm of pixels (n, 2)."""
        return plane_points(self.theta[POSE], self._lens, self.centre, points_px)

    def card_to_image(self, points_mm: Floats) -> Floats:
        """Pixels (n, 2) of the card's nominal points (n, 2) in mm, wherever its printer put them."""
        return self.to_image(self.card.true_points(points_mm))

    def to_card(self, points_px: Floats) -> Floats:
        """The card's nominal points (n, 2) in mm of pixels (n, 2)."""
        return self.card.nominal_points(self.to_plane(points_px))

    def px_per_mm(self, point_mm: Floats) -> float:
        """Scale of the photo at a plane point (2,), as the root of the area ratio."""
        x, y = point_mm
        origin, right, down = self.to_image(np.array([[x, y], [x + 1.0, y], [x, y + 1.0]]))
        return float(np.sqrt(abs(np.linalg.det(np.array([right - origin, down - origin])))))

    def px_per_mm_u(self, point_mm: Floats) -> float:
        """Standard uncertainty of the scale at a plane point (2,), to first order in `theta`."""
        variances, directions = np.linalg.eigh(self.covariance)
        steps = _FIRST_ORDER * np.sqrt(np.clip(variances, 0.0, None)) * directions
        scales = [self.with_theta(self.theta + step).px_per_mm(point_mm) for step in steps.T]
        return float(np.linalg.norm(np.array(scales) - self.px_per_mm(point_mm))) / _FIRST_ORDER

    @property
    def _lens(self) -> Floats:
        return np.concatenate([self.theta[LENS], self.decentring, [0.0]])


@dataclass(frozen=True)
class _Task:
    """Everything that stays the same while a plane is solved.

    `points_mm` are true to what is known of the print; `stretch` (m, n, 2) is what each of its standard steps does.
    """

    points_mm: Floats
    points_px: Floats
    stretch: Floats
    centre: Floats
    lens: LensPrior
    information: Floats
    sigma_px: float

    def residual(self, state: Floats) -> Floats:
        """Model less seen, (n, 2) in px, of a state: theta (11,) and how much of each stretch (m,)."""
        lens = self._full_lens(state)
        return image_points(state[POSE], lens, self.centre, self._stretched(state)) - self.points_px

    def linearised(self, state: Floats) -> tuple[Floats, Floats]:
        """Residuals (2n,) and their derivatives (2n, 11 + m), in px."""
        slopes = image_derivatives(state[POSE], self._full_lens(state), self.centre, self._stretched(state))
        by_stretch = np.einsum("nij,mnj->nim", slopes.by_point, self.stretch)
        jacobian = np.concatenate([slopes.by_pose, slopes.by_lens[:, :, :5], by_stretch], axis=2)
        return (slopes.pixels - self.points_px).ravel(), jacobian.reshape(-1, len(state))

    def departure(self, state: Floats) -> Floats:
        """How far the state is from what was known of it, in standard deviations of independent directions."""
        lens = self.lens.whitened(state[LENS] - self.lens.mean)
        return np.concatenate([lens, state[PARAMETERS:]])

    def cost(self, state: Floats) -> float:
        """Sum of squares of residuals (Huber) and departure."""
        scaled = self.residual(state).ravel() / self.sigma_px
        known = self.departure(state)
        return float(np.sum(scaled**2 * huber_weights(scaled)) + known @ known)

    def _stretched(self, state: Floats) -> Floats:
        return np.asarray(self.points_mm + np.tensordot(state[PARAMETERS:], self.stretch, axes=1))

    def _full_lens(self, state: Floats) -> Floats:
        return np.concatenate([state[LENS], self.lens.decentring, [0.0]])


def solve_plane(
    points_mm: Floats,
    points_px: Floats,
    *,
    size_px: tuple[int, int],
    lens: LensPrior,
    card: PrintShape = EXACT,
    sigma_px: float = SIGMA_PX,
) -> tuple[PlaneMap, Floats]:
    """The plane from (n, 2) nominal card points in mm and their pixels (n, 2); `size_px` is (width, height).

    `card` is what is known of the printed card's shape. Returns the map and the reprojection residuals (n, 2) in px.
    The covariance, but for the print's part, is scaled up, never down, by the residuals' own scatter. Raises ValueError
    for fewer than 6 points.
    """
    if len(points_mm) < FEWEST_POINTS:
        raise ValueError(f"points_mm must hold at least 6 points, got {len(points_mm)}")
    centre = (np.array(size_px, float) - 1.0) / 2.0
    points, stretch = card.true_points(points_mm), card.stretch(points_mm)
    task = _Task(points, points_px, stretch, centre, lens, _information(lens, len(stretch)), sigma_px)
    state, normal = _solve(task)
    residual_px = task.residual(state)
    scatter = max(1.0, robust_sigma(residual_px) / sigma_px)
    return _map_of(task, card, state, np.asarray(np.linalg.inv(normal)), scatter), residual_px


def _map_of(task: _Task, card: PrintShape, state: Floats, covariance: Floats, scatter: float) -> PlaneMap:
    """The map of a state, its covariance (11 + m, 11 + m) told apart by origin.

    An error of one standard step in what was known of the print moves the state by that knowledge's weight, which is 1
    here, times the covariance. What the print costs is the regression of theta on its shape.
    """
    steps = covariance[PARAMETERS:, :PARAMETERS]
    of_print = steps.T @ steps
    total = (covariance[:PARAMETERS, :PARAMETERS] - of_print) * scatter**2 + of_print
    of_counts = covariance[PARAMETERS:, PARAMETERS:]
    cost = np.asarray(np.linalg.solve(np.linalg.cholesky(of_counts), steps))
    solved = card.solved(state[PARAMETERS:], of_counts)
    return PlaneMap(state[:PARAMETERS], task.centre, total, task.lens.decentring, solved, steps, cost)


def huber_weights(scaled: Floats) -> Floats:
    """Weights (n,) of residuals in standard deviations: 1 to three of them, or of their own scatter; then falling.

    Huber, P. J., Robust Statistics, 1981, 7.8.
    """
    limit = _HUBER_PX * max(1.0, robust_sigma(scaled))
    return np.asarray(np.minimum(1.0, limit / np.maximum(np.abs(scaled), 1e-12)))


def _solve(task: _Task) -> tuple[Floats, Floats]:
    """State and normal matrix at the least cost.

    Corners are first trusted to a pixel only, then ever more: tilt, focal length and the print's ratio may trade
    against one another along a narrow bent valley, which is walked with what is known of them as a guide.
    """
    state = _first_guess(task)
    for sigma_px in _COARSE_PX:
        if sigma_px > task.sigma_px:
            state, _ = _descend(replace(task, sigma_px=sigma_px), state, _ROUGHLY)
    return _descend(task, state, _SETTLED)


def _descend(task: _Task, state: Floats, settled: float) -> tuple[Floats, Floats]:
    """State and normal matrix at the least cost, by Levenberg's and Marquardt's method, until the cost has settled.

    Damping after Nielsen, H. B., Damping Parameter in Marquardt's Method, IMM-REP-1999-05.
    """
    cost, damping, growth = task.cost(state), 1e-3, 2.0
    gradient, normal = _normal_equations(task, state)
    for _ in range(_STEPS):
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), gradient)
        trial_cost = task.cost(state - step)
        if not trial_cost <= cost:
            damping, growth = damping * growth, 2.0 * growth
            continue
        gained, promised = cost - trial_cost, float(step @ (2.0 * gradient - normal @ step))
        damping, growth = damping * max(1.0 / 3.0, 1.0 - (2.0 * gained / max(promised, _TINY) - 1.0) ** 3), 2.0
        state, cost = state - step, trial_cost
        gradient, normal = _normal_equations(task, state)
        if gained < settled * cost:
            break
    return state, normal


def _normal_equations(task: _Task, state: Floats) -> tuple[Floats, Floats]:
    """Gradient (11 + m,) and normal matrix of half the cost."""
    residual, jacobian = task.linearised(state)
    weights = huber_weights(residual / task.sigma_px) / task.sigma_px**2
    weighted = jacobian.T * weights
    known = np.concatenate([np.zeros(POSE_SIZE), state[LENS] - task.lens.mean, state[PARAMETERS:]])
    return weighted @ residual + task.information @ known, weighted @ jacobian + task.information


def _information(lens: LensPrior, stretches: int) -> Floats:
    """Inverse covariance (11 + m, 11 + m) of what is known beforehand: nothing of the pose."""
    information = np.eye(PARAMETERS + stretches)
    information[POSE, POSE] = 0.0
    information[LENS, LENS] = lens.information
    return information


def _first_guess(task: _Task) -> Floats:
    mean = task.lens.mean
    pose = first_pose(task.points_mm, task.points_px, task.centre + mean[3:5], float(np.exp(mean[0])))
    return np.concatenate([pose, mean, np.zeros(len(task.stretch))])

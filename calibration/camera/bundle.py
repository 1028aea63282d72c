"""Many views of one card by one camera, solved at once: bundle adjustment with the views' blocks eliminated.

Shared by all views: the lens and the card's own shape (its y scale over its x scale, and its skew). A view's own: its
pose, and how far focusing and the stabiliser moved focal length and principal point for it. Normal equations are
reduced to the shared part by Schur's complement (Triggs et al., Bundle Adjustment - A Modern Synthesis, 2000, 6.1).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.camera.model import LENS_SIZE, POSE_SIZE, first_pose, image_derivatives
from calibration.plane import huber_weights
from calibration.robust import robust_sigma

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

SHARED_SIZE = LENS_SIZE + 2
ASPECT, SKEW = LENS_SIZE, LENS_SIZE + 1
MOVING = [0, 3, 4]
"""What of a lens may differ from view to view: log focal length and the principal point."""
OWN_SIZE = POSE_SIZE + len(MOVING)

_STEPS = 60
_SETTLED = 1e-10
_EVER_SMALLEST_PX = 1e-9
"""Scatter of corners that a drawn card without noise is taken to have."""


@dataclass(frozen=True, eq=False)
class View:
    """The card in one photo: nominal points (n, 2) in mm and their pixels (n, 2). `name` is for messages."""

    points_mm: Floats
    points_px: Floats
    name: str = ""


@dataclass(frozen=True, eq=False)
class Beliefs:
    """What is believed before the views are seen, as mean and standard deviation; a deviation of nought holds fixed.

    `mean`, `sigma` (10,): lens (8), log of the card's aspect, skew (rad). `moving_sigma` (3,): of each view's own
    departure in log focal length and principal point (px).
    """

    mean: Floats
    sigma: Floats
    moving_sigma: Floats


@dataclass(frozen=True, eq=False)
class Bundle:
    """The solution: `shared` (10,) with `covariance` (10, 10), each view's `own` (v, 9), `residuals` (n, 2) a view.

    `sigma_px` is the corners' standard deviation as the residuals show it, one coordinate.
    """

    shared: Floats
    covariance: Floats
    own: Floats
    residuals: tuple[Floats, ...]
    sigma_px: float
    cost: float


class _Block(NamedTuple):
    """One view's part of the normal equations: its own (9, 9), the coupling (10, 9), its gradient (9,)."""

    own: Floats
    coupling: Floats
    gradient: Floats


@dataclass(frozen=True, eq=False)
class _Task:
    views: list[View]
    centre: Floats
    beliefs: Beliefs
    sigma_px: float
    robust: bool

    @property
    def free(self) -> Flags:
        return np.asarray(self.beliefs.sigma > 0.0)

    @property
    def own_free(self) -> Flags:
        return np.concatenate([np.ones(POSE_SIZE, bool), self.beliefs.moving_sigma > 0.0])

    @property
    def information(self) -> Floats:
        return _inverse_squares(self.beliefs.sigma)

    @property
    def own_information(self) -> Floats:
        return np.concatenate([np.zeros(POSE_SIZE), _inverse_squares(self.beliefs.moving_sigma)])

    def weights(self, residual: Floats) -> Floats:
        scaled = residual / self.sigma_px
        return huber_weights(scaled) if self.robust else np.ones_like(scaled)


def adjust(
    views: list[View],
    beliefs: Beliefs,
    size_px: tuple[int, int],
    *,
    sigma_px: float = 0.1,
    robust: bool = True,
) -> Bundle:
    """The camera, the card's shape and every view's own, most likely in the light of `beliefs`.

    `sigma_px` is a first idea of the corners' standard deviation; it is found anew from the residuals. Raises
    ValueError without views.
    """
    if not views:
        raise ValueError("views must not be empty")
    centre = (np.array(size_px, float) - 1.0) / 2.0
    shared, own = beliefs.mean.copy(), _first_poses(views, beliefs.mean, centre)
    for _ in range(3):
        task = _Task(views, centre, beliefs, sigma_px, robust)
        shared, own, cost = _descend(task, shared, own)
        residuals = tuple(_linearise(view, shared, each, centre)[0] for view, each in zip(views, own, strict=True))
        sigma_px = max(_sigma(task, residuals), _EVER_SMALLEST_PX)
    task = _Task(views, centre, beliefs, sigma_px, robust)
    return Bundle(shared, _covariance(task, shared, own), own, residuals, sigma_px, cost)


def card_matrix(log_aspect: float, skew_rad: float) -> Floats:
    """What takes the card's nominal points to true ones (2, 2), its mean scale kept: as in `PrintShape.matrix`."""
    wide, high = np.exp(-log_aspect / 2.0), np.exp(log_aspect / 2.0)
    return np.array([[wide, high * np.sin(skew_rad)], [0.0, high * np.cos(skew_rad)]])


def _first_poses(views: list[View], mean: Floats, centre: Floats) -> Floats:
    poses = [first_pose(view.points_mm, view.points_px, centre + mean[3:5], float(np.exp(mean[0]))) for view in views]
    return np.column_stack([np.array(poses), np.zeros((len(views), len(MOVING)))])


def _linearise(view: View, shared: Floats, own: Floats, centre: Floats) -> tuple[Floats, Floats, Floats]:
    """Residuals (n, 2) and their derivatives by shared (2n, 10) and own (2n, 9) parameters."""
    lens = shared[:LENS_SIZE].copy()
    lens[MOVING] += own[POSE_SIZE:]
    true_mm = view.points_mm @ card_matrix(shared[ASPECT], shared[SKEW]).T
    slopes = image_derivatives(own[:POSE_SIZE], lens, centre, true_mm)
    by_card = np.einsum("nij,njk->nik", slopes.by_point, _card_slope(shared[ASPECT], shared[SKEW], view.points_mm))
    by_shared = np.concatenate([slopes.by_lens, by_card], axis=2).reshape(-1, SHARED_SIZE)
    by_own = np.concatenate([slopes.by_pose, slopes.by_lens[:, :, MOVING]], axis=2).reshape(-1, OWN_SIZE)
    return slopes.pixels - view.points_px, by_shared, by_own


def _card_slope(log_aspect: float, skew_rad: float, points_mm: Floats) -> Floats:
    """d(true point)/d(log aspect, skew), (n, 2, 2)."""
    x, y = points_mm.T
    wide, high = np.exp(-log_aspect / 2.0), np.exp(log_aspect / 2.0)
    sine, cosine = np.sin(skew_rad), np.cos(skew_rad)
    across = [(-wide * x + high * sine * y) / 2.0, high * cosine * y]
    along = [high * cosine * y / 2.0, -high * sine * y]
    return np.asarray(np.moveaxis(np.array([across, along]), 2, 0))


def _descend(task: _Task, shared: Floats, own: Floats) -> tuple[Floats, Floats, float]:
    """Levenberg's and Marquardt's method, the damping on the diagonals of all blocks."""
    damping = 1e-3
    normal, gradient, blocks, cost = _normal_equations(task, shared, own)
    for _ in range(_STEPS):
        shared_step, own_step = _step(task, normal, gradient, blocks, damping)
        trial = shared + shared_step, own + own_step
        ahead = _normal_equations(task, *trial)
        if not ahead[3] <= cost:
            damping *= 10.0
            continue
        settled = cost - ahead[3] < _SETTLED * cost
        (shared, own), (normal, gradient, blocks, cost), damping = trial, ahead, damping * 0.1
        if settled:
            break
    return shared, own, cost


def _normal_equations(task: _Task, shared: Floats, own: Floats) -> tuple[Floats, Floats, list[_Block], float]:
    """Shared normal matrix (10, 10) and gradient (10,), the views' blocks, and the cost."""
    departure = shared - task.beliefs.mean
    normal, gradient = np.diag(task.information), task.information * departure
    cost = float(departure @ gradient)
    blocks = []
    for view, each in zip(task.views, own, strict=True):
        residual, by_shared, by_own = _linearise(view, shared, each, task.centre)
        flat = residual.ravel()
        weights = task.weights(flat) / task.sigma_px**2
        believed = task.own_information * each
        normal = normal + (by_shared.T * weights) @ by_shared
        gradient = gradient + (by_shared.T * weights) @ flat
        own_block = (by_own.T * weights) @ by_own + np.diag(task.own_information)
        blocks.append(_Block(own_block, (by_shared.T * weights) @ by_own, (by_own.T * weights) @ flat + believed))
        cost += float(flat @ (weights * flat) + each @ believed)
    return normal, gradient, blocks, cost


def _step(task: _Task, normal: Floats, gradient: Floats, blocks: list[_Block], damping: float) -> tuple[Floats, Floats]:
    """The damped step of shared (10,) and own (v, 9) parameters; what is held fixed stays."""
    free, own_free = task.free, task.own_free
    reduced, right = _damped(normal, damping)[np.ix_(free, free)], gradient[free]
    solved = []
    for block in blocks:
        coupling = block.coupling[np.ix_(free, own_free)]
        own = _damped(block.own, damping)[np.ix_(own_free, own_free)]
        solution = np.linalg.solve(own, np.column_stack([coupling.T, block.gradient[own_free]]))
        reduced, right = reduced - coupling @ solution[:, :-1], right - coupling @ solution[:, -1]
        solved.append(solution)
    shared_step, own_step = np.zeros(SHARED_SIZE), np.zeros((len(blocks), OWN_SIZE))
    if free.any():
        shared_step[free] = -np.linalg.solve(reduced, right)
    for row, solution in zip(own_step, solved, strict=True):
        row[own_free] = -(solution[:, -1] + solution[:, :-1] @ shared_step[free])
    return shared_step, own_step


def _covariance(task: _Task, shared: Floats, own: Floats) -> Floats:
    """Covariance (10, 10) of the shared parameters; nought where they are held fixed."""
    normal, _, blocks, _ = _normal_equations(task, shared, own)
    free, own_free = task.free, task.own_free
    reduced = normal[np.ix_(free, free)]
    for block in blocks:
        coupling = block.coupling[np.ix_(free, own_free)]
        reduced = reduced - coupling @ np.linalg.solve(block.own[np.ix_(own_free, own_free)], coupling.T)
    covariance = np.zeros((SHARED_SIZE, SHARED_SIZE))
    covariance[np.ix_(free, free)] = np.linalg.inv(reduced)
    return covariance


def _sigma(task: _Task, residuals: tuple[Floats, ...]) -> float:
    """Standard deviation of one coordinate, for the degrees of freedom left; by the median where corners may be bad."""
    flat = np.concatenate([residual.ravel() for residual in residuals])
    fitted = int(task.free.sum()) + POSE_SIZE * len(residuals)
    lost = np.sqrt(flat.size / max(flat.size - fitted, 1))
    spread = robust_sigma(flat) if task.robust else float(np.sqrt(np.mean(flat**2)))
    return float(spread * lost)


def _damped(matrix: Floats, damping: float) -> Floats:
    return np.asarray(matrix + damping * np.diag(np.diag(matrix)))


def _inverse_squares(sigma: Floats) -> Floats:
    """Information of independent beliefs; nought where the deviation is nought, for those take no part."""
    return np.where(sigma > 0.0, np.where(sigma > 0.0, sigma, 1.0) ** -2.0, 0.0)

"""The fit of a wall's picture to the photo.

Each part of the picture (`vision.wall_parts`) has its own light in every row and channel. The lights are linear and
solved row by row inside the fit of the borders (variable projection: Golub, G. H., Pereyra, V., SIAM J. Numer. Anal. 10
(1973) 413; the Jacobian is Kaufman's, BIT 15 (1975) 49).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from vision.edge_profile import EdgeProfile
from vision.wall_parts import EDGE, INK, KERF, LINE, SLOPE, Band, Picture, WallParts

__all__ = ["EDGE", "INK", "KERF", "LINE", "SLOPE", "Band", "Belief", "WallPicture", "fit_wall"]

Floats = NDArray[np.float64]

_LOWEST = np.array([-3.0, -0.2, 0.2, -3.0, -0.2, 0.04, 0.0, 0.0, 0.0, -1.0, -0.5])
_HIGHEST = np.array([3.0, 0.2, 1.5, 3.0, 0.2, 0.7, 0.95, 0.95, 0.95, 4.0, 0.95])
_HUBER = 2.5
_LEAST_NOISE = 0.008
_TRIES = 4
_STILL = 3e-4
_ALIKE = 6.0
"""Samples across and along a band that grain, blur and compression make say the same thing."""


@dataclass(frozen=True)
class Belief:
    """What is known of the parameters beforehand: means, standard deviations, and which of them to fit."""

    mean: Floats
    sigma: Floats
    free: tuple[int, ...]


@dataclass(frozen=True)
class WallPicture:
    """The fitted parameters (11,), their cost, and what is left.

    `cost` compares explanations of one band: minus twice the log likelihood of residuals with long (Laplace) tails,
    for the number of samples that are independent, plus what the belief doubts; up to a constant.
    """

    parameters: Floats
    cost: float
    noise: float
    lights: Floats
    residual: Floats = field(repr=False)


def fit_wall(
    band: Band, start: Floats, belief: Belief, profile: EdgeProfile, *, kerf: bool, steps: int = 14
) -> WallPicture:
    """Fit the borders from `start` (11,); `kerf` tells whether waste lies beyond. `profile` is in mm."""
    fit = _Fit(WallParts(band, profile, kerf), belief, np.clip(start, _LOWEST, _HIGHEST))
    for _ in range(steps):
        if fit.step() < _STILL:
            break
    return fit.result()


@dataclass(frozen=True)
class _State:
    """The best lights for given borders, what they leave, and what the change of lights with the borders needs."""

    picture: Picture
    weighted: Floats
    inverse: Floats
    lights: Floats
    residual: Floats


class _Fit:
    """Levenberg-Marquardt steps with Huber's weights."""

    def __init__(self, parts: WallParts, belief: Belief, start: Floats) -> None:
        self.parts, self.belief, self.p = parts, belief, start
        self.free = np.array(belief.free)
        self.weight = np.ones_like(parts.band.light)
        self.noise, self.damping = 0.05, 1e-3
        self.state = self._lit(start)

    def step(self) -> float:
        """One step of all free borders; returns how far edge and slope moved, 0 when no step helps."""
        hessian, gradient = self._normal_equations()
        cost = self._cost(self.p, self.state)
        for _ in range(_TRIES):
            change = np.linalg.solve(hessian + self.damping * np.diag(np.diag(hessian)), gradient)
            trial = self.p.copy()
            trial[self.free] = np.clip(trial[self.free] - change, _LOWEST[self.free], _HIGHEST[self.free])
            state = self._lit(trial)
            if self._cost(trial, state) < cost:
                return self._accept(trial, state)
            self.damping *= 6.0
        return 0.0

    def result(self) -> WallPicture:
        """The picture as it stands."""
        residual = self.state.residual
        misfit = float(np.abs(residual).mean()) + 1e-4
        evidence = 2.0 * residual.size / _ALIKE * float(np.log(misfit)) + self._doubt(self.p)
        return WallPicture(self.p, evidence, self.noise, self.state.lights, residual)

    def _accept(self, trial: Floats, state: _State) -> float:
        moved = float(np.abs(trial - self.p)[[EDGE, SLOPE]].max())
        self.p, self.state, self.damping = trial, state, self.damping * 0.3
        self.noise = max(1.4826 * float(np.median(np.abs(state.residual))), _LEAST_NOISE)
        self.weight = np.minimum(1.0, _HUBER * self.noise / np.maximum(np.abs(state.residual), 1e-9))
        return moved

    def _doubt(self, p: Floats) -> float:
        doubt = (p - self.belief.mean) / self.belief.sigma
        return float(doubt @ doubt)

    def _cost(self, p: Floats, state: _State) -> float:
        return float(np.sum(self.weight * state.residual**2)) / self.noise**2 + self._doubt(p)

    def _lit(self, p: Floats) -> _State:
        picture, light = self.parts.picture(p), self.parts.band.light
        weighted = np.swapaxes(picture.basis * self.weight[..., None], 2, 3)
        inverse: Floats = np.linalg.inv(weighted @ picture.basis + self.parts.ridge).astype(np.float64, copy=False)
        lights = (inverse @ (weighted @ light[..., None]))[..., 0]
        residual = (picture.basis @ lights[..., None])[..., 0] - light
        return _State(picture, weighted, inverse, lights, residual)

    def _normal_equations(self) -> tuple[Floats, Floats]:
        """Hessian and gradient of half the cost over the free parameters, with Kaufman's Jacobian."""
        state, belief, free = self.state, self.belief, self.free
        jacobian = self.parts.changes(belief.free, self.p, state.picture, state.lights)
        jacobian -= state.picture.basis @ (state.inverse @ (state.weighted @ jacobian))
        flat = jacobian.reshape(-1, len(free))
        weighted = flat * (self.weight.ravel() / self.noise**2)[:, None]
        hessian = weighted.T @ flat + np.diag(belief.sigma[free] ** -2.0)
        gradient = weighted.T @ state.residual.ravel() + ((self.p - belief.mean) / belief.sigma**2)[free]
        return hessian, gradient

"""The fit of the walls' pictures to the photo: many bands, and many starts on each, at once.

Each part of the picture (`vision.walls.parts`) has its own light in every row and channel. The lights are linear and
solved row by row inside the fit of the borders (variable projection: Golub, G. H., Pereyra, V., SIAM J. Numer. Anal. 10
(1973) 413; the Jacobian is Kaufman's, BIT 15 (1975) 49). One fit alone is a few thousand numbers, so that handling the
arrays would cost more than reckoning with them: fits run side by side, each with its own damping, noise and end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from vision.walls.channels import Channels
from vision.walls.lights import Bands, Sums, calm_weight, noise_of, shown, unexplained
from vision.walls.parts import EDGE, INK, SLOPE, placed

Floats = NDArray[np.float64]
Light = NDArray[np.float32]
Indices = NDArray[np.intp]

_LOWEST = np.array([-3.0, -0.2, 0.2, -3.0, -0.2, 0.04, 0.0, 0.0, 0.0, -1.0, -0.5, -3.0])
_HIGHEST = np.array([3.0, 0.2, 1.5, 3.0, 0.2, 0.7, 0.95, 0.95, 0.95, 4.0, 0.95, 4.0])
_FIRST_NOISE, _FIRST_DAMPING = 0.05, 1e-3
_CALMER, _MORE_DAMPED = 0.3, 6.0
_TRIES = 4
_STILL = 3e-4
_ALIKE = 6.0
"""Samples across and along a band that grain, blur and compression make say the same thing."""
_CHANNELS = 3.0
_TOGETHER = 96
"""Fits that step side by side: enough to spread the cost of handling arrays, few enough to stay in the cache."""


class Belief(NamedTuple):
    """What is known of the parameters beforehand: `mean` and `sigma` (fits, 12), and which to fit, (fits, 12)."""

    mean: Floats
    sigma: Floats
    free: NDArray[np.bool_]

    def take(self, which: Indices | slice) -> Belief:
        """The belief for some of the fits."""
        return Belief(self.mean[which], self.sigma[which], self.free[which])

    def doubt(self, p: Floats) -> Floats:
        """How much the belief doubts parameters (fits, 12): (fits,), in units of minus twice the log likelihood."""
        return np.asarray((((p - self.mean) / self.sigma) ** 2).sum(axis=1))

    def narrowed(self, hessian: Floats) -> Floats:
        """How much narrower what is known has become, (fits,): the log of the volume before over that after.

        `hessian` (fits, 12, 12) holds what the light says. It is what a parameter costs that had to be found out
        (MacKay, D. J. C., Neural Computation 4 (1992) 415: the Occam factor).
        """
        sigma = np.where(self.free, self.sigma, 0.0)
        grown = np.eye(sigma.shape[1]) + sigma[:, :, None] * hessian * sigma[:, None, :]
        return np.asarray(np.linalg.slogdet(grown)[1])


@dataclass(frozen=True)
class WallPicture:
    """The fitted parameters (12,) and their cost.

    `cost` compares explanations of one band: minus twice the log likelihood of residuals with long (Laplace) tails,
    for the number of samples that are independent, plus what the belief doubts, and what finding out the parameters is
    worth; up to a constant.
    """

    parameters: Floats
    cost: float


def fit_walls(
    bands: Bands, of: Indices, starts: Floats, belief: Belief, channels: Channels, *, steps: int = 14
) -> list[WallPicture]:
    """Fit the borders to the bands numbered `of` (fits,), from `starts` (fits, 12).

    Bands may have three channels, or one that stands for all three; `channels` tells how they are seen.
    """
    fits = _Fits(bands.take(of), channels, belief, starts)
    fits.run(steps)
    return fits.results()


class _Lit(NamedTuple):
    """The best amounts (fits, blocks, channels, parts) of the shapes for given borders, and what they leave."""

    shapes: Light
    amounts: Floats
    inverse: Floats
    residual: Light

    def take(self, which: NDArray[np.bool_]) -> _Lit:
        return _Lit(self.shapes[which], self.amounts[which], self.inverse[which], self.residual[which])


def _possible(p: Floats, channels: Channels) -> Floats:
    """The nearest possible parameters to `p` (fits, 12).

    Ink may add to a colour difference as well as take from it. In red, green and blue it may be lighter than the wood
    in its own colour, but by no more than it darkens another.
    """
    lowest = np.tile(_LOWEST, (len(p), 1))
    if channels.own.all():
        lowest[:, INK] = -np.maximum(p[:, INK].max(axis=1, keepdims=True), 0.0)
    else:
        lowest[:, INK][:, ~channels.own] = -_HIGHEST[INK][0]
    return np.clip(p, lowest, _HIGHEST)


class _Fits:
    """Levenberg-Marquardt steps with Huber's weights, of fits that run side by side."""

    def __init__(self, bands: Bands, channels: Channels, belief: Belief, starts: Floats) -> None:
        self.bands, self.channels, self.belief = bands, channels, belief
        self.p = _possible(starts, channels)
        count, _, seen, _ = bands.light.shape
        self.follows = channels.wall.follows(bands.along, seen)
        self.times = _CHANNELS / seen
        self.trust = bands.sure(bands.seen[:, None, None, :] * bands.trust.astype(np.float32)[:, None, None])
        # In the order of the light: what is broadcast keeps its columns outermost, and sums over them wait for memory.
        self.weight = np.broadcast_to(self.trust, bands.light.shape).astype(np.float32, order="C")
        self.noise, self.damping = np.full(count, _FIRST_NOISE), np.full(count, _FIRST_DAMPING)
        self.hessian = np.zeros((count, starts.shape[1], starts.shape[1]))
        self.gradient, self.cost = np.zeros(starts.shape), np.zeros(count)
        self.residual = np.zeros_like(bands.light)
        self.tries, self.taken = np.zeros(count, int), np.zeros(count, int)

    def run(self, steps: int) -> None:
        """Steps of every fit, some at a time, until its edge lies still, no step helps it, or it has taken `steps`."""
        waiting = np.arange(len(self.p))
        for first in range(0, len(waiting), _TOGETHER):
            self._begin(waiting[first : first + _TOGETHER])
        while len(waiting):
            running, waiting = waiting[:_TOGETHER], waiting[_TOGETHER:]
            waiting = np.concatenate([running[self._step(running, steps)], waiting])

    def _begin(self, which: Indices) -> None:
        lit = self._lit(which, self.p[which])
        self.residual[which] = lit.residual
        self.cost[which] = self._cost(which, self.p[which], lit.residual)
        self._linearise(which, self._jacobian(which, self.p[which], lit))

    def _step(self, running: Indices, steps: int) -> NDArray[np.bool_]:
        """One try of a step of each of the `running` fits; which of them have more to do."""
        trial = self._proposed(running)
        lit = self._lit(running, trial)
        better = self._cost(running, trial, lit.residual) < self.cost[running]
        moved = np.abs(trial - self.p[running])[:, [EDGE, SLOPE]].max(axis=1)
        self.tries[running] = np.where(better, 0, self.tries[running] + 1)
        self.taken[running] += better
        going = (moved >= _STILL) & (self.taken[running] < steps)
        more = np.where(better, going, self.tries[running] < _TRIES)
        self.damping[running] *= np.where(better, _CALMER, _MORE_DAMPED)
        if better.any():
            self._take_over(running, trial, lit, better, better & more)
        return more

    def results(self) -> list[WallPicture]:
        """The pictures as they stand."""
        trust = np.broadcast_to(self.trust, self.residual.shape)
        size = trust.sum(axis=(1, 2, 3), dtype=float)
        seen = np.abs(self.residual) * trust
        misfit = seen.sum(axis=(1, 2, 3), dtype=float) / size + 1e-4
        cost = 2.0 * self.times * size / _ALIKE * np.log(misfit) + self.belief.doubt(self.p)
        cost += self.belief.narrowed((self.hessian - self._prior(slice(None))) / _ALIKE)
        return [WallPicture(p, float(c)) for p, c in zip(self.p, cost, strict=True)]

    def _proposed(self, which: Indices) -> Floats:
        hessian = self.hessian[which]
        diagonal = np.arange(hessian.shape[1])
        hessian[:, diagonal, diagonal] *= 1.0 + self.damping[which, None]
        change = np.linalg.solve(hessian, self.gradient[which, :, None])[..., 0]
        return _possible(self.p[which] - change, self.channels)

    def _take_over(
        self, running: Indices, trial: Floats, lit: _Lit, better: NDArray[np.bool_], onward: NDArray[np.bool_]
    ) -> None:
        """Go where it is better, with weights anew, and see the way from there for those that go onward."""
        jacobian = self._jacobian(running[onward], trial[onward], lit.take(onward)) if onward.any() else None
        which, residual = running[better], lit.residual[better]
        self.p[which], self.residual[which] = trial[better], residual
        alike = self.bands.scattering_alike(residual, which)
        self.noise[which] = noise_of(alike, self.bands.seen[which])
        self.weight[which] = calm_weight(alike, self.noise[which]) * self.trust[which]
        self.cost[which] = self._cost(which, self.p[which], residual)
        if jacobian is not None:
            self._linearise(running[onward], jacobian)

    def _cost(self, which: Indices, p: Floats, residual: Light) -> Floats:
        squares = (self.weight[which] * residual**2).reshape(len(which), -1).sum(axis=1).astype(float)
        return np.asarray(self.times * squares / self.noise[which] ** 2) + self.belief.take(which).doubt(p)

    def _rows(self, which: Indices, p: Floats) -> tuple[Floats, Floats]:
        """Borders (rows, borders) and columns (rows, columns) of all rows of some fits."""
        borders = placed(self.follows, p)
        return borders.reshape(-1, borders.shape[-1]), np.repeat(self.bands.across[which], borders.shape[1], axis=0)

    def _lit(self, which: Indices, p: Floats) -> _Lit:
        light = self.bands.light[which]
        rows = self.channels.shapes(*self._rows(which, p))
        shapes = rows.reshape(*light.shape[:2], *rows.shape[1:])
        sums = Sums.over(shapes, self.weight[which], light)
        amounts, inverse = self.channels.amounts(sums, self.channels.wall.ridge, self._ink(p)[:, None])
        return _Lit(shapes, amounts, inverse, shown(amounts, shapes) - light)

    def _ink(self, p: Floats) -> Floats:
        """Darkening (fits, channels)."""
        return np.asarray(p @ self.follows[0, :, -1].T)

    def _jacobian(self, which: Indices, p: Floats, lit: _Lit) -> Light:
        """Kaufman's Jacobian (fits, blocks, channels, borders, columns) by the borders of every row."""
        rows = self.channels.changes(*self._rows(which, p))
        fits, blocks, *rest = lit.amounts.shape
        moved = self.channels.moved(lit.amounts.reshape(-1, *rest), rows)
        changes = moved.reshape(fits, blocks, *moved.shape[1:])
        return unexplained(changes, lit.shapes, self.weight[which], lit.inverse)

    def _linearise(self, which: Indices, jacobian: Light) -> None:
        """Hessian and gradient of half the cost over the free parameters."""
        precision = (self.times / self.noise[which] ** 2).astype(np.float32)[:, None, None, None]
        weighted = (self.weight[which] * precision)[..., None, :] * jacobian
        by_borders = weighted @ np.swapaxes(jacobian, -1, -2)
        steep = (weighted @ self.residual[which][..., None])[..., 0]
        follows = self.follows.reshape(-1, self.follows.shape[-1])
        half = (by_borders.astype(float) @ self.follows).reshape(len(which), *follows.shape)
        self.hessian[which] = follows.T @ half
        self.gradient[which] = steep.reshape(len(which), -1).astype(float) @ follows
        self._believe(which)

    def _believe(self, which: Indices) -> None:
        """Add the belief, and leave out what is not free."""
        belief = self.belief.take(which)
        self.hessian[which] *= belief.free[:, None] & belief.free[:, :, None]
        self.hessian[which] += self._prior(which)
        pull = (self.p[which] - belief.mean) / belief.sigma**2
        self.gradient[which] = belief.free * (self.gradient[which] + pull)

    def _prior(self, which: Indices | slice) -> Floats:
        """The belief's share of the Hessian (fits, 12, 12); one for what is not free, so that it can be solved."""
        belief = self.belief.take(which)
        return np.asarray(np.where(belief.free, belief.sigma**-2.0, 1.0)[:, :, None] * np.eye(self.p.shape[1]))

"""What a wall looks like across its edge, and the fit of that picture to the photo.

Rows of a straightened band run across one wall: bare wood of the tail, perhaps a drawn or knifed line, the edge, then
the kerf and the waste beyond (`sawn`), or the socket's floor (`cleared`). Each part has its own light in every row and
channel; the borders are straight, sharp edges seen through the photo's edge profile. A line is a strip that darkens the
wood by the same share all along, square to the face, and is cut off where the saw went: that is how it is told from
the kerf, and why it does not pull the edge toward the tail.

The lights are linear and solved row by row inside the fit of the borders (variable projection: Golub, G. H., Pereyra,
V., SIAM J. Numer. Anal. 10 (1973) 413; the Jacobian is Kaufman's, BIT 15 (1975) 49).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from vision.edge_profile import EdgeProfile

Floats = NDArray[np.float64]

EDGE, SLOPE, KERF, LINE, LINE_SLOPE, LINE_WIDTH = range(6)
INK = slice(6, 9)
FLOOR_LINE = 9
SHADE = 10
PARAMETERS = 11
"""Edge position and slope, kerf width, line position, slope and width, its darkening in three channels, the place of
the line's other half on the floor of a cleared socket, and how much darker the floor is close to the wall. Positions
in mm across the band, slopes in mm per mm."""

_LOWEST = np.array([-3.0, -0.2, 0.2, -3.0, -0.2, 0.04, 0.0, 0.0, 0.0, -1.0, -0.5])
_HIGHEST = np.array([3.0, 0.2, 1.5, 3.0, 0.2, 0.7, 0.95, 0.95, 0.95, 4.0, 0.95])
_SHADE_MM = 0.4
_HUBER = 2.5
_LEAST_NOISE = 0.008
_ALIKE = 6.0
"""Samples across and along a band that grain, blur and compression make say the same thing."""


@dataclass(frozen=True)
class Band:
    """Light relative to the wood (blocks, 3, columns), at `along` (blocks,) and `across` (columns,) in mm.

    `across` grows from the tail to the waste; `along` is measured from mid thickness.
    """

    light: Floats
    along: Floats
    across: Floats


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
    covariance: Floats
    lights: Floats
    residual: Floats = field(repr=False)
    weight: Floats = field(repr=False)


def fit_wall(band: Band, start: Floats, belief: Belief, profile: EdgeProfile, *, kerf: bool, steps: int = 14) -> WallPicture:
    """Fit the borders from `start` (11,); `kerf` tells whether waste lies beyond. `profile` is in mm."""
    problem = _Problem(band, profile, kerf)
    free = np.array(belief.free)
    p = np.clip(start, _LOWEST, _HIGHEST)
    weight = np.ones_like(band.light)
    noise = 0.05
    damping = 1e-3
    state = problem.evaluate(p, weight, free)
    cost = _cost(state.residual, weight, noise, p, belief)
    for _ in range(steps):
        hessian, gradient = _normal_equations(state, weight, noise, p, belief, free)
        accepted = False
        for _ in range(4):
            step = -np.linalg.solve(hessian + damping * np.diag(np.diag(hessian)), gradient)
            trial = p.copy()
            trial[free] = np.clip(trial[free] + step, _LOWEST[free], _HIGHEST[free])
            trial_state = problem.evaluate(trial, weight, free)
            trial_cost = _cost(trial_state.residual, weight, noise, trial, belief)
            if trial_cost < cost:
                accepted = True
                break
            damping *= 6.0
        if not accepted:
            break
        moved = np.abs(trial - p)[:2].max()
        p, state, damping = trial, trial_state, damping * 0.3
        noise = max(1.4826 * float(np.median(np.abs(state.residual))), _LEAST_NOISE)
        weight = np.minimum(1.0, _HUBER * noise / np.maximum(np.abs(state.residual), 1e-9))
        cost = _cost(state.residual, weight, noise, p, belief)
        if moved < 1e-4:
            break
    hessian, _ = _normal_equations(state, weight, noise, p, belief, free)
    doubt = (p - belief.mean) / belief.sigma
    misfit = float(np.abs(state.residual).mean()) + 1e-4
    evidence = 2.0 * state.residual.size / _ALIKE * float(np.log(misfit)) + float(doubt @ doubt)
    covariance = np.zeros((PARAMETERS, PARAMETERS))
    covariance[np.ix_(free, free)] = np.linalg.inv(hessian)
    return WallPicture(p, evidence, noise, covariance, state.lights, state.residual, weight)


@dataclass(frozen=True)
class _State:
    residual: Floats
    lights: Floats
    jacobian: Floats


def _cost(residual: Floats, weight: Floats, noise: float, p: Floats, belief: Belief) -> float:
    doubt = (p - belief.mean) / belief.sigma
    return float(np.sum(weight * residual * residual)) / noise**2 + float(doubt @ doubt)


def _normal_equations(
    state: _State, weight: Floats, noise: float, p: Floats, belief: Belief, free: NDArray[np.int_]
) -> tuple[Floats, Floats]:
    jacobian = state.jacobian.reshape(-1, len(free))
    weighted = jacobian * (weight.ravel() / noise**2)[:, None]
    hessian = weighted.T @ jacobian + np.diag(belief.sigma[free] ** -2.0)
    gradient = weighted.T @ state.residual.ravel() + ((p - belief.mean) / belief.sigma**2)[free]
    return hessian, gradient


class _Problem:
    """The parts' shapes over one band, and the lights that fit best for given borders."""

    def __init__(self, band: Band, profile: EdgeProfile, kerf: bool) -> None:
        self.band, self.profile, self.kerf = band, profile, kerf
        self.u = band.across[None, :]
        self.beyond = 3 if kerf else 1
        self.ridge = self._ridge()

    def _ridge(self) -> Floats:
        """Mild ties between lights: waste like tail, little gradient in the kerf or along the floor."""
        if not self.kerf:
            return np.diag([1e-6, 1e-6, 0.2])
        tie = np.diag([1.0, 0.0, 0.5, 1.0])
        tie[0, 3] = tie[3, 0] = -1.0
        return tie + 1e-6 * np.eye(4)

    def evaluate(self, p: Floats, weight: Floats, free: NDArray[np.int_]) -> _State:
        """Residual (blocks, 3, columns), lights (blocks, 3, parts) and Kaufman's Jacobian (blocks, 3, columns, free)."""
        shapes, changes = self._shapes(p)
        ink, ink_changes = self._ink(p)
        basis = np.repeat(shapes[:, None], 3, axis=1)
        darkening = p[INK][:, None]
        basis[..., 0] -= darkening * ink[0][:, None]
        basis[..., self.beyond] -= darkening * ink[1][:, None]
        weighted = np.swapaxes(basis * weight[..., None], 2, 3)
        inverse = np.linalg.inv(weighted @ basis + self.ridge)
        lights = (inverse @ (weighted @ self.band.light[..., None]))[..., 0]
        residual = (basis @ lights[..., None])[..., 0] - self.band.light
        jacobian = np.stack([self._change(int(i), p, changes, ink, ink_changes, lights) for i in free], axis=-1)
        jacobian -= basis @ (inverse @ (weighted @ jacobian))
        return _State(residual, lights, jacobian)

    def _borders(self, p: Floats) -> tuple[Floats, Floats]:
        edge = (p[EDGE] + p[SLOPE] * self.band.along)[:, None]
        return edge, edge + p[KERF]

    def _shapes(self, p: Floats) -> tuple[Floats, dict[int, Floats]]:
        """Parts (blocks, columns, parts) and their changes with the edge, the kerf's width and the shade."""
        edge, far = self._borders(p)
        tail, d_edge = self.profile.step(edge - self.u), self.profile.slope(edge - self.u)
        if self.kerf:
            waste, d_far = self.profile.step(self.u - far), self.profile.slope(self.u - far)
            inside = 1.0 - tail - waste
            ramp = np.clip((self.u - far + p[KERF] / 2.0) / p[KERF], -0.5, 0.5) * 2.0
            sloping = inside * (np.abs(ramp) < 1.0) * 2.0 / p[KERF]
            with_width = sloping * (0.5 + 0.5 * ramp)
            shapes = np.stack([tail, inside, inside * ramp, waste], axis=2)
            with_edge = np.stack([d_edge, d_far - d_edge, (d_far - d_edge) * ramp - sloping, -d_far], axis=2)
            with_kerf = np.stack([np.zeros_like(tail), d_far, d_far * ramp - with_width, -d_far], axis=2)
            return shapes, {EDGE: with_edge, KERF: with_kerf}
        past = np.maximum(self.u - edge, 0.0)
        near, ramp = np.exp(-past / _SHADE_MM), np.minimum(past, 1.6)
        floor = 1.0 - tail
        lit = 1.0 - p[SHADE] * near
        beside = floor * (self.u > edge)
        shapes = np.stack([tail, floor * lit, floor * ramp], axis=2)
        lit_change = -beside * p[SHADE] * near / _SHADE_MM - d_edge * lit
        ramp_change = -beside * (past < 1.6) - d_edge * ramp
        with_edge = np.stack([d_edge, lit_change, ramp_change], axis=2)
        zero = np.zeros_like(tail)
        return shapes, {EDGE: with_edge, SHADE: np.stack([zero, -floor * near, zero], axis=2)}

    def _ink(self, p: Floats) -> tuple[tuple[Floats, Floats], dict[int, tuple[Floats, Floats]]]:
        """The line's strip on the tail and beyond the edge, and their changes with the borders and the line."""
        edge, far = self._borders(p)
        line = (p[LINE] + p[LINE_SLOPE] * self.band.along)[:, None]
        half = p[LINE_WIDTH] / 2.0
        tail, tail_changes = self._clipped_strip(line - half, line + half, edge)
        if self.kerf:
            mirrored = _Mirror(self)
            beyond, changes = mirrored.strip(line - half, line + half, far)
            beyond_changes = {EDGE: changes["limit"], KERF: changes["limit"], LINE: changes["line"], LINE_WIDTH: changes["width"]}
        else:
            floor_line = line - p[LINE] + p[FLOOR_LINE] + p[EDGE]
            left = np.maximum(floor_line - half, edge)
            right = np.maximum(floor_line + half, edge)
            beyond = self.profile.step(right - self.u) - self.profile.step(left - self.u)
            d_right = self.profile.slope(right - self.u) * (floor_line + half > edge)
            d_left = self.profile.slope(left - self.u) * (floor_line - half > edge)
            shift = d_right - d_left
            beyond_changes = {FLOOR_LINE: shift, EDGE: shift, LINE_WIDTH: 0.5 * (d_right + d_left)}
        zero = np.zeros_like(tail)
        names = {EDGE, KERF, LINE, LINE_WIDTH, FLOOR_LINE}
        return (tail, beyond), {name: (tail_changes.get(name, zero), beyond_changes.get(name, zero)) for name in names}

    def _clipped_strip(self, left: Floats, right: Floats, edge: Floats) -> tuple[Floats, dict[int, Floats]]:
        a, b = np.minimum(left, edge), np.minimum(right, edge)
        strip = self.profile.step(b - self.u) - self.profile.step(a - self.u)
        slope_a, slope_b = self.profile.slope(a - self.u), self.profile.slope(b - self.u)
        free_a, free_b = slope_a * (left < edge), slope_b * (right < edge)
        changes = {
            EDGE: slope_b * (right >= edge) - slope_a * (left >= edge),
            LINE: free_b - free_a,
            LINE_WIDTH: 0.5 * (free_b + free_a),
        }
        return strip, changes

    def _change(
        self,
        index: int,
        p: Floats,
        changes: dict[int, Floats],
        ink: tuple[Floats, Floats],
        ink_changes: dict[int, tuple[Floats, Floats]],
        lights: Floats,
    ) -> Floats:
        """Change of the picture (blocks, 3, columns) with parameter `index`, the lights held."""
        if INK.start <= index < INK.stop:
            change = np.zeros(self.band.light.shape)
            channel = index - INK.start
            change[:, channel] = -self._through(ink, lights)[:, channel]
            return change
        base = {SLOPE: EDGE, LINE_SLOPE: LINE}.get(index, index)
        change = np.zeros(self.band.light.shape)
        if base in ink_changes:
            change = change - p[INK][:, None] * self._through(ink_changes[base], lights)
        if base in changes:
            change = change + lights @ np.swapaxes(changes[base], 1, 2)
        if index == LINE_SLOPE and not self.kerf:
            on_floor = (np.zeros_like(ink[0]), ink_changes[FLOOR_LINE][1])
            change = change - p[INK][:, None] * self._through(on_floor, lights)
        return change if base == index else change * self.band.along[:, None, None]

    def _through(self, strips: tuple[Floats, Floats], lights: Floats) -> Floats:
        """Strips (blocks, columns) on the tail and beyond, lit: (blocks, 3, columns)."""
        return strips[0][:, None] * lights[..., :1] + strips[1][:, None] * lights[..., self.beyond, None]


class _Mirror:
    """A strip cut off from the left by the kerf's far border."""

    def __init__(self, problem: _Problem) -> None:
        self.problem = problem

    def strip(self, left: Floats, right: Floats, limit: Floats) -> tuple[Floats, dict[str, Floats]]:
        profile, u = self.problem.profile, self.problem.u
        a, b = np.maximum(left, limit), np.maximum(right, limit)
        strip = profile.step(u - a) - profile.step(u - b)
        slope_a, slope_b = profile.slope(u - a), profile.slope(u - b)
        free_a, free_b = slope_a * (left > limit), slope_b * (right > limit)
        return strip, {
            "limit": -slope_a * (left <= limit) + slope_b * (right <= limit),
            "line": free_b - free_a,
            "width": 0.5 * (free_b + free_a),
        }


def wall_edge_points(band: Band, parameters: Floats, profile: EdgeProfile, *, kerf: bool) -> tuple[Floats, Floats]:
    """Edge position across (blocks,) in mm row by row, and its information (1/mm^2 at unit noise).

    One Gauss-Newton step of the wall's edge alone in each block from the fitted straight borders: the kerf's far
    border and the line stay where they are.
    """
    problem = _Problem(band, profile, kerf)
    free = np.array([EDGE, KERF] if kerf else [EDGE])
    weight = np.ones_like(band.light)
    state = problem.evaluate(parameters, weight, free)
    noise = max(1.4826 * float(np.median(np.abs(state.residual))), _LEAST_NOISE)
    weight = np.minimum(1.0, _HUBER * noise / np.maximum(np.abs(state.residual), 1e-9))
    edge = parameters[EDGE] + parameters[SLOPE] * band.along
    near = np.abs(band.across[None, :] - edge[:, None]) < 4.0 * profile.blur
    weight = weight * near[:, None, :]
    own = state.jacobian[..., 0] - state.jacobian[..., 1] if kerf else state.jacobian[..., 0]
    information = np.sum(weight * own * own, axis=(1, 2))
    step = -np.sum(weight * own * state.residual, axis=(1, 2)) / (information + 1e-9)
    return edge + np.clip(step, -0.2, 0.2), information

"""Where a wall's edge really runs: its place row by row, once the straight borders are known.

In every short run of rows the edge alone is moved (the kerf's far border and the line stay), with the lights held near
their smooth course along the wall: rings and pores move them a little, not freely.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.edge_profile import EdgeProfile
from vision.wall_parts import EDGE, KERF, SLOPE, Band, Picture, WallParts

Floats = NDArray[np.float64]

_STEPS = 3
_HUBER = 2.5
_LEAST_NOISE = 0.008
_ALIKE = 6.0
"""Samples across a band that grain, blur and compression make say the same thing."""
_SMOOTH_MM = 0.8
"""The lights' course along the wall is smooth over about this length."""
_HOLD_KERF = np.diag([0.3, 1.0, 2.0, 0.3, 4.0, 4.0])
_HOLD_FLOOR = np.diag([0.3, 1.0, 2.0, 4.0, 4.0])
"""How firmly each part's light is held to its course, in samples' worth."""
_NEAR_BLURS = 5.0
_FAR_WEIGHT = 0.3
_LOOSE_MM = 0.1
"""How far one row's edge is expected from the straight border, at most; larger steps are taken in parts."""


@dataclass(frozen=True)
class EdgePoints:
    """Edge places (blocks,) at `along` and their standard deviations, mm; `misfit` is the mean absolute residual."""

    along: Floats
    across: Floats
    sigma: Floats
    misfit: float


def edge_points(band: Band, parameters: Floats, profile: EdgeProfile, *, kerf: bool) -> EdgePoints:
    """The edge's places around the fitted straight borders `parameters` (11,), by a few Gauss-Newton steps."""
    parts = WallParts(band, profile, kerf)
    rough = np.zeros(len(band.along))
    weight = np.ones_like(band.light)
    straight = parameters[EDGE] + parameters[SLOPE] * band.along
    for _ in range(_STEPS):
        residual, own = _residual_and_change(parts, parameters, rough, weight)
        noise = max(1.4826 * float(np.median(np.abs(residual))), _LEAST_NOISE)
        near = np.abs(band.across - (straight + rough)[:, None]) < _NEAR_BLURS * profile.blur
        calm = np.minimum(1.0, _HUBER * noise / np.maximum(np.abs(residual), 1e-9))
        weight = calm * np.where(near, 1.0, _FAR_WEIGHT)[:, None]
        variance = _ALIKE * noise**2
        information = np.sum(weight * own * own, axis=(1, 2)) + variance / _LOOSE_MM**2
        step = -np.sum(weight * own * residual, axis=(1, 2)) / information
        rough = np.clip(rough + np.clip(step, -_LOOSE_MM, _LOOSE_MM), -2.5 * _LOOSE_MM, 2.5 * _LOOSE_MM)
    return EdgePoints(band.along, straight + rough, np.sqrt(variance / information), float(np.abs(residual).mean()))


def _residual_and_change(parts: WallParts, p: Floats, rough: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Residual (blocks, 3, columns) with the best lights, and its change with the wall's edge alone."""
    picture = parts.picture(p, rough)
    basis = picture.basis
    weighted = np.swapaxes(basis * weight[..., None], 2, 3)
    normal = weighted @ basis
    course = _course(parts, normal, weighted)
    inverse = np.linalg.inv(normal + (_HOLD_KERF if parts.kerf else _HOLD_FLOOR))
    off = parts.band.light - (basis @ course[..., None])[..., 0]
    lights = course + (inverse @ (weighted @ off[..., None]))[..., 0]
    residual = (basis @ lights[..., None])[..., 0] - parts.band.light
    own = _edge_change(parts, p, picture, lights)
    own -= (basis @ (inverse @ (weighted @ own[..., None])))[..., 0]
    return residual, own


def _edge_change(parts: WallParts, p: Floats, picture: Picture, lights: Floats) -> Floats:
    change = parts.change(EDGE, p, picture, lights)
    return change - parts.change(KERF, p, picture, lights) if parts.kerf else change


def _course(parts: WallParts, normal: Floats, weighted: Floats) -> Floats:
    """Lights (blocks, 3, parts), each smoothed along the wall with the weight of what is seen of it."""
    raw = (np.linalg.inv(normal + parts.ridge) @ (weighted @ parts.band.light[..., None]))[..., 0]
    seen = np.diagonal(normal, axis1=2, axis2=3) + 0.05
    apart = parts.band.along[:, None] - parts.band.along
    kernel = np.exp(-0.5 * (apart / _SMOOTH_MM) ** 2)
    flat = (len(raw), -1)
    total = kernel @ (seen * raw).reshape(flat)
    return np.asarray((total / (kernel @ seen.reshape(flat))).reshape(raw.shape))

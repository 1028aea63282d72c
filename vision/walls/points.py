"""Where the walls' edges really run: their places row by row, once the straight borders are known.

In every short run of rows the edge alone is moved (the kerf's far border and the line stay), with the lights held near
their smooth course along the wall: rings and pores move them a little, not freely.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from vision.walls.channels import Channels
from vision.walls.lights import Bands, Sums, calm_weight, noise_of, shown, unexplained
from vision.walls.parts import EDGE, INK, SLOPE, placed

Floats = NDArray[np.float64]
Light = NDArray[np.float32]

_STEPS = 3
_ALIKE = 6.0
"""Samples across a band that grain, blur and compression make say the same thing."""
_SMOOTH_MM = 0.8
"""The lights' course along the wall is smooth over about this length."""
_NEAR_BLURS = 5.0
_FAR_WEIGHT = np.float32(0.3)
_LOOSE_MM = 0.1
"""How far one row's edge is expected from the straight border, at most; larger steps are taken in parts."""


class EdgePoints(NamedTuple):
    """Edge places (bands, blocks) across the bands and their standard deviations, mm."""

    across: Floats
    sigma: Floats

    def take(self, which: NDArray[np.bool_]) -> EdgePoints:
        """Those of some of the bands."""
        return EdgePoints(self.across[which], self.sigma[which])


def edge_points(bands: Bands, parameters: Floats, channels: Channels) -> EdgePoints:
    """The edges' places around fitted straight borders `parameters` (bands, 12), by a few Gauss-Newton steps."""
    rough = np.zeros((len(parameters), len(bands.along)))
    seen = bands.sure(np.broadcast_to(bands.seen[:, None, None, :], bands.light.shape).astype(np.float32))
    weight = seen
    straight = parameters[:, EDGE, None] + parameters[:, SLOPE, None] * bands.along
    for _ in range(_STEPS):
        residual, own = _residual_and_change(bands, channels, parameters, rough, weight)
        alike = bands.scattering_alike(residual)
        noise = noise_of(alike, bands.seen)
        near = np.abs(bands.across[:, None] - (straight + rough)[..., None]) < _NEAR_BLURS * channels.wall.profile.blur
        weight = seen * calm_weight(alike, noise) * np.where(near, np.float32(1.0), _FAR_WEIGHT)[:, :, None]
        variance = (_ALIKE * noise**2)[:, None]
        pull = weight * own
        information = (pull * own).sum(axis=(2, 3), dtype=float) + variance / _LOOSE_MM**2
        step = -(pull * residual).sum(axis=(2, 3), dtype=float) / information
        rough = np.clip(rough + np.clip(step, -_LOOSE_MM, _LOOSE_MM), -2.5 * _LOOSE_MM, 2.5 * _LOOSE_MM)
    return EdgePoints(straight + rough, np.sqrt(variance / information))


def _residual_and_change(
    bands: Bands, channels: Channels, p: Floats, rough: Floats, weight: Light
) -> tuple[Light, Light]:
    """Residual (bands, blocks, 3, columns) with the best lights, and its change with the walls' edges alone."""
    wall = channels.wall
    borders = placed(wall.follows(bands.along, 1), p)
    places = borders.reshape(-1, len(wall.own)), bands.flat_across(), rough.reshape(-1, 1)
    shapes = channels.shapes(*places)
    shapes = shapes.reshape(*rough.shape, *shapes.shape[1:])
    sums, ink = Sums.over(shapes, weight, bands.light), p[:, None, INK]
    amounts, inverse = channels.amounts(sums, wall.hold, ink, _course(bands.along, channels, sums, ink))
    moving = channels.edge_changes(*places).reshape(shapes.shape)
    own = unexplained(shown(amounts, moving)[..., None, :], shapes, weight, inverse)
    return shown(amounts, shapes) - bands.light, own[..., 0, :]


def _course(along: Floats, channels: Channels, sums: Sums, ink: Floats) -> Floats:
    """Lights (bands, blocks, 3, parts), smoothed along the wall with the weight of what is seen of each."""
    mixing = channels.mixing(ink)
    raw = channels.lights_of(channels.amounts(sums, channels.wall.ridge, ink)[0], ink)
    seen = ((sums.normal @ mixing) * mixing).sum(axis=-2) + 0.05
    kernel = np.exp(-0.5 * ((along[:, None] - along) / _SMOOTH_MM) ** 2)
    flat = (*seen.shape[:2], -1)
    smooth = kernel @ (seen * raw).reshape(flat) / (kernel @ seen.reshape(flat))
    return np.asarray(smooth.reshape(raw.shape))

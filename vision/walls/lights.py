"""How bright the parts of a picture are: linear least squares in every row and channel of many bands at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.robust import MAD_TO_SD

Floats = NDArray[np.float64]
Light = NDArray[np.float32]

HUBER = 2.5
LEAST_NOISE = 0.008
"""Residuals beyond `HUBER` times the noise lose weight; no photo is believed to have less noise than the least."""
_FAR_OFF = np.float32(1e9)
_TORN_TRUST = 0.1
"""What a block near a face counts for: its edge may be torn, but where the light is poor it shows the way."""


@dataclass(frozen=True)
class Bands:
    """Light relative to the wood (bands, blocks, channels, columns), `along` (blocks,) and `across` (bands, columns).

    Places are in mm: `across` grows from the tail to the waste; `along` is measured from mid thickness. Bands of
    different width are filled up with columns that are not `seen` (bands, columns). Blocks that do not `count`
    (blocks,) lie near a face, where the edge may be torn; None: all count. `precision`, of the light's shape, is how
    many times less a sample is believed to scatter than bare wood; None: all scatter alike.
    """

    light: Light
    along: Floats
    across: Floats
    seen: NDArray[np.bool_]
    counts: NDArray[np.bool_] | None = None
    precision: Light | None = None

    @property
    def trust(self) -> Floats:
        """Weight (blocks,) of each block."""
        return np.ones(len(self.along)) if self.counts is None else np.where(self.counts, 1.0, _TORN_TRUST)

    def take(self, which: NDArray[np.intp]) -> Bands:
        """Some of the bands, in the order of `which`; the same one may come more than once."""
        precision = None if self.precision is None else self.precision[which]
        return Bands(self.light[which], self.along, self.across[which], self.seen[which], self.counts, precision)

    def scattering_alike(self, residual: Light, which: NDArray[np.intp] | slice = slice(None)) -> Light:
        """Residuals of the bands `which`, those of surer samples larger, so that all scatter alike."""
        return residual if self.precision is None else residual * self.precision[which]

    def sure(self, weight: Light, which: NDArray[np.intp] | slice = slice(None)) -> Light:
        """Weights of samples of the bands `which`, larger where they are surer."""
        return weight if self.precision is None else weight * self.precision[which] ** 2

    def merged(self, count: int) -> Bands:
        """The light that counts in `count` blocks, each the mean of neighbours."""
        whole = np.arange(len(self.along)) if self.counts is None else np.flatnonzero(self.counts)
        groups = np.array_split(whole, count)
        light = np.stack([self.light[:, group].mean(axis=1) for group in groups], axis=1)
        along = np.array([self.along[group].mean() for group in groups])
        return Bands(light, along, self.across, self.seen)

    def flat_across(self) -> Floats:
        """Places of the columns, (bands * blocks, columns): one row for each block of each band."""
        return np.repeat(self.across, len(self.along), axis=0)


class Sums(NamedTuple):
    """Weighted sums over columns: `normal` (..., channels, parts, parts) and `with_light` (..., channels, parts)."""

    normal: Floats
    with_light: Floats

    @classmethod
    def over(cls, shapes: Light, weight: Light, light: Light) -> Sums:
        """Of `shapes` (..., channels or 1, parts, columns), with `weight` and `light` (..., channels, columns)."""
        weighted = weight[..., None, :] * shapes
        normal = weighted @ np.swapaxes(shapes, -1, -2)
        return cls(normal.astype(float), (weighted @ light[..., None])[..., 0].astype(float))

    def amounts(self, ties: Floats, near: Floats | float = 0.0) -> tuple[Floats, Floats]:
        """Amounts of the shapes (..., channels, parts), and the inverse of the normal matrix that gave them.

        `ties` (..., channels, parts, parts) draw them to the amounts `near`.
        """
        inverse = inverted(self.normal + ties)
        off = self.with_light[..., None] - (self.normal @ near[..., None] if isinstance(near, np.ndarray) else 0.0)
        return near + (inverse @ off)[..., 0], inverse


def shown(amounts: Floats, shapes: Light) -> Light:
    """Light (..., channels, columns) of `amounts` (..., channels, parts) of `shapes` as in `Sums.over`."""
    return np.asarray((amounts.astype(np.float32)[..., None, :] @ shapes)[..., 0, :])


def unexplained(changes: Light, shapes: Light, weight: Light, inverse: Floats) -> Light:
    """What of `changes` (..., channels, borders, columns) the amounts cannot take up (Kaufman's projection)."""
    sums = (weight[..., None, :] * changes) @ np.swapaxes(shapes, -1, -2)
    return np.asarray(changes - (sums @ inverse.astype(np.float32)) @ shapes)


def noise_of(residual: Light, seen: NDArray[np.bool_]) -> Floats:
    """Standard deviation (bands,) by the median absolute residual over the columns seen, never below the least.

    Columns not seen are filled with as many zeros as huge values, which leave the median where it is.
    """
    size = np.abs(residual)
    if not seen.all():
        odd = np.indices(residual.shape[1:], dtype=np.int32).sum(axis=0) % 2
        size = np.where(seen[:, None, None, :], size, odd * _FAR_OFF)
    flat = size.reshape(len(size), -1)
    middle = flat.shape[1] // 2
    return np.maximum(MAD_TO_SD * np.partition(flat, middle, axis=1)[:, middle].astype(float), LEAST_NOISE)


def calm_weight(residual: Light, noise: Floats) -> Light:
    """Huber's weights of residuals (bands, ...) for their bands' `noise` (bands,)."""
    limit = (HUBER * noise).astype(np.float32).reshape(-1, *(1,) * (residual.ndim - 1))
    return np.asarray(np.minimum(np.float32(1.0), limit / np.maximum(np.abs(residual), np.float32(1e-9))))


def inverted(matrices: Floats) -> Floats:
    """Inverses of many small positive definite matrices (..., n, n), by sweeps over all of them at once.

    Gauss and Jordan's method in place, without pivots (Goodnight, J. H., Am. Stat. 33 (1979) 149).
    """
    size = matrices.shape[-1]
    work = np.ascontiguousarray(np.moveaxis(matrices.reshape(-1, size, size), 0, -1))
    for k in range(size):
        column = work[:, k].copy()
        row = work[k] / column[k]
        row[k] = 1.0 / column[k]
        work[:, k] = 0.0
        work -= column[:, None] * row
        work[k] = row
    return np.ascontiguousarray(np.moveaxis(work, -1, 0)).reshape(matrices.shape)

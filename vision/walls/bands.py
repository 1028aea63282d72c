"""Bands across the walls, cut from the photo at its own scale and averaged into blocks of rows."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import RoughWall
from vision.end.report import narrowing
from vision.photo.strip import Frame, ToImage, sample_grid
from vision.walls.lights import Bands
from vision.walls.tones import light_in_tones, shot_precision

Floats = NDArray[np.float64]
Light = NDArray[np.float32]

INSET_MM = 1.0
"""The wall's line is fitted over the thickness less this much inside each face."""
ARRIS_MM = 0.3
"""Nearer to a face than this nothing is looked at: arrises are worn. From here to `INSET_MM` the edge may be torn."""
ACROSS_MM = 1.1
"""How far into the tail and into the waste a band reaches: wood and floor farther off say more of themselves than of
the edge. Of 0.9 to 1.4, on photos of known truth."""
_LEAST_WASTE_MM = 0.8
_NEXT_CUT_MM = 0.15
_WOOD_MM = -0.5
"""Further into the tail than this a band shows bare wood, for most of its length at least."""


@dataclass(frozen=True)
class WallBands:
    """The straightened light across `walls`: (walls, rows, 3, columns), `along` (rows,) and `across` (walls, columns).

    Lengths in mm; columns not `seen` (walls, columns) fill narrow bands up. The first and the last `torn` rows lie
    between the face and the part of the edge that counts. Light is relative to the `wood` (walls, 3), where it is kept.
    Its channels are red, green and blue, or tones: luma as a `power` of light, and two colour differences.
    """

    walls: list[RoughWall]
    light: Light
    along: Floats
    across: Floats
    seen: NDArray[np.bool_]
    torn: int = 0
    wood: Floats | None = None
    power: float | None = None

    @property
    def length_mm(self) -> float:
        """Length of the part of the edge that counts."""
        return float(self.along[-1 - self.torn] - self.along[self.torn])

    def in_tones(self, power: float) -> WallBands:
        """The same bands in luma, as that `power` of light, and colour.

        Raises ValueError where the wood's light is not kept.
        """
        if self.wood is None:
            raise ValueError("wood must be kept to tell luma from colour")
        return replace(self, light=light_in_tones(self.light, self.wood, power), power=power)

    def blocks(self, count: int, at_ends: int = 1) -> Bands:
        """The bands averaged into `count` blocks of rows that count and `at_ends` at each end."""
        last = len(self.along) - self.torn
        pieces = _pieces(self.torn, last, count)
        if self.torn:
            pieces = _pieces(0, self.torn, at_ends) + pieces + _pieces(last, len(self.along), at_ends)
        light = [_calm_means(self.light[:, rows], each) for rows, each in pieces]
        along = [self.along[rows].reshape(-1, each).mean(axis=1) for rows, each in pieces]
        blocks = np.concatenate(along)
        counts = np.abs(blocks) <= np.abs(self.along[[self.torn, last - 1]]).max()
        means = np.concatenate(light, axis=1)
        precision = None if self.power is None else shot_precision(means, self.power)
        return Bands(means, blocks, self.across, self.seen, counts, precision)


def cut_bands(
    rgb: NDArray[np.uint8], to_image: ToImage, frame: Frame, thickness: float, unit: float, walls: list[RoughWall]
) -> WallBands:
    """The bands across `walls`, sampled at `unit` px per mm from the photo."""
    torn = round((INSET_MM - ARRIS_MM) * unit)
    rows = np.arange(INSET_MM - torn / unit, thickness - INSET_MM + torn / unit, 1.0 / unit)
    low, high = np.array([_room(walls, index) for index in range(len(walls))]).T
    columns = int(np.ceil((low + high).max() * unit))
    across = -low[:, None] + np.arange(columns) / unit
    light, woods = np.empty((len(walls), len(rows), 3, columns), np.float32), np.empty((len(walls), 3))
    for band, wood, wall, places in zip(light, woods, walls, across, strict=True):
        sampled, _ = sample_grid(rgb, _band_to_image(to_image, frame, wall, thickness), places, rows)
        wood[:] = np.maximum(np.median(sampled[:, _bare_wood(places)].reshape(-1, 3), axis=0), 1e-4)
        band[:] = np.moveaxis(sampled / wood.astype(np.float32), 2, 1)
    return WallBands(walls, light, rows - thickness / 2.0, across, across < high[:, None], torn, woods)


def outward(wall: RoughWall) -> float:
    """+1 when the wall's band grows to the right, -1 when it grows to the left."""
    return -narrowing(wall.side)


def _bare_wood(across: Floats) -> NDArray[np.bool_]:
    """The columns `across` (columns,) mm that show bare wood: in a tail too narrow for any, the innermost half."""
    bare = across < _WOOD_MM
    return bare if bare.any() else across <= across[0] / 2.0


def _band_to_image(to_image: ToImage, frame: Frame, wall: RoughWall, thickness: float) -> ToImage:
    """Pixels of places (n, 2) in the wall's band: mm across it, and mm from the show face."""

    def place(points: Floats) -> Floats:
        across, row = points.T
        x = wall.x_mm + wall.lean * (row - thickness / 2.0) + outward(wall) * across
        return to_image(frame.to_plane(np.column_stack([x, row])))

    return place


def _room(walls: list[RoughWall], index: int) -> tuple[float, float]:
    """How far the band may reach into the tail and into the waste before the next cut comes into view."""
    wall = walls[index]
    mate, neighbour = index - int(outward(wall)), index + int(outward(wall))
    into_tail = abs(walls[mate].x_mm - wall.x_mm) / 2.0 if 0 <= mate < len(walls) else ACROSS_MM
    into_waste = ACROSS_MM
    if 0 <= neighbour < len(walls):
        into_waste = abs(walls[neighbour].x_mm - wall.x_mm) - (wall.kerf_mm or 0.0) - _NEXT_CUT_MM
    return min(ACROSS_MM, into_tail), float(np.clip(into_waste, _LEAST_WASTE_MM, ACROSS_MM))


def _pieces(first: int, end: int, count: int) -> list[tuple[slice, int]]:
    """Rows `first` to `end` in `count` blocks: runs of rows, and how many rows each of their blocks holds."""
    longer, size = (end - first) % count, (end - first) // count
    cut = first + longer * (size + 1)
    pieces = [(slice(first, cut), size + 1), (slice(cut, end), size)] if size else [(slice(first, end), 1)]
    return [(rows, each) for rows, each in pieces if rows.stop > rows.start]


def _calm_means(light: Light, size: int) -> Light:
    """Means over blocks of `size` rows of the medians of runs of five; `light` (walls, rows, 3, columns)."""
    walls, _, channels, columns = light.shape
    blocks = light.reshape(walls, -1, size, channels, columns)
    if size < 5:
        return _middle_of_few(blocks)
    runs = blocks[:, :, : size // 5 * 5].reshape(walls, -1, size // 5, 5, channels, columns)
    return np.asarray(_middle_of_five(runs).mean(axis=2))


def _middle_of_few(rows: Light) -> Light:
    """Median over axis 2, which holds at most four: the mean of what is left without the largest and the smallest."""
    total, count = rows.sum(axis=2), rows.shape[2]
    if count < 3:
        return np.asarray(total / np.float32(count))
    return np.asarray((total - rows.max(axis=2) - rows.min(axis=2)) / np.float32(count - 2))


def _middle_of_five(runs: Light) -> Light:
    """Median over axis 3, which holds five, by comparing pairs: far faster than sorting."""
    a, b, c, d, e = (runs[:, :, :, i] for i in range(5))
    low = np.maximum(np.minimum(a, b), np.minimum(c, d))
    high = np.minimum(np.maximum(a, b), np.maximum(c, d))
    return np.maximum(np.minimum(low, high), np.minimum(np.maximum(low, high), e))

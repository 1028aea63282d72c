"""Bands across the walls on a face, cut along their slope, for the same fit as the walls of an end.

On a face a cut is the same picture as on an end (tail, perhaps a drawn line, edge, kerf, waste), but sheared by the
slope of the tails. The bands are sheared by the board's usual slope, along which the lines were drawn as well, so that
what is left for the fit is how far each wall departs from it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import RoughWall
from vision.end.report import narrowing
from vision.face.cuts import RoughKerf
from vision.photo.strip import Frame, ToImage, sample_grid
from vision.walls.bands import INSET_MM, WallBands, outward
from vision.walls.fit import LineFit
from vision.walls.measure import MeasuredWall

Floats = NDArray[np.float64]

_ACROSS_MM = 1.4
_LEAST_WASTE_MM, _NEXT_CUT_MM = 0.8, 0.15
_WOOD_MM = -0.5
_USUAL_THICKNESS_MM = 19.0
"""Thickness of a board as far as the sight of its tails' own sides is concerned (common practice, no source)."""
_OPEN_U, _SIDE_DOUBT, _WIDEST_DOUBT_MM, _SEEN_DOUBT_MM = np.radians(0.21), 0.4, 0.6, 0.28
"""Beside an open wall the bench, its shadow, slivers of drawn lines and the tail's own side are seen, which the wall's
picture does not know: the slope's standard uncertainty anyway; the share of the side's width by which the edge may run
wrong; how much of that width counts, and how much where the band ends on the side (28 open walls of two rendered
boards)."""
_LEVER = 3.5
"""What a doubt of the slope is worth in the place at mid depth: an edge that runs wrong is wrong at one end."""


@dataclass(frozen=True)
class Slanted:
    """The bands' depth (mm from the end) and the slope dx/dy of every wall's band, by (tail, side).

    The camera is over `overhead_x_mm`, `overhead_mm` above the face.
    """

    depth_mm: float
    slopes: dict[tuple[int, str], float]
    overhead_x_mm: float = 0.0
    overhead_mm: float = float("inf")

    @classmethod
    def of(cls, kerfs: Sequence[RoughKerf], depth_mm: float, overhead: tuple[float, float]) -> Slanted:
        """Bands along the usual slope: left walls of tails lean right by it, right walls left."""
        usual = float(np.median([narrowing(kerf.side) * kerf.slope for kerf in kerfs]))
        return cls(depth_mm, {(kerf.tail, kerf.side): narrowing(kerf.side) * usual for kerf in kerfs}, *overhead)

    def walls(self, kerfs: Sequence[RoughKerf]) -> list[RoughWall]:
        """The kerfs as walls at mid depth, their leans counted from the band's slope."""
        middle = self.depth_mm / 2.0
        return [
            RoughWall(k.tail, k.side, k.x_mm + k.slope * middle, k.slope - self.slopes[k.tail, k.side], k.kerf_mm)
            for k in kerfs
        ]

    def line_of(self, wall: MeasuredWall) -> LineFit:
        """The wall's line x(y - depth / 2) in the face's frame."""
        slope, line = self.slopes[wall.wall.tail, wall.wall.side], wall.line
        doubt = self._open_doubt(wall.wall)
        slope_u = float(np.hypot(line.slope_u, doubt))
        level_u = float(np.hypot(line.level_u, doubt * self.depth_mm / _LEVER))
        line = replace(line, slope_u=slope_u, level_u=level_u)
        return replace(line, level=line.level + slope * line.middle, slope=line.slope + slope)

    def _open_doubt(self, wall: RoughWall) -> float:
        """Standard uncertainty of an open wall's slope, from what lies beside it and is not in the picture's model."""
        if wall.kerf_mm is not None:
            return 0.0
        own_side = self.own_side_mm(wall)
        doubtful = min(own_side, _WIDEST_DOUBT_MM) if own_side < _LEAST_WASTE_MM + _NEXT_CUT_MM else _SEEN_DOUBT_MM
        return float(np.hypot(_OPEN_U, _SIDE_DOUBT * doubtful / self.depth_mm))

    def cut(
        self, rgb: NDArray[np.uint8], to_image: ToImage, frame: Frame, unit: float, walls: list[RoughWall]
    ) -> WallBands:
        """The bands across `walls`, sampled at `unit` px per mm from the photo."""
        rows = np.arange(INSET_MM, self.depth_mm - INSET_MM, 1.0 / unit)
        low, high = np.array([self._room(walls, index) for index in range(len(walls))]).T
        columns = int(np.ceil((low + high).max() * unit))
        across = -low[:, None] + np.arange(columns) / unit
        light = np.empty((len(walls), len(rows), 3, columns), np.float32)
        for band, wall, places in zip(light, walls, across, strict=True):
            sampled, _ = sample_grid(rgb, self._band_to_image(to_image, frame, wall), places, rows)
            wood = np.median(sampled[:, places < _WOOD_MM].reshape(-1, 3), axis=0)
            band[:] = np.moveaxis(sampled / np.maximum(wood, 1e-4), 2, 1)
        return WallBands(walls, light, rows - self.depth_mm / 2.0, across, across < high[:, None])

    def _band_to_image(self, to_image: ToImage, frame: Frame, wall: RoughWall) -> ToImage:
        slope = self.slopes[wall.tail, wall.side] + wall.lean

        def place(points: Floats) -> Floats:
            across, row = points.T
            x = wall.x_mm + slope * (row - self.depth_mm / 2.0) + outward(wall) * across
            return to_image(frame.to_plane(np.column_stack([x, row])))

        return place

    def _room(self, walls: list[RoughWall], index: int) -> tuple[float, float]:
        """How far the band may reach into the tail and into the waste, the neighbours' nearest ends kept out."""
        wall = walls[index]
        mate, neighbour = index - int(outward(wall)), index + int(outward(wall))
        into_tail = into_waste = _ACROSS_MM
        if 0 <= mate < len(walls):
            into_tail = self._nearest(wall, walls[mate]) / 2.0
        if 0 <= neighbour < len(walls):
            into_waste = self._nearest(wall, walls[neighbour]) - (wall.kerf_mm or 0.0) - _NEXT_CUT_MM
        own_side = self.own_side_mm(wall)
        if own_side > _LEAST_WASTE_MM:
            into_waste = min(into_waste, own_side - _NEXT_CUT_MM)
        return min(_ACROSS_MM, into_tail), float(np.clip(into_waste, _LEAST_WASTE_MM, _ACROSS_MM))

    def own_side_mm(self, wall: RoughWall) -> float:
        """How wide the tail's own side, down to the bench, is seen beside its edge; 0 when the waste hides it."""
        if wall.kerf_mm is not None:
            return 0.0
        share = _USUAL_THICKNESS_MM / (self.overhead_mm + _USUAL_THICKNESS_MM)
        return max(0.0, outward(wall) * (self.overhead_x_mm - wall.x_mm) * share)

    def _nearest(self, one: RoughWall, other: RoughWall) -> float:
        """The least distance of two walls within the bands."""
        turning = self.slopes[one.tail, one.side] - self.slopes[other.tail, other.side]
        return abs(one.x_mm - other.x_mm) - abs(turning) * (self.depth_mm / 2.0 - INSET_MM)

"""Every wall's edge, measured: bands across the walls, the model fitted alone and then with what the walls share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.edge_profile import EdgeProfile
from vision.find_walls import RoughWall
from vision.fit import LineFit, fit_line
from vision.strip import Frame, ToImage, sample_points
from vision.wall_model import (
    EDGE,
    FLOOR_LINE,
    INK,
    KERF,
    LINE,
    LINE_SLOPE,
    LINE_WIDTH,
    PARAMETERS,
    SHADE,
    SLOPE,
    Band,
    Belief,
    WallPicture,
    fit_wall,
    wall_edge_points,
)

Floats = NDArray[np.float64]

INSET_MM = 1.0
"""The wall's line is fitted over the thickness less this much inside each face."""
_ACROSS_MM = 1.4
_COARSE_BLOCKS = 8
_MIDDLE_BLOCKS = 16
_FINE_MM = 0.2
_FAR_AWAY = 4.0
_PLAIN = (EDGE, SLOPE)
_LINE = (LINE, LINE_SLOPE, LINE_WIDTH, INK.start, INK.start + 1, INK.start + 2)
_WORTH_A_LINE = 8.0
_UNLIKELY_LINE = 60.0
_LINES_ON = 0.35


@dataclass(frozen=True)
class WallBand:
    """The straightened light across one wall, (rows, 3, columns), and where it lies: rough x and lean in the end frame."""

    wall: RoughWall
    light: Floats
    along: Floats
    across: Floats

    def blocks(self, count: int) -> Band:
        """The band averaged into `count` blocks of rows (medians of short runs, so that specks do not count)."""
        parts = np.array_split(np.arange(len(self.along)), min(count, len(self.along)))
        light = np.array([_calm_mean(self.light[part]) for part in parts])
        return Band(light, np.array([self.along[part].mean() for part in parts]), self.across)


@dataclass(frozen=True)
class MeasuredWall:
    """One wall's edge: the line x(y - T/2) in the end frame, the model behind it, and edge points for drawing."""

    wall: RoughWall
    line: LineFit
    picture: WallPicture
    y: Floats
    x: Floats


def cut_bands(
    rgb: NDArray[np.uint8], to_image: ToImage, frame: Frame, thickness: float, unit: float, walls: list[RoughWall]
) -> list[WallBand]:
    """The bands across `walls`, sampled at `unit` px per mm from the photo."""
    rows = np.arange(INSET_MM, thickness - INSET_MM, 1.0 / unit)
    along = rows - thickness / 2.0
    bands = []
    for index, wall in enumerate(walls):
        outward = _outward(wall)
        low, high = _room(walls, index)
        across = np.arange(-low, high, 1.0 / unit)
        x = wall.x_mm + wall.lean * along[:, None] + outward * across[None, :]
        grid = np.stack([x, np.broadcast_to(rows[:, None], x.shape)], axis=-1)
        pixels = to_image(frame.to_plane(grid.reshape(-1, 2))).reshape(grid.shape)
        light, _ = sample_points(rgb, pixels)
        wood = np.median(light[:, across < -0.5], axis=(0, 1))
        relative = np.moveaxis(light.astype(float) / np.maximum(wood, 1e-4), 2, 1)
        bands.append(WallBand(wall, relative, along, across))
    return bands


def measure_walls(
    cut: Callable[[list[RoughWall]], list[WallBand]], walls: list[RoughWall], profile: EdgeProfile
) -> list[MeasuredWall]:
    """The edges of all walls; `cut` makes their bands, `profile` is in mm.

    What the walls share (kerf width, colour and width of the drawn line) is learned in a first round; for the second,
    the bands are cut again along the edges found.
    """
    bands = cut(walls)
    coarse = [band.blocks(_COARSE_BLOCKS) for band in bands]
    plain = [_plain_fit(blocks, band.wall, profile) for blocks, band in zip(coarse, bands, strict=True)]
    first = _best_fits(coarse, bands, plain, _first_belief(plain), profile)
    shared = _shared_belief(first)
    bands = cut([_moved(band.wall, picture) for band, picture in zip(bands, first, strict=True)])
    coarse = [band.blocks(_COARSE_BLOCKS) for band in bands]
    second = _best_fits(coarse, bands, [_recentred(picture) for picture in first], shared, profile)
    last = [_close_fit(band, picture, shared, profile) for band, picture in zip(bands, second, strict=True)]
    return [_finish(band, picture, profile) for band, picture in zip(bands, last, strict=True)]


def _moved(wall: RoughWall, picture: WallPicture) -> RoughWall:
    """The wall where the picture has it."""
    outward = _outward(wall)
    edge, slope = picture.parameters[[EDGE, SLOPE]]
    kerf = None if wall.kerf_mm is None else float(picture.parameters[KERF])
    return replace(wall, x_mm=wall.x_mm + outward * edge, lean=wall.lean + outward * slope, kerf_mm=kerf)


def _recentred(picture: WallPicture) -> WallPicture:
    """The picture in a band cut along its own edge."""
    p = picture.parameters
    shift = _with(p, (EDGE, 0.0), (SLOPE, 0.0), (LINE, p[LINE] - p[EDGE]), (LINE_SLOPE, p[LINE_SLOPE] - p[SLOPE]))
    return replace(picture, parameters=shift)


def _room(walls: list[RoughWall], index: int) -> tuple[float, float]:
    """How far the band may reach into the tail and into the waste before the next cut comes into view."""
    wall = walls[index]
    outward = 1 if wall.side == "right" else -1
    mate, neighbour = index - outward, index + outward
    into_tail = abs(walls[mate].x_mm - wall.x_mm) / 2.0 if 0 <= mate < len(walls) else _ACROSS_MM
    into_waste = _ACROSS_MM
    if 0 <= neighbour < len(walls):
        into_waste = abs(walls[neighbour].x_mm - wall.x_mm) - (wall.kerf_mm or 0.0) - 0.15
    return min(_ACROSS_MM, into_tail), float(np.clip(into_waste, 0.8, _ACROSS_MM))


def _calm_mean(rows: Floats) -> Floats:
    """Mean over rows (n, ...) of the medians of runs of five."""
    if len(rows) < 5:
        return np.median(rows, axis=0)
    usable = rows[: len(rows) // 5 * 5].reshape(-1, 5, *rows.shape[1:])
    return np.asarray(np.median(usable, axis=1).mean(axis=0))


@dataclass(frozen=True)
class _Shared:
    """What all walls of a board have in common: kerf width, and width and darkening of the drawn line."""

    mean: Floats
    sigma: Floats
    lines: bool | None = None

    def belief(self, wall: RoughWall, free: tuple[int, ...]) -> Belief:
        """Belief for one wall: lines are drawn square to the face, walls lean a little."""
        mean, sigma = self.mean.copy(), self.sigma.copy()
        mean[SLOPE] = mean[LINE_SLOPE] = _square(wall)
        return Belief(mean, sigma, free)


def _outward(wall: RoughWall) -> float:
    """+1 when the band grows to the right, -1 when it grows to the left."""
    return 1.0 if wall.side == "right" else -1.0


def _square(wall: RoughWall) -> float:
    """Slope, in the band, of a line square to the datum."""
    return -_outward(wall) * wall.lean


def _nothing_known() -> _Shared:
    mean = np.array([0.0, 0.0, 0.58, -0.1, 0.0, 0.3, 0.0, 0.0, 0.0, _FAR_AWAY, 0.0])
    sigma = np.array([0.4, 0.02, 0.12, 0.4, 0.004, 0.1, 0.5, 0.5, 0.5, 5.0, 0.3])
    return _Shared(mean, sigma)


def _first_belief(plain: list[WallPicture]) -> _Shared:
    """Kerf width from the slimmer half of the plain fits: a line beside a kerf makes it look wider."""
    belief = _nothing_known()
    belief.mean[KERF] = float(np.percentile([picture.parameters[KERF] for picture in plain], 35))
    belief.sigma[KERF] = 0.05
    return belief


def _shared_belief(pictures: list[WallPicture]) -> _Shared:
    """Medians over the walls; lines are drawn beside most walls of a board or beside none."""
    belief = _nothing_known()
    parameters = np.array([picture.parameters for picture in pictures])
    belief.mean[KERF], belief.sigma[KERF] = float(np.median(parameters[:, KERF])), 0.02
    dark = parameters[:, INK].max(axis=1) > 0.25
    if dark.sum() >= max(2.0, _LINES_ON * len(pictures)):
        belief.mean[INK], belief.sigma[INK] = np.median(parameters[dark][:, INK], axis=0), 0.08
        belief.mean[LINE_WIDTH], belief.sigma[LINE_WIDTH] = float(np.median(parameters[dark][:, LINE_WIDTH])), 0.04
        return replace(belief, lines=True)
    return replace(belief, lines=False)


def _plain_fit(blocks: Band, wall: RoughWall, profile: EdgeProfile) -> WallPicture:
    """Edge and kerf alone, no line, in the brightest channel, where coloured ink hardly shows."""
    shared = _nothing_known()
    start = shared.mean.copy()
    if wall.kerf_mm is not None:
        start[KERF] = wall.kerf_mm
    brightest = np.repeat(blocks.light.max(axis=1, keepdims=True), 3, axis=1)
    calm = Band(brightest, blocks.along, blocks.across)
    starts = [start, _with(start, (SLOPE, _square(wall)))]
    fits = [_fit(calm, wall, start, shared, False, profile) for start in starts]
    return min(fits, key=lambda picture: picture.cost)


def _best_fits(
    coarse: list[Band], bands: list[WallBand], earlier: list[WallPicture], shared: _Shared, profile: EdgeProfile
) -> list[WallPicture]:
    return [
        _best_fit(blocks, band.wall, picture, shared, profile)
        for blocks, band, picture in zip(coarse, bands, earlier, strict=True)
    ]


def _best_fit(
    blocks: Band, wall: RoughWall, earlier: WallPicture, shared: _Shared, profile: EdgeProfile
) -> WallPicture:
    """The cheapest of the explanations: no line, or a line here or there; a line must be worth its parameters."""
    without = _with(earlier.parameters, (INK, 0.0), (FLOOR_LINE, _FAR_AWAY))
    best = _fit(blocks, wall, without, shared, False, profile)
    price = _WORTH_A_LINE if shared.lines is None else 0.0 if shared.lines else _UNLIKELY_LINE
    for start in _line_starts(wall, earlier.parameters, shared):
        picture = _fit(blocks, wall, start, shared, True, profile)
        if picture.cost < best.cost - price:
            best, price = picture, 0.0
    if wall.kerf_mm is None and best.parameters[INK].any():
        best = _with_floor_line(blocks, wall, best, shared, profile)
    return best


def _line_starts(wall: RoughWall, earlier: Floats, shared: _Shared) -> list[Floats]:
    """Starts with a line: beside the edge as found, or between it and an edge deeper in the dark."""
    ink = shared.mean[INK] if shared.mean[INK].any() else np.full(3, 0.4)
    base = _with(earlier, (INK, ink), (LINE_WIDTH, shared.mean[LINE_WIDTH]), (LINE_SLOPE, _square(wall)))
    if earlier[INK].any():
        edges = [(0.0, earlier[LINE] - earlier[EDGE])]
    else:
        edges = []
    if wall.kerf_mm is not None:
        far = earlier[EDGE] + earlier[KERF]
        inner = far - shared.mean[KERF] - earlier[EDGE]
        edges += [(inner, -0.3), (inner, -0.1), (inner, 0.08), (0.0, shared.mean[KERF] + 0.12)]
    else:
        edges += [(0.0, -0.3), (0.0, -0.12), (0.0, 0.05), (0.25, -0.15), (0.25, 0.05), (-0.2, 0.05)]
    starts = []
    for shift, place in edges:
        edge = earlier[EDGE] + shift
        starts.append(_with(base, (EDGE, edge), (LINE, edge + place)))
        if wall.kerf_mm is None and shift == 0.0 and place > -0.2:
            starts.append(_with(starts[-1], (FLOOR_LINE, 0.15)))
        if wall.kerf_mm is not None:
            starts[-1][KERF] = shared.mean[KERF]
    return starts


def _with_floor_line(
    blocks: Band, wall: RoughWall, best: WallPicture, shared: _Shared, profile: EdgeProfile
) -> WallPicture:
    for place in (0.2, 0.5, 0.9):
        start = _with(best.parameters, (FLOOR_LINE, place))
        picture = _fit(blocks, wall, start, shared, True, profile)
        if picture.cost < best.cost - _WORTH_A_LINE:
            best = picture
    return best


def _with(parameters: Floats, *changes: tuple[int | slice, float | Floats]) -> Floats:
    """The parameters with some of them replaced."""
    changed = parameters.copy()
    for index, value in changes:
        changed[index] = value
    return changed


def _fit(
    blocks: Band, wall: RoughWall, start: Floats, shared: _Shared, line: bool, profile: EdgeProfile
) -> WallPicture:
    kerf = wall.kerf_mm is not None
    free: tuple[int, ...] = (*_PLAIN, KERF) if kerf else (*_PLAIN, SHADE)
    if line:
        free += _LINE
    if start[FLOOR_LINE] < 2.0:
        free += (FLOOR_LINE,)
    return fit_wall(blocks, start, shared.belief(wall, free), profile, kerf=kerf)


def _close_fit(band: WallBand, picture: WallPicture, shared: _Shared, profile: EdgeProfile) -> WallPicture:
    line = bool(picture.parameters[INK].any())
    return _fit(band.blocks(_MIDDLE_BLOCKS), band.wall, picture.parameters, shared, line, profile)


def _finish(band: WallBand, picture: WallPicture, profile: EdgeProfile) -> MeasuredWall:
    count = max(8, int((band.along[-1] - band.along[0]) / _FINE_MM))
    blocks = band.blocks(count)
    edge, _ = wall_edge_points(blocks, picture.parameters, profile, kerf=band.wall.kerf_mm is not None)
    outward = _outward(band.wall)
    x = band.wall.x_mm + band.wall.lean * blocks.along + outward * edge
    return MeasuredWall(band.wall, fit_line(blocks.along, x), picture, blocks.along, x)

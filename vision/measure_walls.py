"""Every wall's edge, measured: bands across the walls, the model fitted alone and then with what the walls share."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.edge_profile import EdgeProfile
from vision.find_walls import RoughWall
from vision.fit import LineFit
from vision.rough_line import fit_rough_line
from vision.strip import Frame, ToImage, sample_points
from vision.wall_model import Belief, WallPicture, fit_wall
from vision.wall_parts import EDGE, FLOOR_LINE, INK, KERF, LINE, LINE_SLOPE, LINE_WIDTH, SHADE, SLOPE, Band
from vision.wall_points import edge_points

Floats = NDArray[np.float64]

INSET_MM = 1.0
"""The wall's line is fitted over the thickness less this much inside each face."""
_ACROSS_MM = 1.4
_COARSE_BLOCKS = 8
_FINE_MM = 0.2
_FAR_AWAY = 4.0
_FLOOR_ENDS = 2.0
_FLOOR_PLACES = (0.2, 0.5, 0.9)
_PLAIN = (EDGE, SLOPE)
_LINE = (LINE, LINE_SLOPE, LINE_WIDTH, INK.start, INK.start + 1, INK.start + 2)
_WORTH_A_LINE = 8.0
_UNLIKELY_LINE = 60.0
_LINES_ON = 0.35
_FIRST_STEPS = 3
_FINISHED = 3
_RIVAL_COST = 40.0
_SAME_EDGE_MM, _SAME_SLOPE, _SAME_LINE_MM = 0.01, 0.001, 0.03

_PLAIN_U_RAD = math.radians(0.03)
_ALIKE_POINTS = 3.1
_DISAGREEMENT = 0.7
_RIVALRY = 2.5
_PATIENCE = 4.0
"""The slope's standard uncertainty, from four independent things: what remains on the best walls; the edge points'
own, times a factor because grain, blur and compression are alike over more samples than a fit can see; the difference
between the straight model and the points; and the spread of rival explanations, each weighted by exp(-cost / 2 /
`_PATIENCE`). The factors make 95 % of the errors fall inside two of it, by maximum likelihood with long-tailed errors
over photos with known truth."""


@dataclass(frozen=True)
class WallBand:
    """The straightened light across one wall, (rows, 3, columns), `along` and `across` it in mm."""

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
    first = [rivals[0].picture for rivals in _explain(coarse, bands, plain, _first_belief(plain), profile)]
    bands = cut([_moved(band.wall, picture) for band, picture in zip(bands, first, strict=True)])
    coarse = [band.blocks(_COARSE_BLOCKS) for band in bands]
    second = _explain(coarse, bands, [_recentred(picture) for picture in first], _shared_belief(first), profile)
    return [_finish(band, rivals, profile) for band, rivals in zip(bands, second, strict=True)]


def _moved(wall: RoughWall, picture: WallPicture) -> RoughWall:
    """The wall where the picture has it."""
    outward = _outward(wall)
    edge, slope = picture.parameters[[EDGE, SLOPE]]
    kerf = None if wall.kerf_mm is None else float(picture.parameters[KERF])
    return replace(wall, x_mm=wall.x_mm + outward * edge, lean=wall.lean + outward * slope, kerf_mm=kerf)


def _recentred(picture: WallPicture) -> WallPicture:
    """The picture in a band cut along its own edge."""
    p = picture.parameters
    centred = _with(p, (EDGE, 0.0), (SLOPE, 0.0), (LINE, p[LINE] - p[EDGE]), (LINE_SLOPE, p[LINE_SLOPE] - p[SLOPE]))
    return replace(picture, parameters=_with(centred, (FLOOR_LINE, p[FLOOR_LINE] - p[EDGE])))


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
    fits = [_fit(calm, wall, start, shared, profile) for start in starts]
    return min(fits, key=lambda picture: picture.cost)


@dataclass(frozen=True)
class _Rival:
    """One explanation of a band and what it costs, the doubt about a line included."""

    picture: WallPicture
    cost: float


def _explain(
    coarse: list[Band], bands: list[WallBand], earlier: list[WallPicture], shared: _Shared, profile: EdgeProfile
) -> list[list[_Rival]]:
    return [
        _rivals(blocks, band.wall, picture, shared, profile)
        for blocks, band, picture in zip(coarse, bands, earlier, strict=True)
    ]


def _rivals(blocks: Band, wall: RoughWall, earlier: WallPicture, shared: _Shared, profile: EdgeProfile) -> list[_Rival]:
    """Explanations from the cheapest up: no line, or a line here or there, which must be worth its parameters."""
    without = _with(earlier.parameters, (INK, 0.0), (FLOOR_LINE, _FAR_AWAY))
    starts = [without, *_line_starts(wall, earlier.parameters, shared)]
    rivals = _tried(blocks, wall, starts, shared, profile)
    if wall.kerf_mm is None and rivals[0].picture.parameters[INK].any():
        best = rivals[0].picture.parameters
        more = [_with(best, (FLOOR_LINE, best[EDGE] + place)) for place in _FLOOR_PLACES]
        rivals = sorted(rivals + _tried(blocks, wall, more, shared, profile), key=lambda rival: rival.cost)
    return _distinct(rivals)


def _tried(blocks: Band, wall: RoughWall, starts: list[Floats], shared: _Shared, profile: EdgeProfile) -> list[_Rival]:
    """A few steps from every start, all steps from the most promising (one, while little is known); cheapest first."""
    prices = [_price(start, shared) for start in starts]
    begun = [_fit(blocks, wall, start, shared, profile, steps=_FIRST_STEPS) for start in starts]
    finished = 1 if shared.lines is None else _FINISHED
    order = np.argsort([picture.cost + price for picture, price in zip(begun, prices, strict=True)])[:finished]
    done = [(_fit(blocks, wall, begun[i].parameters, shared, profile), prices[i]) for i in order]
    return sorted((_Rival(picture, picture.cost + price) for picture, price in done), key=lambda rival: rival.cost)


def _price(start: Floats, shared: _Shared) -> float:
    """What an explanation pays for its line, and for the line's other half on the floor."""
    if not start[INK].any():
        return 0.0
    line = _WORTH_A_LINE if shared.lines is None else 0.0 if shared.lines else _UNLIKELY_LINE
    return line + (_WORTH_A_LINE if start[FLOOR_LINE] < _FLOOR_ENDS else 0.0)


def _distinct(rivals: list[_Rival]) -> list[_Rival]:
    """Those not much dearer than the cheapest that differ from all cheaper ones."""
    kept: list[_Rival] = []
    for rival in rivals:
        if rival.cost < rivals[0].cost + _RIVAL_COST and not any(_alike(rival, other) for other in kept):
            kept.append(rival)
    return kept


def _alike(one: _Rival, other: _Rival) -> bool:
    apart = np.abs(one.picture.parameters - other.picture.parameters)
    same_line = apart[LINE] < _SAME_LINE_MM or not (one.picture.parameters + other.picture.parameters)[INK].any()
    return bool(apart[EDGE] < _SAME_EDGE_MM and apart[SLOPE] < _SAME_SLOPE and same_line)


def _line_starts(wall: RoughWall, earlier: Floats, shared: _Shared) -> list[Floats]:
    """Starts with a line: beside the edge as found, or between it and an edge deeper in the dark."""
    ink = shared.mean[INK] if shared.mean[INK].any() else np.full(3, 0.4)
    base = _with(earlier, (INK, ink), (LINE_WIDTH, shared.mean[LINE_WIDTH]), (LINE_SLOPE, _square(wall)))
    edges = [(0.0, earlier[LINE] - earlier[EDGE])] if earlier[INK].any() else []
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
            starts.append(_with(starts[-1], (FLOOR_LINE, edge + 0.15)))
        if wall.kerf_mm is not None:
            starts[-1][KERF] = shared.mean[KERF]
    return starts


def _with(parameters: Floats, *changes: tuple[int | slice, float | Floats]) -> Floats:
    """The parameters with some of them replaced."""
    changed = parameters.copy()
    for index, value in changes:
        changed[index] = value
    return changed


def _fit(
    blocks: Band, wall: RoughWall, start: Floats, shared: _Shared, profile: EdgeProfile, *, steps: int = 14
) -> WallPicture:
    """The fit from `start`; a start with ink has its line fitted, one with a line on the floor that too."""
    kerf = wall.kerf_mm is not None
    free: tuple[int, ...] = (*_PLAIN, KERF) if kerf else (*_PLAIN, SHADE)
    if start[INK].any():
        free += _LINE
    if start[FLOOR_LINE] < _FLOOR_ENDS:
        free += (FLOOR_LINE,)
    return fit_wall(blocks, start, shared.belief(wall, free), profile, kerf=kerf, steps=steps)


def _finish(band: WallBand, rivals: list[_Rival], profile: EdgeProfile) -> MeasuredWall:
    """The edge by the cheapest explanation, its slope midway between the straight model's and the points'."""
    count = max(8, int((band.along[-1] - band.along[0]) / _FINE_MM))
    blocks = band.blocks(count)
    lines, points = zip(*(_edge_line(band, blocks, rival.picture, profile) for rival in rivals), strict=True)
    return MeasuredWall(band.wall, _doubted(lines, rivals), rivals[0].picture, blocks.along, points[0])


def _edge_line(band: WallBand, blocks: Band, picture: WallPicture, profile: EdgeProfile) -> tuple[LineFit, Floats]:
    """One explanation's edge line and points x in the end frame."""
    wall, outward = band.wall, _outward(band.wall)
    seen = edge_points(blocks, picture.parameters, profile, kerf=wall.kerf_mm is not None)
    x = wall.x_mm + wall.lean * blocks.along + outward * seen.across
    line = fit_rough_line(blocks.along, x, seen.sigma)
    model = wall.lean + outward * float(picture.parameters[SLOPE])
    u = math.sqrt(_PLAIN_U_RAD**2 + (_ALIKE_POINTS * line.slope_u) ** 2 + (_DISAGREEMENT * (line.slope - model)) ** 2)
    return replace(line, slope=(line.slope + model) / 2.0, slope_u=u, level_u=_ALIKE_POINTS * line.level_u), x


def _doubted(lines: tuple[LineFit, ...], rivals: list[_Rival]) -> LineFit:
    """The first line, with the spread of all of them in its uncertainty."""
    cost = np.array([rival.cost for rival in rivals])
    weight = np.exp(-0.5 * (cost - cost[0]) / _PATIENCE)
    weight /= weight.sum()
    slope_spread = weight @ (np.array([line.slope for line in lines]) - lines[0].slope) ** 2
    level_spread = weight @ (np.array([line.level for line in lines]) - lines[0].level) ** 2
    return replace(
        lines[0],
        slope_u=math.sqrt(lines[0].slope_u ** 2 + _RIVALRY**2 * float(slope_spread)),
        level_u=math.sqrt(lines[0].level_u ** 2 + _RIVALRY**2 * float(level_spread)),
    )

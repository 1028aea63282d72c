"""Every wall's edge, measured: bands across the walls, the model fitted alone and then with what the walls share."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import RoughWall
from vision.photo.edge_profile import EdgeProfile
from vision.walls.bands import WallBands, outward
from vision.walls.fit import LineFit
from vision.walls.lights import Bands
from vision.walls.model import WallPicture
from vision.walls.parts import EDGE, KERF, LINE, LINE_SLOPE, SHOULDER, SLOPE
from vision.walls.points import EdgePoints, edge_points
from vision.walls.rivals import (
    Board,
    Rival,
    explain_together,
    first_look,
    in_colours,
    plain_pictures,
    seen_in_tones,
)
from vision.walls.rough_line import fit_rough_line
from vision.walls.shared import FAR_AWAY, IN_SIGHT, Overhead, with_changed
from vision.walls.tips import tips_of

Floats = NDArray[np.float64]

_COARSE_BLOCKS, _TONE_BLOCKS = 8, 12
"""Blocks along a wall: few to tell explanations apart, more for the last fit, which starts where it will end."""
_FEWEST_BLOCKS, _FINE_MM, _AT_ENDS = 8, 0.4, 3
_TOGETHER = 16
"""Edges that are found side by side: enough to spread the cost of handling arrays, few enough to stay in the cache."""

_PLAIN_U_RAD = math.radians(0.03)
_ALIKE_POINTS = 2.7
_DISAGREEMENT = 0.75
_RIVALRY = 1.7
_PATIENCE = 12.0
"""The slope's standard uncertainty, from four independent things: what remains on the best walls; the edge points'
own, times a factor because grain, blur and compression are alike over more samples than a fit can see; the difference
between the straight model and the points; and the spread of rival explanations, each weighted by exp(-cost / 2 /
`_PATIENCE`). The factors make 95 % of the errors fall inside two of it, by maximum likelihood with long-tailed errors
over photos with known truth."""


@dataclass(frozen=True)
class MeasuredWall:
    """One wall's edge: the line x(y - T/2) in the end frame, the model behind it, and edge points for drawing.

    A line that a person placed (`by_hand`) has no picture behind it.
    """

    wall: RoughWall
    line: LineFit
    picture: WallPicture | None
    y: Floats
    x: Floats

    @property
    def by_hand(self) -> bool:
        """Whether a person placed the line."""
        return self.picture is None


Cutter = Callable[[list[RoughWall]], WallBands]
"""Cuts bands across walls from a photo."""
Measurer = Callable[[Cutter, list[RoughWall]], list[MeasuredWall]]
"""`measure_walls` with all told of the photo but the bands."""


def measure_walls(
    cut: Cutter,
    walls: list[RoughWall],
    profile: EdgeProfile,
    overhead: Overhead,
    colour: EdgeProfile | None = None,
) -> list[MeasuredWall]:
    """The edges of all walls; `cut` makes their bands, `profile` is in mm, `overhead` tells where the camera is.

    `colour` is the profile of the photo's colour, where it is not that of its luma.

    What the walls share (kerf width, colour and width of the drawn line) is learned in a first round; for the second,
    the bands are cut again along the edges found. Explanations are told apart in red, green and blue, which say most
    together; the edges are found in luma and colour, each through its own profile, where the bands know the wood's.
    """
    bands = cut(walls)
    board = Board(walls, bands.blocks(_COARSE_BLOCKS), profile, overhead, tips=tips_of(bands, overhead))
    plain = plain_pictures(board)
    first = first_look(board, plain)
    walls = [_moved(wall, picture) for wall, picture in zip(walls, first, strict=True)]
    bands = cut(walls)
    board = Board(walls, bands.blocks(_COARSE_BLOCKS), profile, overhead, tips=tips_of(bands, overhead))
    second = explain_together(board, [_recentred(picture) for picture in first], first)
    if bands.wood is None:
        return _finished(board, _fine(bands), second)
    tones = bands.in_tones(board.power)
    board = replace(board, bands=tones.blocks(_TONE_BLOCKS), colour=colour or profile)
    explained = seen_in_tones(board, second)
    finished = _finished(board, _fine(tones), explained)
    pictures = [in_colours(board, rivals[0].picture) for rivals in explained]
    return [replace(wall, picture=picture) for wall, picture in zip(finished, pictures, strict=True)]


def _moved(wall: RoughWall, picture: WallPicture) -> RoughWall:
    """The wall where the picture has it."""
    edge, slope = picture.parameters[[EDGE, SLOPE]]
    kerf = None if wall.kerf_mm is None else float(picture.parameters[KERF])
    way = outward(wall)
    return replace(wall, x_mm=wall.x_mm + way * edge, lean=wall.lean + way * slope, kerf_mm=kerf)


def _recentred(picture: WallPicture) -> WallPicture:
    """The picture in a band cut along its own edge."""
    p = picture.parameters
    line, line_slope = p[LINE] - p[EDGE], p[LINE_SLOPE] - p[SLOPE]
    shoulder = p[SHOULDER] - p[EDGE] if p[SHOULDER] < IN_SIGHT else FAR_AWAY
    centred = with_changed(p, (EDGE, 0.0), (SLOPE, 0.0), (LINE, line), (LINE_SLOPE, line_slope), (SHOULDER, shoulder))
    return replace(picture, parameters=centred)


def _fine(bands: WallBands) -> Bands:
    return bands.blocks(max(_FEWEST_BLOCKS, int(bands.length_mm / _FINE_MM)), at_ends=_AT_ENDS)


def _finished(board: Board, fine: Bands, explained: list[list[Rival]]) -> list[MeasuredWall]:
    """Each edge by its likely explanations, its slope midway between the straight model's and the points'."""
    of = np.repeat(np.arange(len(explained)), [len(rivals) for rivals in explained])
    points = _points(board, fine.take(of), np.array([rival.picture.parameters for each in explained for rival in each]))
    measured = []
    for index, (wall, rivals) in enumerate(zip(board.walls, explained, strict=True)):
        lines, x = _edge_lines(wall, fine, rivals, points.take(of == index))
        measured.append(MeasuredWall(wall, _weighed(lines, rivals), rivals[0].picture, fine.along, x))
    return measured


def _points(board: Board, bands: Bands, parameters: Floats) -> EdgePoints:
    """The edges' places as pictures of the `parameters` (fits, 12) have them; `bands` are those of their walls."""
    across = np.empty((len(parameters), len(bands.along)))
    sigma = np.empty_like(across)
    for which, channels in board.channels_of(parameters):
        for some in np.array_split(which, math.ceil(len(which) / _TOGETHER)):
            seen = edge_points(bands.take(some), parameters[some], channels)
            across[some], sigma[some] = seen.across, seen.sigma
    return EdgePoints(across, sigma)


def _edge_lines(wall: RoughWall, fine: Bands, rivals: list[Rival], points: EdgePoints) -> tuple[list[LineFit], Floats]:
    """The line through each rival's edge `points`, and the first one's points x in the end frame."""
    way, along = outward(wall), fine.along
    x = wall.x_mm + wall.lean * along + way * points.across
    models = [wall.lean + way * float(rival.picture.parameters[SLOPE]) for rival in rivals]
    lines = [_edge_line(along, *each, fine.counts) for each in zip(x, points.sigma, models, strict=True)]
    return lines, x[0]


def _edge_line(along: Floats, x: Floats, sigma: Floats, model: float, counts: NDArray[np.bool_] | None) -> LineFit:
    line = fit_rough_line(along, x, sigma, counts)
    u = math.sqrt(_PLAIN_U_RAD**2 + (_ALIKE_POINTS * line.slope_u) ** 2 + (_DISAGREEMENT * (line.slope - model)) ** 2)
    return replace(line, slope=(line.slope + model) / 2.0, slope_u=u, level_u=_ALIKE_POINTS * line.level_u)


def _weighed(lines: list[LineFit], rivals: list[Rival]) -> LineFit:
    """The mean of the rivals' lines by their likelihood, with their spread in its uncertainty."""
    cost = np.array([rival.cost for rival in rivals])
    weight = np.exp(-0.5 * (cost - cost[0]) / _PATIENCE)
    weight /= weight.sum()
    slope, slope_u = _mixed(weight, [line.slope for line in lines], [line.slope_u for line in lines])
    level, level_u = _mixed(weight, [line.level for line in lines], [line.level_u for line in lines])
    return replace(lines[0], slope=slope, slope_u=slope_u, level=level, level_u=level_u)


def _mixed(weight: Floats, values: list[float], sigmas: list[float]) -> tuple[float, float]:
    """Mean and standard uncertainty of a mixture of explanations."""
    mean = float(weight @ values)
    spread = float(weight @ (np.array(values) - mean) ** 2)
    return mean, math.sqrt(float(weight @ np.square(sigmas)) + _RIVALRY**2 * spread)

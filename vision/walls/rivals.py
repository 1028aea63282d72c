"""Rival explanations of what the bands show: no line, or a line here or there, and what each costs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import RoughWall
from vision.photo.edge_profile import EdgeProfile
from vision.walls.bands import outward
from vision.walls.channels import Channels
from vision.walls.lights import Bands
from vision.walls.model import Belief, WallPicture, fit_walls
from vision.walls.parts import (
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
    wall_parts,
)
from vision.walls.tones import FLOOR_POWER, KERF_POWER, ink_in_colours, ink_in_tones

Floats = NDArray[np.float64]

FAR_AWAY = 4.0
"""Shift (mm) of a floor line that is not there."""
_FLOOR_ENDS = 2.0
_LINE = (LINE, LINE_SLOPE, LINE_WIDTH, *range(INK.start, INK.stop))
_WORTH_A_LINE = 8.0
_DOUBTED_LINE, _UNLIKELY_LINE = 30.0, 60.0
_CLEARLY = 20.0
_LINES_ON = 0.35
_FIRST_STEPS, _ALL_STEPS, _TONE_STEPS = 3, 14, 6
_FIRST_BLOCKS = 3
"""Blocks that count while a few steps tell which starts are promising."""
_FINISHED_SAWN, _FINISHED_CLEARED = 3, 6
_RIVAL_COST = 40.0
_SAME_KERF_MM, _OTHER_KERF = 0.02, 40.0
_ASIDE, _ASIDE_AGAIN = (-0.25, -0.12, 0.0, 0.12, 0.25), (-0.25, 0.0, 0.25)
"""Where edges are looked for beside the one found (mm): at first, and once lines are known to be drawn."""
_PLACES = (-0.35, -0.2, -0.08, 0.05)
_OUT_OF_SIGHT = 1.3
_SHIFT_MM, _DEPTH_U = 0.06, 0.35
"""How surely the line's shift on the floor is foreseen: its place, and the socket's depth before anyone tells it, as a
share of it."""
_SAME_EDGE_MM, _SAME_SLOPE, _SAME_LINE_MM = 0.01, 0.001, 0.03


@dataclass(frozen=True)
class Rival:
    """One explanation of a band and what it costs, the doubt about a line included."""

    picture: WallPicture
    cost: float


@dataclass(frozen=True)
class Shared:
    """What all walls of a board have in common: kerf width, and width and darkening of the drawn line.

    `mean` and `sigma` (11,) of the parameters; `line_price` is what a line beside a wall costs an explanation.
    """

    mean: Floats
    sigma: Floats
    line_price: float

    def without_line(self) -> Shared:
        """The same kerf, and nothing known of lines."""
        anew = nothing_known()
        anew.mean[KERF], anew.sigma[KERF] = self.mean[KERF], self.sigma[KERF]
        return anew

    def in_tones(self, power: float) -> Shared:
        """The same, the line's ink in luma, as that `power` of light, and colour."""
        mean = with_changed(self.mean, (INK, ink_in_tones(self.mean[INK], power)))
        return replace(self, mean=mean)

    def belief(self, walls: list[RoughWall], starts: Floats, overhead: Overhead) -> Belief:
        """Belief for fits of `walls` from `starts` (fits, 11): lines are drawn square to the face, walls lean a little.

        A start with ink has its line fitted, one with a line on the floor that too, where `overhead` makes it appear.
        """
        mean, sigma = np.tile(self.mean, (len(walls), 1)), np.tile(self.sigma, (len(walls), 1))
        mean[:, SLOPE] = mean[:, LINE_SLOPE] = [square(wall) for wall in walls]
        free = np.zeros(starts.shape, bool)
        free[:, [EDGE, SLOPE, SHADE if walls[0].kerf_mm is None else KERF]] = True
        free[:, _LINE] = starts[:, INK].any(axis=1, keepdims=True)
        on_floor = starts[:, FLOOR_LINE] < _FLOOR_ENDS
        free[:, FLOOR_LINE] = on_floor
        shift = np.array([overhead.shift(wall) for wall in walls])
        mean[on_floor, FLOOR_LINE] = shift[on_floor]
        sigma[on_floor, FLOOR_LINE] = _SHIFT_MM + _DEPTH_U * np.abs(shift[on_floor])
        return Belief(mean, sigma, free)


@dataclass(frozen=True)
class Overhead:
    """Where the camera is above the end: over `x_mm`, at `distance_mm`; and about how deep the sockets are, mm."""

    x_mm: float
    distance_mm: float
    depth_mm: float

    def shift(self, wall: RoughWall) -> float:
        """How far outward from itself (mm) a line beside `wall` is seen on the floor of the socket, by perspective."""
        share = self.depth_mm / (self.distance_mm + self.depth_mm)
        return outward(wall) * (self.x_mm - wall.x_mm) * share


@dataclass(frozen=True)
class Board:
    """All walls of an end, their `bands` in blocks, the photo's edge profile in mm, and where the camera is.

    `colour` is the profile of colour when the bands are in luma and colour, None when they are in red, green and blue.
    """

    walls: list[RoughWall]
    bands: Bands
    profile: EdgeProfile
    overhead: Overhead
    colour: EdgeProfile | None = None

    @property
    def sawn(self) -> bool:
        """Whether the waste is still in."""
        return self.walls[0].kerf_mm is not None

    @property
    def power(self) -> float:
        """The power of light as which luma is told."""
        return KERF_POWER if self.sawn else FLOOR_POWER

    @property
    def channels(self) -> Channels:
        """How the bands are seen."""
        parts = wall_parts(self.profile, kerf=self.sawn)
        if self.colour is None:
            return Channels.alike(parts, self.bands.light.shape[2])
        return Channels.luma_and_colour(parts, wall_parts(self.colour, kerf=self.sawn))

    def fitted(self, starts: list[list[Floats]], shared: Shared, *, steps: int = _ALL_STEPS) -> list[list[WallPicture]]:
        """The pictures fitted from every one of each wall's `starts`, in the same order."""
        of = np.repeat(np.arange(len(starts)), [len(each) for each in starts])
        flat = np.array([start for each in starts for start in each]).reshape(-1, PARAMETERS)
        belief = shared.belief([self.walls[i] for i in of], flat, self.overhead)
        pictures = iter(fit_walls(self.bands, of, flat, belief, self.channels, steps=steps))
        return [[next(pictures) for _ in each] for each in starts]


def square(wall: RoughWall) -> float:
    """Slope, in the wall's band, of a line square to the datum."""
    return -outward(wall) * wall.lean


def nothing_known() -> Shared:
    """What is believed of any board."""
    mean = np.array([0.0, 0.0, 0.58, -0.1, 0.0, 0.3, 0.0, 0.0, 0.0, FAR_AWAY, 0.0])
    sigma = np.array([0.4, 0.02, 0.12, 0.4, 0.004, 0.1, 0.5, 0.5, 0.5, 5.0, 0.3])
    return Shared(mean, sigma, _WORTH_A_LINE)


def first_belief(plain: list[WallPicture]) -> Shared:
    """Kerf width from the slimmer half of the plain fits: a line beside a kerf makes it look wider."""
    belief = nothing_known()
    belief.mean[KERF] = float(np.percentile([picture.parameters[KERF] for picture in plain], 35))
    belief.sigma[KERF] = 0.05
    return belief


def agreed(explained: list[list[Rival]]) -> list[WallPicture]:
    """One picture of each wall: together the cheapest whose kerfs have one width, for one saw cut them all."""
    widths = [float(rival.picture.parameters[KERF]) for rivals in explained for rival in rivals]
    choices = [[min(rivals, key=partial(_cost_at, width)) for rivals in explained] for width in widths]
    totals = [sum(map(partial(_cost_at, width), choice)) for width, choice in zip(widths, choices, strict=True)]
    return [rival.picture for rival in choices[int(np.argmin(totals))]]


def _cost_at(width: float, rival: Rival) -> float:
    """The rival's cost when the saw's kerf is `width` mm; a wall may disagree at a price."""
    off = (float(rival.picture.parameters[KERF]) - width) / _SAME_KERF_MM
    return rival.cost + min(off**2, _OTHER_KERF)


def shared_belief(pictures: list[WallPicture]) -> Shared:
    """Medians over the walls; lines are drawn beside most walls of a board or beside none.

    Where few show, they may be slivers of the tails' own sides, or the others hide in a shadow.
    """
    belief = nothing_known()
    parameters = np.array([picture.parameters for picture in pictures])
    belief.mean[KERF], belief.sigma[KERF] = float(np.median(parameters[:, KERF])), 0.02
    dark = parameters[:, INK].max(axis=1) > 0.25
    if not dark.any():
        return replace(belief, line_price=_UNLIKELY_LINE)
    belief.mean[INK], belief.sigma[INK] = np.median(parameters[dark][:, INK], axis=0), 0.08
    belief.mean[LINE_WIDTH], belief.sigma[LINE_WIDTH] = float(np.median(parameters[dark][:, LINE_WIDTH])), 0.04
    sure = dark.sum() >= max(2.0, _LINES_ON * len(pictures))
    return replace(belief, line_price=0.0 if sure else _DOUBTED_LINE)


def plain_pictures(board: Board) -> list[WallPicture]:
    """Edges and kerfs alone, no line, in the brightest channel, where coloured ink hardly shows."""
    calm = replace(board.bands, light=board.bands.light.max(axis=2, keepdims=True))
    shared, starts = nothing_known(), []
    for wall in board.walls:
        start = shared.mean if wall.kerf_mm is None else with_changed(shared.mean, (KERF, wall.kerf_mm))
        starts.append([start, with_changed(start, (SLOPE, square(wall)))])
    fitted = replace(board, bands=calm).fitted(starts, shared)
    return [min(pictures, key=lambda picture: picture.cost) for pictures in fitted]


def explain(board: Board, earlier: list[WallPicture], shared: Shared) -> list[list[Rival]]:
    """Each wall's explanations from the cheapest up; a line must be worth its parameters."""
    starts = []
    for wall, picture in zip(board.walls, earlier, strict=True):
        base = with_changed(picture.parameters, (FLOOR_LINE, FAR_AWAY))
        shift = board.overhead.shift(wall)
        lined = _beside_kerf(wall, base, shared) if board.sawn else _above_floor(wall, base, shared, shift)
        starts.append(_bare(wall, base) + lined)
    return [_distinct(rivals) for rivals in _tried(board, starts, shared)]


def explain_together(board: Board, earlier: list[WallPicture], first: list[WallPicture]) -> list[list[Rival]]:
    """The walls' explanations, with what they share learned from their `first` pictures.

    Where only few show a line, slivers of the tails' own sides explain them as well as lines that hide elsewhere; if
    clearly better, the walls are explained each for itself.
    """
    shared = shared_belief(first)
    together = explain(board, earlier, shared)
    if shared.line_price != _DOUBTED_LINE:
        return together
    apart = explain(board, earlier, shared.without_line())
    return apart if _total(together) - _total(apart) > _CLEARLY * len(board.walls) else together


def seen_in_tones(board: Board, explained: list[list[Rival]]) -> list[list[Rival]]:
    """Explanations in red, green and blue fitted once more to the `board` in luma and colour, at the cost they had."""
    shared = shared_belief([rivals[0].picture for rivals in explained]).in_tones(board.power)
    into = partial(ink_in_tones, power=board.power)
    told = [[_inked_as(rival.picture.parameters, into) for rival in rivals] for rivals in explained]
    fitted = board.fitted(told, shared, steps=_TONE_STEPS)
    return [
        [replace(rival, picture=picture) for rival, picture in zip(rivals, pictures, strict=True)]
        for rivals, pictures in zip(explained, fitted, strict=True)
    ]


def in_colours(board: Board, picture: WallPicture) -> WallPicture:
    """A picture of the `board` in luma and colour, its ink told in red, green and blue."""
    return replace(picture, parameters=_inked_as(picture.parameters, partial(ink_in_colours, power=board.power)))


def _inked_as(parameters: Floats, told: Callable[[Floats], Floats]) -> Floats:
    return with_changed(parameters, (INK, told(parameters[INK])))


def _total(explained: list[list[Rival]]) -> float:
    return sum(rivals[0].picture.cost for rivals in explained)


def with_changed(parameters: Floats, *changes: tuple[int | slice, float | Floats]) -> Floats:
    """The parameters with some of them replaced."""
    changed = parameters.copy()
    for index, value in changes:
        changed[index] = value
    return changed


def _cost(rival: Rival) -> float:
    return rival.cost


def _tried(board: Board, starts: list[list[Floats]], shared: Shared) -> list[list[Rival]]:
    """A few steps from every start, in coarse blocks; all steps from the most promising; cheapest first."""
    coarse = replace(board, bands=board.bands.merged(_FIRST_BLOCKS))
    begun = [_priced(pictures, shared) for pictures in coarse.fitted(starts, shared, steps=_FIRST_STEPS)]
    best = [_promising(each, _FINISHED_SAWN if board.sawn else _FINISHED_CLEARED) for each in begun]
    done = board.fitted([[rival.picture.parameters for rival in each] for each in best], shared)
    return [_priced(pictures, shared) for pictures in done]


def _priced(pictures: list[WallPicture], shared: Shared) -> list[Rival]:
    """Cheapest first."""
    return sorted((Rival(p, p.cost + _price(p.parameters, shared)) for p in pictures), key=_cost)


def _promising(begun: list[Rival], count: int) -> list[Rival]:
    """The cheapest few, and the cheapest without a line."""
    bare = [rival for rival in begun if not rival.picture.parameters[INK].any()]
    return begun[:count] + [rival for rival in bare[:1] if not any(rival is other for other in begun[:count])]


def _price(explained: Floats, shared: Shared) -> float:
    """What an explanation pays for its line, and for the line's other half on the floor."""
    if not explained[INK].any():
        return 0.0
    return shared.line_price + (_WORTH_A_LINE if explained[FLOOR_LINE] < _FLOOR_ENDS else 0.0)


def _distinct(rivals: list[Rival]) -> list[Rival]:
    """Those not much dearer than the cheapest that differ from all cheaper ones."""
    kept: list[Rival] = []
    for rival in rivals:
        if rival.cost < rivals[0].cost + _RIVAL_COST and not any(_alike(rival, other) for other in kept):
            kept.append(rival)
    return kept


def _alike(one: Rival, other: Rival) -> bool:
    apart = np.abs(one.picture.parameters - other.picture.parameters)
    same_line = apart[LINE] < _SAME_LINE_MM or not (one.picture.parameters + other.picture.parameters)[INK].any()
    return bool(apart[EDGE] < _SAME_EDGE_MM and apart[SLOPE] < _SAME_SLOPE and same_line)


def _bare(wall: RoughWall, base: Floats) -> list[Floats]:
    """Starts without a line: where the edge was found and, above a floor, to either side."""
    without = with_changed(base, (INK, 0.0))
    if wall.kerf_mm is not None:
        return [without]
    aside = [with_changed(without, (EDGE, base[EDGE] + way), (SLOPE, square(wall))) for way in (-0.2, 0.2)]
    return [without, *aside]


def _inked(wall: RoughWall, base: Floats, shared: Shared) -> Floats:
    """The parameters with a line square to the datum, as dark and wide as the board's."""
    ink = shared.mean[INK] if shared.mean[INK].any() else np.full(3, 0.4)
    width = float(shared.mean[LINE_WIDTH])
    return with_changed(base, (INK, ink), (LINE_WIDTH, width), (LINE_SLOPE, square(wall)))


def _beside_kerf(wall: RoughWall, base: Floats, shared: Shared) -> list[Floats]:
    """Starts with a line: beside the edge as found, or between it and an edge deeper in the dark."""
    inner, kerf = base[KERF] - shared.mean[KERF], float(shared.mean[KERF])
    edges = [(0.0, base[LINE] - base[EDGE])] if base[INK].any() else []
    edges += [(inner, -0.3), (inner, -0.1), (inner, 0.08), (0.0, kerf + 0.12)]
    lined = with_changed(_inked(wall, base, shared), (KERF, kerf))
    return [_at(lined, base[EDGE] + aside, place) for aside, place in edges]


def _above_floor(wall: RoughWall, base: Floats, shared: Shared, shift: float) -> list[Floats]:
    """Starts with a line about the edge, and with the edge to either side; the floor's line too, where it may show."""
    lined = _inked(wall, base, shared)
    upright = with_changed(lined, (SLOPE, square(wall)))
    starts = [lined] if base[INK].any() else []
    asides = _ASIDE_AGAIN if shared.mean[INK].any() else _ASIDE
    for leaning, aside in [(lined, 0.0)] + [(upright, aside) for aside in asides]:
        starts += [_at(leaning, base[EDGE] + aside, place) for place in _PLACES]
    if shift > _OUT_OF_SIGHT:
        return starts
    in_sight = [start for start in starts if start[LINE] + start[LINE_WIDTH] / 2.0 + shift > start[EDGE]]
    return starts + [with_changed(start, (FLOOR_LINE, shift)) for start in in_sight]


def _at(lined: Floats, edge: float, place: float) -> Floats:
    """The edge at `edge`, the line `place` past it."""
    return with_changed(lined, (EDGE, edge), (LINE, edge + place))

"""Rival explanations of what the bands show: no line, or a line here or there, and what each costs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import RoughWall
from vision.photo.edge_profile import EdgeProfile
from vision.walls.channels import Channels
from vision.walls.lights import Bands
from vision.walls.model import WallPicture, fit_walls
from vision.walls.parts import EDGE, FLOOR_LINE, INK, KERF, LINE, PARAMETERS, SHOULDER, SLOPE, wall_parts
from vision.walls.shared import (
    DOUBTED_LINE,
    IN_SIGHT,
    WORTH_A_LINE,
    Overhead,
    Shared,
    beyond_kerf,
    first_belief,
    lined_throughout,
    nothing_known,
    shared_belief,
    square,
    with_changed,
)
from vision.walls.starts import starts_of
from vision.walls.tips import Tip, for_a_shoulder
from vision.walls.tones import FLOOR_POWER, KERF_POWER, ink_in_colours, ink_in_tones

Floats = NDArray[np.float64]

_WORTH_A_SHOULDER = 80.0
"""What a shoulder's end beside a wall costs an explanation: one more border could explain much else as well."""
_CLEARLY = 10.0
"""How much cheaper, a wall, walls explained each for itself must be."""
_FIRST_STEPS, _TONE_STEPS = 3, 6
_FIRST_BLOCKS = 3
"""Blocks that count while a few steps tell which starts are promising."""
_RIVAL_COST = 30.0
"""How much dearer than the cheapest an explanation still counts: those to 80 make no wall's error smaller on the whole,
and their number decides how long the last fits take."""
_SAME_KERF_MM, _OTHER_KERF = 0.02, 40.0
_OTHER_SAW_MM = 0.05
"""A kerf this much wider or narrower than believed: lines beside most of them had passed for parts of them at first."""
_WIDE_KERF_MM = 0.68
"""A kerf that seems wider may have a line for a part of it; beside one in a narrower there is no room for a saw, which
cuts 0.4 to 0.75 mm for dovetails (common practice, no source)."""
_SAME_EDGE_MM, _SAME_SLOPE, _SAME_LINE_MM = 0.01, 0.001, 0.03
"""Explanations that differ by less in edge, slope and line are one."""


class Effort(NamedTuple):
    """How many of the promising starts take how many steps more: of a wall beside a kerf, and of one above a floor."""

    sawn: int
    cleared: int
    steps: int


ROUGHLY, FULLY = Effort(3, 3, 8), Effort(3, 4, 14)
"""For a first look, which shows where to cut the bands anew, and for the last."""


@dataclass(frozen=True)
class Rival:
    """One explanation of a band and what it costs, the doubt about a line included."""

    picture: WallPicture
    cost: float


@dataclass(frozen=True)
class Board:
    """All walls of an end, their `bands` in blocks, the photo's edge profile in mm, and where the camera is.

    `colour` is the profile of colour when the bands are in luma and colour, None when they are in red, green and blue.
    `tips` are the bands next to the faces, past where a shoulder is seen to stop.
    """

    walls: list[RoughWall]
    bands: Bands
    profile: EdgeProfile
    overhead: Overhead
    colour: EdgeProfile | None = None
    tips: tuple[Tip, ...] = ()

    @property
    def sawn(self) -> bool:
        """Whether the waste is still in."""
        return self.walls[0].kerf_mm is not None

    @property
    def power(self) -> float:
        """The power of light as which luma is told."""
        return KERF_POWER if self.sawn else FLOOR_POWER

    def _channels(self, *, shoulder: bool) -> Channels:
        parts = wall_parts(self.profile, kerf=self.sawn, shoulder=shoulder)
        if self.colour is None:
            return Channels.alike(parts, self.bands.light.shape[2])
        return Channels.luma_and_colour(parts, wall_parts(self.colour, kerf=self.sawn, shoulder=shoulder))

    def fitted(
        self, starts: list[list[Floats]], shared: Shared, *, steps: int = FULLY.steps
    ) -> list[list[WallPicture]]:
        """The pictures fitted from every one of each wall's `starts`, in the same order."""
        of = np.repeat(np.arange(len(starts)), [len(each) for each in starts])
        flat = np.array([start for each in starts for start in each]).reshape(-1, PARAMETERS)
        belief = shared.belief([self.walls[i] for i in of], flat, self.overhead)
        pictures: dict[int, WallPicture] = {}
        for which, channels in self.channels_of(flat):
            fitted = fit_walls(self.bands, of[which], flat[which], belief.take(which), channels, steps=steps)
            pictures |= zip(which.tolist(), fitted, strict=True)
        places = iter(range(len(flat)))
        return [[pictures[next(places)] for _ in each] for each in starts]

    def priced(self, pictures: list[list[WallPicture]], shared: Shared) -> list[list[Rival]]:
        """Each wall's pictures at what they cost, cheapest first."""
        return [
            sorted((Rival(p, p.cost + self._price(wall, p.parameters, shared)) for p in each), key=_cost)
            for wall, each in enumerate(pictures)
        ]

    def _price(self, wall: int, explained: Floats, shared: Shared) -> float:
        """What the explanation of a wall pays for its line, and for its shoulder's end by what the tips say of that."""
        price = _lines_price(explained, shared)
        if explained[SHOULDER] >= IN_SIGHT:
            return price
        columns = self.bands.across[wall, self.bands.seen[wall]]
        return price + _WORTH_A_SHOULDER - for_a_shoulder(self.tips, wall, columns, explained)

    def channels_of(self, parameters: Floats) -> list[tuple[NDArray[np.intp], Channels]]:
        """Which of the pictures (fits, 12) have no shoulder's end in sight and which have, and how each are seen."""
        ends = parameters[:, SHOULDER] < IN_SIGHT
        kinds = ((np.flatnonzero(~ends), False), (np.flatnonzero(ends), True))
        return [(which, self._channels(shoulder=shoulder)) for which, shoulder in kinds if len(which)]


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


def plain_pictures(board: Board) -> list[WallPicture]:
    """Edges and kerfs alone, no line, in the brightest channel, where coloured ink hardly shows."""
    calm = replace(board.bands, light=board.bands.light.max(axis=2, keepdims=True))
    shared, starts = nothing_known(), []
    for wall in board.walls:
        start = shared.mean if wall.kerf_mm is None else with_changed(shared.mean, (KERF, wall.kerf_mm))
        starts.append([start, with_changed(start, (SLOPE, square(wall)))])
    fitted = replace(board, bands=calm).fitted(starts, shared)
    return [min(pictures, key=lambda picture: picture.cost) for pictures in fitted]


def explain(board: Board, earlier: list[WallPicture], shared: Shared, effort: Effort = FULLY) -> list[list[Rival]]:
    """Each wall's explanations about an `earlier` one, cheapest first; a line must be worth its parameters."""
    last = len(board.walls) - 1
    starts = [
        starts_of(wall, picture.parameters, shared, board.overhead, outermost=index in (0, last))
        for index, (wall, picture) in enumerate(zip(board.walls, earlier, strict=True))
    ]
    return _tried(board, starts, shared, effort)


def first_look(board: Board, plain: list[WallPicture]) -> list[WallPicture]:
    """One picture of each wall, roughly, beginning at the `plain` ones.

    Where all kerfs seem wide, either the saw was thick or a line lies beside each: what costs less.
    """
    believed = first_belief(plain)
    wide = board.sawn and believed.mean[KERF] > _WIDE_KERF_MM
    beliefs = [believed, lined_throughout(believed)] if wide else [believed]
    looks = [_at_no_belief(explain(board, plain, each, ROUGHLY), each) for each in beliefs]
    return agreed(min(looks, key=_total))


def explain_together(board: Board, earlier: list[WallPicture], first: list[WallPicture]) -> list[list[Rival]]:
    """Each wall's explanations from the cheapest up, with what the walls share learned from their `first` pictures.

    Where the kerf turns out to be another than was learned, once more with that. Where only few show a line, slivers of
    the tails' own sides explain them as well as lines that hide elsewhere; if clearly better, the walls are explained
    each for itself.
    """
    shared = shared_belief(first)
    together = explain(board, earlier, shared)
    if board.sawn:
        pictures = agreed(_at_no_belief(together, shared))
        learned = shared_belief(pictures)
        if abs(learned.mean[KERF] - shared.mean[KERF]) > _OTHER_SAW_MM:
            shared, together = learned, explain(board, pictures, learned)
    if shared.line_price == DOUBTED_LINE:
        apart = explain(board, earlier, shared.without_line())
        if _misfit(together) - _misfit(apart) > _CLEARLY * len(board.walls):
            together = apart
    return [_distinct(rivals) for rivals in together]


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


def _misfit(explained: list[list[Rival]]) -> float:
    return sum(rivals[0].picture.cost for rivals in explained)


def _total(explained: list[list[Rival]]) -> float:
    return sum(min(map(_cost, rivals)) for rivals in explained)


def _cost(rival: Rival) -> float:
    return rival.cost


def _at_no_belief(explained: list[list[Rival]], shared: Shared) -> list[list[Rival]]:
    """The explanations at their costs without the belief in the kerf: a wrong one is not to hold itself."""
    mean, sigma = float(shared.mean[KERF]), float(shared.sigma[KERF])

    def freed(rival: Rival) -> Rival:
        return replace(rival, cost=rival.cost - ((float(rival.picture.parameters[KERF]) - mean) / sigma) ** 2)

    return [list(map(freed, rivals)) for rivals in explained]


def _tried(board: Board, starts: list[list[Floats]], shared: Shared, effort: Effort) -> list[list[Rival]]:
    """A few steps from every start, in coarse blocks; more from the most promising; cheapest first."""
    coarse = replace(board, bands=board.bands.merged(_FIRST_BLOCKS))
    begun = board.priced(coarse.fitted(starts, shared, steps=_FIRST_STEPS), shared)
    best = [_promising(each, effort.sawn if board.sawn else effort.cleared) for each in begun]
    done = board.fitted([[rival.picture.parameters for rival in each] for each in best], shared, steps=effort.steps)
    return board.priced(done, shared)


def _promising(begun: list[Rival], count: int) -> list[Rival]:
    """The cheapest few, and the cheapest without a line."""
    bare = [rival for rival in begun if not rival.picture.parameters[INK].any()]
    return begun[:count] + [rival for rival in bare[:1] if not any(rival is other for other in begun[:count])]


def _lines_price(explained: Floats, shared: Shared) -> float:
    """What an explanation pays for its line, where that lies, and its other half on the floor."""
    if not explained[INK].any():
        return 0.0
    on_floor = WORTH_A_LINE if explained[FLOOR_LINE] < IN_SIGHT else 0.0
    return on_floor + shared.line_price + (shared.beyond_price if beyond_kerf(explained) else 0.0)


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

"""What a wall looks like across its edge: the shapes a row is made of, and how they change with its borders.

Rows of a straightened band run across one wall: bare wood of the tail, perhaps a drawn or knifed line, the edge, then
the kerf and the waste beyond (`sawn`), or the socket's floor (`cleared`). The borders are straight, sharp edges seen
through the photo's edge profile. A line is a strip that darkens the wood, square to the face, cut off where the saw
went: that is how it is told from the kerf, and why it does not pull the edge toward the tail. Its cover is about, not
exactly, the same all along: a pen skips and a pencil smears.

A row knows only where its own borders lie; how these follow from the parameters of a straight wall is
`WallParts.follows`. To add a part, give it a shape, its changes and a tie; to add a parameter, let a border follow it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod

import numpy as np
from numpy.typing import NDArray

from vision.photo.edge_profile import EdgeProfile

Floats = NDArray[np.float64]
Light = NDArray[np.float32]
Bools = NDArray[np.bool_]

EDGE, SLOPE, KERF, LINE, LINE_SLOPE, LINE_WIDTH = range(6)
INK = slice(6, 9)
FLOOR_LINE = 9
SHADE = 10
SHOULDER = 11
PARAMETERS = 12
"""Edge position and slope, kerf width, line position, slope and width, its darkening in three channels, how far from
itself the line is seen on the floor of a cleared socket, how much darker the floor is close to the wall, and where the
floor ends. Positions in mm across the band, slopes in mm per mm."""

_SHADE_MM = 0.4
_RAMP_MM, _WOOD_RAMP_MM = 1.6, 1.0
"""How far from the edge the floor's gradient and the wood's go on."""
_UNEVEN = 2.0
"""How firmly the light of a part is held even along it."""
_NONE = np.float32(0.0)


class WallParts(ABC):
    """The parts of every row and the borders that they depend on.

    `names` are the borders, each called by the parameter that moves it alone; the last is the ink's darkening in the
    row's own channel. The last two parts are the line's strip on the tail (part 0) and on the part `beyond`. `ridge`
    and `hold` (parts, parts) are ties between the parts' lights, in units of the samples' squares: mild ones for
    straight borders, and how firmly each light is held to its smooth course along the wall. `own` (borders,) is how
    the borders change as the wall's edge moves and all else stays.
    """

    names: tuple[int, ...]
    beyond: int
    ridge: Floats
    hold: Floats
    own: Floats

    def __init__(self, profile: EdgeProfile) -> None:
        self.profile = profile

    @abstractmethod
    def shapes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Shapes (rows, parts, columns) for `borders` (rows, names) and columns at `across` (rows, columns), mm.

        Each row's own edge may be `rough` (rows, 1) mm off its border, while all else stays straight.
        """

    @abstractmethod
    def changes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Changes of the shapes with the borders, (rows, parts, borders, columns)."""

    def follows(self, along: Floats, channels: int) -> Floats:
        """How the borders follow from the parameters: (blocks, channels, borders, parameters), at `along` (blocks,)."""
        follows = np.zeros((len(along), channels, len(self.names), PARAMETERS))
        for place, name in enumerate(self.names[:-1]):
            follows[:, :, place, name] = 1.0
        for channel in range(channels):
            follows[:, channel, -1, INK.start + channel] = 1.0
        for border, slope in _LEANING.items():
            if border in self.names:
                follows[:, :, self.names.index(border), slope] = along[:, None]
        if FLOOR_LINE in self.names:
            follows[:, :, self.names.index(FLOOR_LINE), LINE] = 1.0
        return follows

    def mixing(self, ink: Floats) -> Floats:
        """Amounts of the shapes that the parts' lights stand for: (..., parts, parts) for darkening `ink` (...).

        Ink takes away its share of the wood's light; what it takes beyond that, or less, is the light of its own part.
        """
        mixing = np.broadcast_to(np.eye(len(self.ridge)), (*ink.shape, *self.ridge.shape)).copy()
        mixing[..., -2, 0] = mixing[..., -1, self.beyond] = -ink
        return mixing

    def ties(self, between_lights: Floats, ink: Floats) -> Floats:
        """Ties (parts, parts) between the lights as ties between the amounts, (..., parts, parts)."""
        unmixing = self.mixing(-ink)
        return np.asarray(np.swapaxes(unmixing, -1, -2) @ between_lights @ unmixing)

    def _seen(self, places: list[Floats], across: Floats) -> tuple[Light, Light]:
        """Light (places, rows, columns) before sharp edges at `places` (rows, 1) each, and its changes with them."""
        return self.profile.at(np.stack(places) - across)


_LEANING = {EDGE: SLOPE, LINE: LINE_SLOPE, FLOOR_LINE: LINE_SLOPE, SHOULDER: LINE_SLOPE}
"""Borders that are not parallel to the band, and the slopes they have."""


def placed(follows: Floats, p: Floats) -> Floats:
    """Borders (fits, blocks, borders) of parameters (fits, 12), as they `follow`; the ink's as in the first channel."""
    blocks, _, borders, parameters = follows.shape
    return (p @ follows[:, 0].reshape(-1, parameters).T).reshape(len(p), blocks, borders)


def wall_parts(profile: EdgeProfile, *, kerf: bool, shoulder: bool = False) -> WallParts:
    """The parts of a wall beside a kerf, or above a socket's floor, maybe a `shoulder`'s; `profile` in mm."""
    if kerf:
        return KerfParts(profile)
    return ShoulderParts(profile) if shoulder else FloorParts(profile)


class KerfParts(WallParts):
    """Tail, kerf, the kerf's gradient, waste, ink on the tail and ink on the waste; the waste is tied to the tail."""

    names: tuple[int, ...] = (EDGE, KERF, LINE, LINE_WIDTH, INK.start)
    beyond = 3
    ridge = np.diag([1.0, 0.0, 0.5, 1.0, _UNEVEN, _UNEVEN]) + 1e-6 * np.eye(6)
    ridge[0, 3] = ridge[3, 0] = -1.0
    hold = np.diag([0.3, 1.0, 2.0, 0.3, 4.0, 4.0])
    own = np.array([1.0, -1.0, 0.0, 0.0, 0.0])

    def shapes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Shapes (rows, 6, columns)."""
        places, on_tail, on_waste = self._places(borders, rough)
        (tail, within, left, right), _ = self._seen(places, across)
        inside = within - tail
        ink = [_strip(left, right, tail, on_tail), _strip(left, right, within, on_waste)]
        return np.stack([tail, inside, inside * self._ramp(borders, across), 1.0 - within, *ink], axis=1)

    def changes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Changes (rows, 6, 5, columns)."""
        places, on_tail, on_waste = self._places(borders, rough)
        (tail, within, left, right), (edge, far, d_left, d_right) = self._seen(places, across)
        inside, ramp = within - tail, self._ramp(borders, across)
        sloping = inside * (np.abs(ramp) < 1.0) / borders[:, 1, None].astype(np.float32)
        changes = np.zeros((len(borders), 6, 5, across.shape[1]), np.float32)
        changes[:, 0, 0] = edge
        changes[:, 1, 0], changes[:, 1, 1] = far - edge, far
        changes[:, 2, 0], changes[:, 2, 1] = (far - edge) * ramp - 2.0 * sloping, far * ramp - sloping * (1.0 + ramp)
        changes[:, 3, 0] = changes[:, 3, 1] = -far
        changes[:, 4, 0] = _strip(_NONE, _NONE, edge, on_tail)
        changes[:, 5, 0] = changes[:, 5, 1] = _strip(_NONE, _NONE, far, on_waste)
        for part, free in ((4, on_tail), (5, on_waste)):
            changes[:, part, 2] = _strip(d_left, d_right, _NONE, free)
            changes[:, part, 3] = 0.5 * _strip(-d_left, d_right, _NONE, free)
        changes[:, 0, 4] = -_strip(left, right, tail, on_tail)
        changes[:, 3, 4] = -_strip(left, right, within, on_waste)
        return changes

    def _places(self, borders: Floats, rough: Floats | float) -> tuple[list[Floats], Free, Free]:
        edge, kerf, line, width, _ = borders.T[..., None]
        far, left, right = edge + kerf, line - width / 2.0, line + width / 2.0
        edge = edge + rough
        return [edge, far, left, right], (left < edge, right < edge), (left > far, right > far)

    def _ramp(self, borders: Floats, across: Floats) -> Light:
        """From -1 at the edge to 1 at the kerf's far border."""
        edge, kerf = borders[:, :1], borders[:, 1:2]
        return np.clip(2.0 * (across - edge) / kerf - 1.0, -1.0, 1.0).astype(np.float32)


class FloorParts(WallParts):
    """Tail, the socket's floor, the floor's gradient, the tail's, ink on the tail and ink on the floor.

    A growth ring that nears the edge changes the tail's light there; without its gradient a line would explain that.
    """

    names: tuple[int, ...] = (EDGE, SHADE, LINE, LINE_WIDTH, FLOOR_LINE, INK.start)
    beyond = 1
    ridge = np.diag([1e-6, 1e-6, 0.2, 0.2, _UNEVEN, _UNEVEN])
    hold = np.diag([0.3, 1.0, 2.0, 2.0, 4.0, 4.0])
    own = np.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0])

    def shapes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Shapes (rows, 6, columns)."""
        places, on_tail, on_floor = self._places(borders, rough)
        (tail, left, right, floor_left, floor_right), _ = self._seen(places, across)
        _, near, ramp = self._floor(places[0], across)
        lit = 1.0 - borders[:, 1, None].astype(np.float32) * near
        ink = [_strip(left, right, tail, on_tail), _strip(floor_left, floor_right, tail, on_floor)]
        wood = tail * self._before(places[0], across)
        return np.stack([tail, (1.0 - tail) * lit, (1.0 - tail) * ramp, wood, *ink], axis=1)

    def changes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Changes (rows, 6, 6, columns)."""
        places, on_tail, on_floor = self._places(borders, rough)
        steps, (edge, *d_line) = self._seen(places, across)
        tail, floor = steps[0], 1.0 - steps[0]
        past, near, ramp = self._floor(places[0], across)
        shade, beside = borders[:, 1, None].astype(np.float32), floor * (past > 0.0)
        changes = np.zeros((len(borders), 6, 6, across.shape[1]), np.float32)
        changes[:, 0, 0] = edge
        changes[:, 1, 0] = -beside * near * (shade / _SHADE_MM) - edge * (1.0 - shade * near)
        changes[:, 1, 1] = -floor * near
        changes[:, 2, 0] = -beside * (past < _RAMP_MM) - edge * ramp
        before = self._before(places[0], across)
        changes[:, 3, 0] = edge * before + tail * ((before > 0.0) & (before < _WOOD_RAMP_MM))
        for part, border, ends, on, free in (
            (4, 2, d_line[:2], steps[1:3], on_tail),
            (5, 4, d_line[2:], steps[3:], on_floor),
        ):
            left, right = ends
            changes[:, part, 0] = _strip(_NONE, _NONE, edge, free)
            changes[:, part, border] = _strip(left, right, _NONE, free)
            changes[:, part, 3] = 0.5 * _strip(-left, right, _NONE, free)
            changes[:, part - 4, 5] = -_strip(on[0], on[1], tail, free)
        return changes

    def _places(self, borders: Floats, rough: Floats | float) -> tuple[list[Floats], Free, Free]:
        edge, _, line, width, floor_line, _ = borders.T[..., None]
        edge, half = edge + rough, width / 2.0
        places = [edge, line - half, line + half, floor_line - half, floor_line + half]
        return places, (places[1] < edge, places[2] < edge), (places[3] > edge, places[4] > edge)

    def _before(self, edge: Floats, across: Floats) -> Light:
        """How far before the edge (mm), where the tail's gradient acts."""
        return np.clip(edge - across, 0.0, _WOOD_RAMP_MM).astype(np.float32)

    def _floor(self, edge: Floats, across: Floats) -> tuple[Light, Light, Light]:
        """How far past the edge (mm), nearness to the wall's foot from 1 to 0, and the gradient along the floor."""
        past = np.maximum(across - edge, 0.0).astype(np.float32)
        return past, np.exp(past / -_SHADE_MM), np.minimum(past, np.float32(_RAMP_MM))


class ShoulderParts(FloorParts):
    """What `FloorParts` has, and what lies beyond the end of a half pin's shoulder, before the ink.

    The camera draws a shoulder toward the point below it, so that it may end within a millimetre of the outermost wall.
    """

    names: tuple[int, ...] = (EDGE, SHADE, LINE, LINE_WIDTH, FLOOR_LINE, SHOULDER, INK.start)
    ridge = np.diag([1e-6, 1e-6, 0.2, 0.2, 0.05, _UNEVEN, _UNEVEN])
    hold = np.diag([0.3, 1.0, 2.0, 2.0, 1.0, 4.0, 4.0])
    own = np.append(FloorParts.own, 0.0)
    _at, _border = 4, 5
    """Places of what lies beyond among the parts, and of the shoulder's end among the borders."""

    def shapes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Shapes (rows, 7, columns)."""
        beyond, _ = self._beyond(borders, across, rough)
        return np.insert(super().shapes(self._without(borders), across, rough), self._at, beyond[0], axis=1)

    def changes(self, borders: Floats, across: Floats, rough: Floats | float = 0.0) -> Light:
        """Changes (rows, 7, 7, columns)."""
        (_, edge, end), free = self._beyond(borders, across, rough)
        changes = np.insert(super().changes(self._without(borders), across, rough), self._at, 0.0, axis=1)
        changes = np.insert(changes, self._border, 0.0, axis=2)
        changes[:, self._at, 0] = np.where(free, 0.0, -edge)
        changes[:, self._at, self._border] = np.where(free, -end, 0.0)
        return changes

    def _without(self, borders: Floats) -> Floats:
        return np.delete(borders, self._border, axis=1)

    def _beyond(self, borders: Floats, across: Floats, rough: Floats | float) -> tuple[tuple[Light, ...], Bools]:
        """What lies beyond, how the steps at edge and shoulder's end change, and where that end lies past the edge."""
        edge, end = borders[:, :1] + rough, borders[:, self._border, None]
        (tail, floor), (at_edge, at_end) = self._seen([edge, end], across)
        free = end > edge
        return (1.0 - np.where(free, floor, tail), at_edge, at_end), free


Free = tuple[Bools, Bools]
"""Whether the left and the right end of a strip (rows, 1) are its own, or else cut off."""


def _strip(left: Light | np.float32, right: Light | np.float32, limit: Light | np.float32, free: Free) -> Light:
    """What a strip shows between its ends, each its own where it is free, and the limit that cuts it off elsewhere."""
    return np.where(free[1], right, limit) - np.where(free[0], left, limit)

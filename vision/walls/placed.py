"""Walls as a person tells them: lines placed by hand on the photo, put in the row of those that were found.

The person's row stands in place of the program's: a wall left as it was is the found one, a wall that was moved is the
line through its two placed ends, a found wall that is not in the row counts as none. Only the line's own uncertainty
changes, from that of a fit to that of eye and hand; datum, card, lens and print are what they are.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure, refuse
from vision.end.find_walls import RoughWall
from vision.walls.bands import INSET_MM
from vision.walls.fit import LineFit
from vision.walls.measure import MeasuredWall

Floats = NDArray[np.float64]
Pixel = tuple[float, float]

EYE_OF_BLUR = 0.3
"""How well an eye sets a point on an enlarged edge, one standard deviation, as a share of the edge's blur and of a
pixel at least. Pointing by hand at sharp targets in digital photos is good to 0.2 to 0.3 px (photogrammetric practice,
from memory); an edge smeared over more pixels is told as much less well."""
HAND_SCREEN_PX = 1.0
"""How well a finger or a mouse leaves a point where the eye wants it, in pixels of the screen (common practice, no
source): it counts the less, the larger the photo is shown."""
ROUGH_END_MM = 0.01
"""How far a line by eye follows a rough edge instead of its mean: half of a fine saw's roughness (common practice)."""
SAME_WALL_MM = 0.5
"""A wall told as found is a found one this near; kerfs are farther apart than that."""
_MOVED_AT_MOST_MM = 3.0
"""A placed wall stands for a found one of its side this near, else it was not found at all."""
_POINTS = 9


@dataclass(frozen=True)
class ToldWall:
    """A wall of the row that a person says is right: its ends (x, y) at the faces, in pixels of the upright photo.

    `zoom` is how many pixels of the screen a pixel of the photo had when it was placed; None: left as it was found.
    Raises ValueError for a zoom that is not positive, or ends that are no numbers.
    """

    show_px: Pixel
    transfer_px: Pixel
    zoom: float | None = None

    def __post_init__(self) -> None:
        if self.zoom is not None and not self.zoom > 0.0:
            raise ValueError(f"zoom must be positive, got {self.zoom}")
        if not all(math.isfinite(value) for value in (*self.show_px, *self.transfer_px)):
            raise ValueError("show_px and transfer_px must be numbers")

    @property
    def ends_px(self) -> Floats:
        """Both ends, (2, 2)."""
        return np.array([self.show_px, self.transfer_px], float)


@dataclass(frozen=True)
class Sight:
    """How a person saw the end: `to_frame` maps pixels (n, 2) to the end frame, mm; scale and blur are the photo's."""

    to_frame: Callable[[Floats], Floats]
    thickness_mm: float
    px_per_mm: float
    blur_px: float

    def placed_u_mm(self, zoom: float) -> float:
        """Standard uncertainty of one placed end across the line, mm."""
        eye_px = EYE_OF_BLUR * max(1.0, self.blur_px)
        return math.hypot(math.hypot(eye_px, HAND_SCREEN_PX / zoom) / self.px_per_mm, ROUGH_END_MM)


class ToldRow(NamedTuple):
    """The row as told. `was` are the found walls' indices that placed ones stand for, None where nothing was found.

    `left_out` are the indices of found walls that count as none.
    """

    walls: list[MeasuredWall]
    was: dict[int, int | None]
    left_out: tuple[int, ...]


def told_row(told: Sequence[ToldWall], found: Sequence[MeasuredWall], sight: Sight) -> ToldRow:
    """The told walls, from left to right, measured or placed.

    Raises CannotMeasure `told_walls_unusable` when they make no row of tails, or one left as found is not found.
    """
    if not told or len(told) % 2:
        raise _unusable(f"There are {len(told)} walls.")
    placed = [_placed(wall, index, sight) for index, wall in enumerate(told)]
    kept = {
        index: _found_again(line, found)
        for index, (wall, line) in enumerate(zip(told, placed, strict=True))
        if wall.zoom is None
    }
    walls = [_named(found[kept[index]], wall.wall) if index in kept else wall for index, wall in enumerate(placed)]
    _check_order(walls)
    free = [index for index in range(len(found)) if index not in kept.values()]
    was = _stands_for(walls, found, free)
    return ToldRow(walls, was, tuple(index for index in free if index not in was.values()))


def _placed(told: ToldWall, index: int, sight: Sight) -> MeasuredWall:
    """The line through the placed ends, straight by its nature; its kerf was not looked for."""
    line = _line(told, sight)
    half = sight.thickness_mm / 2.0 - INSET_MM
    along = np.linspace(-half, half, _POINTS)
    rough = RoughWall(index // 2, "right" if index % 2 else "left", line.at(0.0), line.slope, None)
    return MeasuredWall(rough, line, None, along, line.level + line.slope * (along - line.middle))


def _line(told: ToldWall, sight: Sight) -> LineFit:
    (x_show, y_show), (x_transfer, y_transfer) = sight.to_frame(told.ends_px).tolist()
    run = y_transfer - y_show
    if run < sight.thickness_mm / 2.0:
        raise _unusable("A line does not run from the show face to the transfer face.")
    u = sight.placed_u_mm(told.zoom or 1.0)
    middle, level = (y_show + y_transfer - sight.thickness_mm) / 2.0, (x_show + x_transfer) / 2.0
    slope_u = math.sqrt(2.0) * u / run
    return LineFit(middle, level, (x_transfer - x_show) / run, u / math.sqrt(2.0), slope_u, 0.0, 2.0)


def _found_again(told: MeasuredWall, found: Sequence[MeasuredWall]) -> int:
    """The found wall that was told as it is."""
    off = [abs(wall.line.at(0.0) - told.line.at(0.0)) for wall in found]
    nearest = int(np.argmin(off)) if off else 0
    if not off or off[nearest] > SAME_WALL_MM:
        raise _unusable("A wall that was left as it was is not found any more.")
    if found[nearest].wall.side != told.wall.side:
        raise _unusable("Left and right walls do not take turns any more.")
    return nearest


def _named(wall: MeasuredWall, rough: RoughWall) -> MeasuredWall:
    """A found wall by its place in the told row."""
    return replace(wall, wall=replace(wall.wall, tail=rough.tail, side=rough.side))


def _check_order(walls: Sequence[MeasuredWall]) -> None:
    places = np.array([[wall.line.at(wall.y[0]), wall.line.at(wall.y[-1])] for wall in walls])
    if (np.diff(places, axis=0) <= 0.0).any():
        raise _unusable("Lines cross one another, or one of them was placed twice.")


def _stands_for(walls: Sequence[MeasuredWall], found: Sequence[MeasuredWall], free: list[int]) -> dict[int, int | None]:
    """For every placed wall, by index, the nearest found wall of its side that no other stands for."""
    was: dict[int, int | None] = {}
    for index, wall in enumerate(walls):
        if wall.by_hand:
            near = [each for each in free if each not in was.values() and _may_be(wall, found[each])]
            was[index] = min(near, key=lambda each: _apart(wall, found[each]), default=None)
    return was


def _may_be(placed: MeasuredWall, found: MeasuredWall) -> bool:
    return found.wall.side == placed.wall.side and _apart(placed, found) < _MOVED_AT_MOST_MM


def _apart(first: MeasuredWall, second: MeasuredWall) -> float:
    return abs(first.line.at(0.0) - second.line.at(0.0))


def _unusable(detail: str) -> CannotMeasure:
    return refuse("told_walls_unusable", detail)

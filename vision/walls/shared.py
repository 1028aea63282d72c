"""What all walls of a board share, learned from their pictures, and what is foreseen of each before it is fitted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.plane import PlaneMap
from vision.end.find_walls import HALF_PIN_MM, HALF_PIN_SPREAD_MM, RoughWall
from vision.photo.strip import Frame
from vision.walls.bands import outward
from vision.walls.model import Belief, WallPicture
from vision.walls.parts import (
    EDGE,
    FLOOR_LINE,
    INK,
    KERF,
    LINE,
    LINE_SLOPE,
    LINE_WIDTH,
    SHADE,
    SHOULDER,
    SLOPE,
)
from vision.walls.tones import ink_in_tones

Floats = NDArray[np.float64]

FAR_AWAY = 4.0
"""Shift (mm) of a floor line that is not there, and place of a shoulder's end that is not."""
IN_SIGHT = 2.0
"""Below this they are there."""
_LINE = (LINE, LINE_SLOPE, LINE_WIDTH, *range(INK.start, INK.stop))
WORTH_A_LINE, DOUBTED_LINE, _UNLIKELY_LINE = 8.0, 30.0, 60.0
"""What a line beside a wall costs an explanation while nothing is known of the board's lines, where few of its walls
show one, and where none does."""
_OTHER_SIDE, _FEWEST_LINES, _MOST_BEYOND = 100.0, 3, 1.0 / 3.0
"""What a line on the far side of its kerf costs where, of so many lines at least, at most this share lie there. What
passes for one may be the kerf itself, and a dark line beside it for the kerf."""
_LINES_ON = 0.35
"""Share of the walls that must show a line for lines to be drawn beside all of them."""
_DARK_INK, _DARK_INK_SPREAD = 0.8, 0.15
"""How much of the wood's light a line takes away that is hard to tell from a kerf, and how far lines are from that."""
_SHIFT_MM, _DEPTH_U = 0.06, 0.35
"""How surely the line's shift on the floor is foreseen: its place, and the socket's depth before anyone tells it, as a
share of it."""


@dataclass(frozen=True)
class Shared:
    """What all walls of a board have in common: kerf width, and width and darkening of the drawn line.

    `mean` and `sigma` (12,) of the parameters; `line_price` is what a line beside a wall costs an explanation, and
    `beyond_price` what one on the far side of the kerf costs on top.
    """

    mean: Floats
    sigma: Floats
    line_price: float
    beyond_price: float = 0.0

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
        """Belief for fits of `walls` from `starts` (fits, 12): lines are drawn square to the face, walls lean a little.

        A start with ink has its line fitted, one with a line on the floor that too, where `overhead` makes it appear,
        and one with a shoulder's end in sight that.
        """
        mean, sigma = np.tile(self.mean, (len(walls), 1)), np.tile(self.sigma, (len(walls), 1))
        mean[:, SLOPE] = mean[:, LINE_SLOPE] = [square(wall) for wall in walls]
        free = np.zeros(starts.shape, bool)
        free[:, [EDGE, SLOPE, SHADE if walls[0].kerf_mm is None else KERF]] = True
        free[:, _LINE] = starts[:, INK].any(axis=1, keepdims=True)
        shift = np.array([overhead.shift(wall) for wall in walls])
        foreseen = {
            FLOOR_LINE: (shift, _SHIFT_MM + _DEPTH_U * np.abs(shift)),
            SHOULDER: (HALF_PIN_MM + shift, np.hypot(HALF_PIN_SPREAD_MM, _DEPTH_U * shift)),
        }
        for border, (place, u) in foreseen.items():
            there = starts[:, border] < IN_SIGHT
            free[:, border] = there
            mean[there, border], sigma[there, border] = place[there], u[there]
        return Belief(mean, sigma, free)


class Overhead(NamedTuple):
    """Where the camera is above the end, and about how deep the sockets are, mm.

    It is over `x_mm`, `along_mm` past mid thickness, at `distance_mm`.
    """

    x_mm: float
    distance_mm: float
    depth_mm: float
    along_mm: float = 0.0

    @classmethod
    def over(cls, plane: PlaneMap, frame: Frame, thickness: float) -> Overhead:
        """The camera that sees `plane`, told in a frame that lies in it; sockets are as deep as the board is thick."""
        x, y = frame.from_plane(plane.nadir_mm[None])[0]
        return cls(float(x), plane.distance_mm, thickness, float(y) - thickness / 2.0)

    @property
    def _drawn_in(self) -> float:
        """By what share of its distance from the point below the camera something on a floor is seen nearer to it."""
        return self.depth_mm / (self.distance_mm + self.depth_mm)

    def shift(self, wall: RoughWall) -> float:
        """How far outward from itself (mm) a line beside `wall` is seen on the floor of the socket, by perspective."""
        return outward(wall) * (self.x_mm - wall.x_mm) * self._drawn_in

    def short_of(self, face: float, half_mm: float) -> float:
        """How far short of a face (mm) a floor is seen to end.

        `face` is -1 for the show face and +1 for the other, `half_mm` half the thickness.
        """
        return (half_mm - face * self.along_mm) * self._drawn_in


def square(wall: RoughWall) -> float:
    """Slope, in the wall's band, of a line square to the datum."""
    return -outward(wall) * wall.lean


def nothing_known() -> Shared:
    """What is believed of any board."""
    mean = np.array([0.0, 0.0, 0.58, -0.1, 0.0, 0.3, 0.0, 0.0, 0.0, FAR_AWAY, 0.0, FAR_AWAY])
    sigma = np.array([0.4, 0.02, 0.12, 0.4, 0.004, 0.1, 0.5, 0.5, 0.5, 5.0, 0.3, 5.0])
    return Shared(mean, sigma, WORTH_A_LINE)


def first_belief(plain: list[WallPicture]) -> Shared:
    """Kerf width from the slimmer half of the plain fits: a line beside a kerf makes it look wider."""
    belief = nothing_known()
    belief.mean[KERF] = float(np.percentile([picture.parameters[KERF] for picture in plain], 35))
    belief.sigma[KERF] = 0.05
    return belief


def lined_throughout(belief: Shared) -> Shared:
    """The same board if every kerf has a line close beside it, almost as dark, that had passed for a part of it."""
    mean = with_changed(belief.mean, (KERF, belief.mean[KERF] - belief.mean[LINE_WIDTH]), (INK, _DARK_INK))
    return replace(belief, mean=mean, sigma=with_changed(belief.sigma, (INK, _DARK_INK_SPREAD)))


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
    beyond = np.mean([beyond_kerf(each) for each in parameters[dark]])
    doubted = dark.sum() >= _FEWEST_LINES and beyond <= _MOST_BEYOND
    return replace(belief, line_price=0.0 if sure else DOUBTED_LINE, beyond_price=_OTHER_SIDE if doubted else 0.0)


def beyond_kerf(parameters: Floats) -> bool:
    """Whether the line of a picture (12,) lies nearer to the kerf's far border than to the wall."""
    return bool(parameters[LINE] > parameters[EDGE] + parameters[KERF] / 2.0)


def with_changed(parameters: Floats, *changes: tuple[int | slice, float | Floats]) -> Floats:
    """The parameters with some of them replaced."""
    changed = parameters.copy()
    for index, value in changes:
        changed[index] = value
    return changed

"""From fitted lines to quantities: every number of the end with its labelled sources of error (JCGM 100:2008).

Fits contribute through their own standard uncertainties. What the card's picture does not determine (pose, focal
length, lens) enters by moving the plane along the principal axes of its covariance and measuring the same pixels again;
the print and the card's height and tilt against the end, by moving the end's points the way such an error would.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.plane import PlaneMap
from calibration.quantity import Quantity, Source
from vision.board_sides import Side
from vision.locate import FoundEnd
from vision.measure_walls import MeasuredWall
from vision.strip import Frame

Floats = NDArray[np.float64]

PRINT_SCALE_U = 0.001
"""Relative standard uncertainty of the printed card's scale, in x and in y, after its bars were held against a rule: a
rule read to 0.2 mm over 100 mm, rectangular (JCGM 100:2008, 4.3.7)."""
PRINT_SKEW_U = np.radians(0.015)
"""Standard uncertainty of the printed card's right angle (common practice, no source)."""
CARD_HEIGHT_U_MM = 0.15
CARD_TILT_U = np.radians(0.13)
"""Card against end, set up as the instructions say: standard uncertainties of height and of tilt about each axis
(common practice, no source)."""
EDGE_MODEL_U_MM = 0.008
"""What the edge model leaves in a wall's place, one standard deviation."""

_SMALL_STEP = 0.1
"""Share of a standard deviation stepped for the first-order change: whole steps bend."""

Move = Callable[[Floats], Floats]
"""Where the end's points (n, 2) in plane mm would be if one error were one standard uncertainty large."""


@dataclass(frozen=True)
class EndPoints:
    """The end's own points in plane mm: the frame's corners and both ends of every wall, and how to tell them apart."""

    frame: Frame
    points: Floats

    @classmethod
    def of(cls, end: FoundEnd, walls: list[MeasuredWall], left: Side, right: Side) -> EndPoints:
        """Show-face ends, transfer-face middle, then each wall's show and transfer ends."""
        t = end.thickness
        corners = [[left.x, 0.0], [right.x, 0.0], [(left.x + right.x) / 2.0, t]]
        ends = [[wall.line.at(y - t / 2.0), y] for wall in walls for y in (0.0, t)]
        return cls(end.frame, end.frame.to_plane(np.array(corners + ends)))

    def numbers(self, points: Floats) -> Floats:
        """Width, thickness, then every wall's x at show and at transfer face (mm), from moved plane points.

        The frame is laid anew through the moved show-face ends, as a person would measure them.
        """
        right = points[1] - points[0]
        width = float(np.linalg.norm(right))
        frame = Frame.turned(points[0], float(np.arctan2(right[1], right[0])))
        if frame.down @ (points[2] - points[0]) < 0.0:
            frame = Frame(frame.origin, frame.right, -frame.down)
        inside = frame.from_plane(points)
        return np.concatenate([[width, inside[2, 1]], inside[3:, 0]])


def moves_of(plane: PlaneMap, frame: Frame) -> dict[Source, Move]:
    """Every error that all points of the end share, as a move of plane points by one standard uncertainty."""
    moves: dict[Source, Move] = {}
    for index, step in enumerate(_principal_steps(plane)):
        moves[Source("card corners and lens", f"axis {index}")] = _remeasured(plane, step)
    moves[Source("print scale", "x")] = lambda points: points * [1.0 + PRINT_SCALE_U, 1.0]
    moves[Source("print scale", "y")] = lambda points: points * [1.0, 1.0 + PRINT_SCALE_U]
    moves[Source("print skew")] = lambda points: points + points[:, ::-1] * [np.tan(PRINT_SKEW_U), 0.0]
    for name, height in _heights(frame).items():
        moves[Source(*name)] = _raised(plane, height)
    return moves


def _heights(frame: Frame) -> dict[tuple[str, str], Callable[[Floats], Floats]]:
    """Heights (n,) of the end above the card's plane that one standard uncertainty of the set-up makes."""
    return {
        ("card height", ""): lambda points: np.full(len(points), CARD_HEIGHT_U_MM),
        ("card tilt", "along the width"): lambda points: CARD_TILT_U * ((points - frame.origin) @ frame.right),
        ("card tilt", "across the thickness"): lambda points: CARD_TILT_U * ((points - frame.origin) @ frame.down),
    }


def _principal_steps(plane: PlaneMap) -> Floats:
    """Steps (9, 9) of theta, one standard deviation along each principal axis of its covariance."""
    scale = np.sqrt(np.diag(plane.covariance))
    values, vectors = np.linalg.eigh(plane.covariance / np.outer(scale, scale))
    return np.asarray((vectors * np.sqrt(np.maximum(values, 0.0))).T * scale)


def _remeasured(plane: PlaneMap, step: Floats) -> Move:
    moved = plane.with_theta(plane.theta + _SMALL_STEP * step)
    return lambda points: points + (moved.to_plane(plane.to_image(points)) - points) / _SMALL_STEP


def _raised(plane: PlaneMap, height: Callable[[Floats], Floats]) -> Move:
    nadir, distance = plane.nadir_mm, plane.distance_mm
    return lambda points: nadir + (points - nadir) * (1.0 - height(points) / distance)[:, None]


@dataclass(frozen=True)
class EndQuantities:
    """Width, thickness and, for every wall, x at the show face and at the transfer face, all in mm."""

    width: Quantity
    thickness: Quantity
    x_show: list[Quantity]
    x_transfer: list[Quantity]


def end_quantities(plane: PlaneMap, end: FoundEnd, walls: list[MeasuredWall], left: Side, right: Side) -> EndQuantities:
    """The end's numbers with all their sources."""
    shape = EndPoints.of(end, walls, left, right)
    values = shape.numbers(shape.points)
    parts: list[dict[Source, float]] = [{} for _ in values]
    for source, move in moves_of(plane, shape.frame).items():
        changes = shape.numbers(move(shape.points)) - values
        for part, change in zip(parts, changes, strict=True):
            part[source] = float(change)
    _add_fits(parts, end, walls, left, right)
    found = [Quantity(float(value), part) for value, part in zip(values, parts, strict=True)]
    return EndQuantities(found[0], found[1], found[2::2], found[3::2])


def _add_fits(
    parts: list[dict[Source, float]], end: FoundEnd, walls: list[MeasuredWall], left: Side, right: Side
) -> None:
    """The sources of the fits themselves: sides, face edges, and each wall's own place and direction."""
    width, thickness = parts[0], parts[1]
    width[Source("board side", "left")], width[Source("board side", "right")] = -left.u, right.u
    thickness[Source("face edges", "thickness")] = end.thickness_u
    for index, wall in enumerate(walls):
        for y, part in ((0.0, parts[2 + 2 * index]), (end.thickness, parts[3 + 2 * index])):
            name = f"tail {wall.wall.tail} {wall.wall.side}"
            part[Source("board side", "left")] = -left.u
            part[Source("datum direction")] = end.direction_u * y
            part[Source("wall edge place", name)] = float(np.hypot(wall.line.level_u, EDGE_MODEL_U_MM))
            part[Source("wall edge direction", name)] = wall.line.slope_u * (y - end.thickness / 2.0 - wall.line.middle)

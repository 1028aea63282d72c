"""From fitted lines to quantities: every number of the end with its labelled sources of error (JCGM 100:2008).

Fits contribute through their own standard uncertainties. What the card's picture does not determine (pose, focal
length, lens, print) enters by moving the plane along its covariance and measuring the same pixels again; the card's
height and tilt against the end, by moving the end's points the way such an error would.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.plane import POSE, PlaneMap
from calibration.quantity import Quantity, Source
from vision.end.found_end import FoundEnd
from vision.end.laid import BOARD_UNPARALLEL_U
from vision.end.report import PrintCost
from vision.end.sides import Side
from vision.lie.card_lie import IN_PLANE, CardLie, TiltedView, lie_moves
from vision.photo.strip import Frame
from vision.walls.measure import MeasuredWall

Floats = NDArray[np.float64]

EDGE_MODEL_U_MM = 0.008
"""What the edge model leaves in a wall's place, one standard deviation."""

PRINT = (Source("print scale", "x"), Source("print scale", "y"), Source("print skew"))
"""What is not known of the print, in the order of its shape's `steps`."""
LENS_PARTS = ("focal length", "k1", "k2", "centre x", "centre y")
"""What is not known of the lens, as theta holds it."""
_TINY = 1e-12
"""Keeps the correlations of a lens known very well a matrix that has a Cholesky factor."""
_NOTHING = 1e-300
"""Variance of what is known exactly: a number to divide by."""
_SMALL_STEP = 0.1
"""Share of a standard deviation stepped for the first-order change: whole steps bend."""

Move = Callable[[Floats], Floats]
"""Where the end's points (n, 2) in plane mm would be if one error were one standard uncertainty large."""


class EndPoints(NamedTuple):
    """The end's own points in plane mm: its four corners and both ends of every wall, and how to tell them apart.

    Where a side's direction is not seen, its corners lie square above one another.

    `transfer_share` is how much of the datum's direction is the transfer-face edge's.
    """

    frame: Frame
    points: Floats
    transfer_share: float = 0.0

    @classmethod
    def of(cls, end: FoundEnd, walls: list[MeasuredWall], left: Side, right: Side) -> EndPoints:
        """Corners left and right at the show face, then at the transfer face; each wall's show and transfer ends."""
        t = end.thickness
        corners = [[side.x + math.tan(side.lean) * y, y] for y in (0.0, t) for side in (left, right)]
        ends = [[wall.line.at(y - t / 2.0), y] for wall in walls for y in (0.0, t)]
        return cls(end.frame, end.frame.to_plane(np.array(corners + ends)), _transfer_share(end))

    @property
    def middle_frame(self) -> Frame:
        """The end's frame with its origin in the middle of the show-face edge."""
        return self.frame.moved(float(self.frame.from_plane(self.points[:2]).mean(axis=0)[0]), 0.0, 0.0)

    def frame_of(self, points: Floats) -> Frame:
        """The end's frame laid anew through moved plane points (n, 2), as a person would lay it."""
        show, transfer = points[1] - points[0], points[3] - points[2]
        right = (1.0 - self.transfer_share) * _unit(show) + self.transfer_share * _unit(transfer)
        frame = Frame.turned(points[0], float(np.arctan2(right[1], right[0])))
        if frame.down @ (points[2] - points[0]) < 0.0:
            return Frame(frame.origin, frame.right, -frame.down)
        return frame

    def divergence(self, points: Floats) -> float:
        """Angle (rad) from the show-face to the transfer-face edge, positive from x to y, from moved plane points."""
        frame = self.frame_of(points)
        slopes = [(frame.down @ edge) / (frame.right @ edge) for edge in (points[1] - points[0], points[3] - points[2])]
        return float(np.arctan(slopes[1]) - np.arctan(slopes[0]))

    def fan_of_sides(self, points: Floats) -> float:
        """Angle (rad) from the left to the right side, positive from y to x, from moved plane points."""
        frame = self.frame_of(points)
        left, right = (math.atan2(frame.right @ side, frame.down @ side) for side in (points[2:4] - points[:2]))
        return right - left

    def numbers(self, points: Floats) -> Floats:
        """Width, thickness, then every wall's x at show and at transfer face (mm), from moved plane points."""
        inside = self.frame_of(points).from_plane(points)
        width = float(np.linalg.norm(points[1] - points[0]))
        thickness = inside[2:4, 1].mean() - inside[:2, 1].mean()
        return np.concatenate([[width, thickness], inside[4:, 0]])


def _unit(vector: Floats) -> Floats:
    return np.asarray(vector / np.linalg.norm(vector))


def _transfer_share(end: FoundEnd) -> float:
    """How much of the datum's direction is the transfer-face edge's.

    Both edges are weighted by their inverse variances; those add up to that of their difference, and their product over
    it is the datum's. The show-face edge is the surer one, since faces are not quite parallel.
    """
    both = end.unparallel_u**2 + BOARD_UNPARALLEL_U**2
    return float(1.0 - np.sqrt(max(0.0, 1.0 - 4.0 * end.direction_u**2 / both))) / 2.0


def moves_of(plane: PlaneMap, frame: Frame, lie: CardLie = IN_PLANE) -> dict[Source, Move]:
    """Every error that all points of the end share, as a move of the points seen by one standard uncertainty.

    The end lies against the card as `lie` says in `frame`; points end up where they would truly be.
    """
    flat = TiltedView(plane, frame, lie).true_points
    seen = {source: _then(move, flat) for source, move in _plane_moves(plane).items()}
    return seen | lie_moves(plane, frame, lie)


def _then(move: Move, flat: Move) -> Move:
    return lambda points: flat(move(points))


def _plane_moves(plane: PlaneMap) -> dict[Source, Move]:
    """Every error of the plane, as a move of points in it."""
    moves: dict[Source, Move] = {}
    for index, step in enumerate(lens_steps(plane)):
        moves[Source("lens", LENS_PARTS[index])] = _remeasured(plane, step)
    for index, step in enumerate(corner_steps(plane)):
        moves[Source("card corners", f"axis {index}")] = _remeasured(plane, step)
    for source, step in zip(PRINT, plane.print_steps, strict=True):
        moves[source] = _remeasured(plane, step)
    return moves


def print_cost(plane: PlaneMap, shape: EndPoints, numbers: EndQuantities) -> PrintCost:
    """What it costs the `numbers` of the end's points that the printed card's shape is not known exactly."""
    values = shape.numbers(shape.points)
    moves = [_remeasured(plane, step) for step in plane.print_cost]
    changes = np.array([shape.numbers(move(shape.points)) - values for move in moves])
    swings = changes[:, 3::2] - changes[:, 2::2]
    pairs = zip(swings.T, numbers.x_show, numbers.x_transfer, strict=True)
    shares = [_share(swing, transfer - show) for swing, show, transfer in pairs]
    return PrintCost(plane.card.name, max(shares), _share(changes[:, 0], numbers.width))


def _share(part: Floats, whole: Quantity) -> float:
    """By how much of itself the uncertainty of `whole` shrinks without the independent contributions `part`."""
    return 1.0 - math.sqrt(max(0.0, 1.0 - float(part @ part) / whole.u**2))


def lens_steps(plane: PlaneMap) -> Floats:
    """Steps (lens parameters, theta) by what the photo leaves open of the lens, in the order of `LENS_PARTS`.

    The focal length's step takes along what hangs on it (Cholesky's factor), so that it means the same in every photo;
    the pose follows as the card's picture makes it: the regression of theta on its lens part. With `corner_steps` the
    squares of the steps add up to the photo's own covariance.
    """
    covariance = plane.own_covariance
    lens = covariance[POSE.stop :, POSE.stop :]
    scale = np.sqrt(np.diag(lens).clip(_NOTHING))
    alike = lens / np.outer(scale, scale) + _TINY * np.eye(len(lens))
    return np.asarray(np.linalg.solve(np.linalg.cholesky(alike), covariance[POSE.stop :] / scale[:, None]))


def corner_steps(plane: PlaneMap) -> Floats:
    """Steps (pose parameters, theta) by what the corners leave open of the pose were the lens known."""
    steps = np.zeros((POSE.stop, len(plane.theta)))
    lens = lens_steps(plane)
    steps[:, POSE] = _principal_axes((plane.own_covariance - lens.T @ lens)[POSE, POSE])
    return steps


def _principal_axes(covariance: Floats) -> Floats:
    """Steps (n, n), one standard deviation along each principal axis of a covariance of unlike parameters."""
    scale = np.sqrt(np.diag(covariance).clip(_NOTHING))
    values, vectors = np.linalg.eigh(covariance / np.outer(scale, scale))
    return np.asarray((vectors * np.sqrt(np.maximum(values, 0.0))).T * scale)


def _remeasured(plane: PlaneMap, step: Floats) -> Move:
    moved = plane.with_theta(plane.theta + _SMALL_STEP * step)
    return lambda points: points + (moved.to_plane(plane.to_image(points)) - points) / _SMALL_STEP


@dataclass(frozen=True)
class EndQuantities:
    """Width, thickness and, for every wall, x at the show face and at the transfer face, all in mm.

    `divergence` (rad) is the angle from the show-face to the transfer-face edge as it is seen; `fan_of_sides` (rad) is
    that from the left to the right side, None where one of them is not seen.
    """

    width: Quantity
    thickness: Quantity
    x_show: list[Quantity]
    x_transfer: list[Quantity]
    divergence: Quantity
    fan_of_sides: Quantity | None = None


def end_quantities(
    plane: PlaneMap, end: FoundEnd, walls: list[MeasuredWall], left: Side, right: Side, lie: CardLie = IN_PLANE
) -> EndQuantities:
    """The end's numbers with all their sources, for an end that lies against the card as `lie` says."""
    shape = EndPoints.of(end, walls, left, right)
    values = _numbers(shape, TiltedView(plane, shape.middle_frame, lie).true_points(shape.points))
    parts: list[dict[Source, float]] = [{} for _ in values]
    for source, move in moves_of(plane, shape.middle_frame, lie).items():
        changes = _numbers(shape, move(shape.points)) - values
        for part, change in zip(parts, changes, strict=True):
            part[source] = float(change)
    _add_fits(parts, end, walls, left, right)
    *found, _, _ = [Quantity(float(value), part) for value, part in zip(values, parts, strict=True)]
    divergence = Quantity(float(values[-2]) + end.unparallel, parts[-2], "rad")
    fan = _fan_of_sides(Quantity(float(values[-1]), parts[-1], "rad"), left, right)
    return EndQuantities(found[0], found[1], found[2::2], found[3::2], divergence, fan)


def _fan_of_sides(seen: Quantity, left: Side, right: Side) -> Quantity | None:
    """The angle between the sides with what their fits leave open; None where one of them is not seen."""
    if left.lean_u is None or right.lean_u is None:
        return None
    place = Source("board side", "left direction"), Source("board side", "right direction")
    return seen.with_part(place[0], left.lean_u).with_part(place[1], right.lean_u)


def _numbers(shape: EndPoints, points: Floats) -> Floats:
    """The end's numbers and, last, the divergence of its faces and the fan of its sides."""
    return np.append(shape.numbers(points), [shape.divergence(points), shape.fan_of_sides(points)])


def _add_fits(
    parts: list[dict[Source, float]], end: FoundEnd, walls: list[MeasuredWall], left: Side, right: Side
) -> None:
    """The sources of the fits themselves: sides, face edges, and each wall's own place and direction."""
    width, thickness = parts[0], parts[1]
    width[Source("board side", "left")], width[Source("board side", "right")] = -left.u, right.u
    thickness[Source("face edges", "thickness")] = end.thickness_u
    parts[-2][Source("face edges", "divergence")] = end.unparallel_u
    for index, wall in enumerate(walls):
        for y, part in ((0.0, parts[2 + 2 * index]), (end.thickness, parts[3 + 2 * index])):
            name = f"tail {wall.wall.tail} {wall.wall.side}"
            part[Source("board side", "left")] = -left.u
            part[Source("datum direction")] = end.direction_u * y
            place, direction = _wall_sources(wall, name)
            part[place] = float(np.hypot(wall.line.level_u, EDGE_MODEL_U_MM))
            part[direction] = wall.line.slope_u * (y - end.thickness / 2.0 - wall.line.middle)


def _wall_sources(wall: MeasuredWall, name: str) -> tuple[Source, Source]:
    """What a wall's place and its direction hang on: the fit to its edge, or the hand that placed it."""
    if wall.by_hand:
        return Source("placed by hand", f"{name} place"), Source("placed by hand", f"{name} direction")
    return Source("wall edge place", name), Source("wall edge direction", name)

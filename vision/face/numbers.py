"""From lines on a face to quantities: every number with its labelled sources of error (JCGM 100:2008).

Every error, of card, lens, lie or fit, is a move of the face's points; what a number changes by when the points move by
one standard uncertainty of a source is that source's part. So all numbers share what they really share.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.plane import PlaneMap
from calibration.quantity import Quantity, Source
from vision.end.uncertainty import moves_of
from vision.lie.card_lie import CardLie, TiltedView
from vision.photo.strip import Frame

Floats = NDArray[np.float64]
Move = Callable[[Floats], Floats]

CARD_ABOVE_FACE_MM = 0.3
"""How high the card's print lies above the face that it lies on: paper on thin card (common practice, no source)."""
LYING = CardLie(height_mm=-CARD_ABOVE_FACE_MM)
"""How the face lies against the card's plane."""
EDGE_PLACE_U_MM = 0.012
EDGE_DIRECTION_U = math.radians(0.004)
"""What wear of the end's edge leaves in its place and direction, one standard deviation."""

_CORNERS, _BASE = slice(0, 2), slice(2, 4)
FIRST, EACH = 4, 3
"""Index of the first wall's first point, and points of each wall."""


@dataclass(frozen=True)
class FacePoints:
    """The face's points in mm of its frame: corners at x = 0 and x = width, the baseline below them, then for every
    wall its place at the end, its place at the baseline's depth, and where its cut stops.

    `points` (4 + 3 n, 2); `frame` is the right-handed frame they are told in. `sides` (n,) is the way, +-1, that a
    wall moves along x when its tail narrows. `moves` are the errors of the fits, as moves of the points by one standard
    uncertainty.
    """

    frame: Frame
    points: Floats
    sides: Floats
    moves: dict[Source, Floats]

    def numbers(self, plane_points: Floats) -> Floats:
        """Width, baseline depths at x = 0 and at width, its angle (rad), then for each wall x at the end, slope,
        stop depth and past the baseline; from moved plane points (4 + 3 n, 2)."""
        width, inside = self._laid(plane_points)
        (left_x, left), (right_x, right) = inside[_BASE]
        turn = (right - left) / (right_x - left_x)
        ends, lows, stops = (inside[FIRST + k :: EACH] for k in range(EACH))
        slopes = (lows[:, 0] - ends[:, 0]) / (lows[:, 1] - ends[:, 1])
        x = ends[:, 0] - slopes * ends[:, 1]
        past = stops[:, 1] - left - turn * (stops[:, 0] - left_x)
        at = [left - turn * left_x, left + turn * (width - left_x)]
        each = np.column_stack([x, self.sides * slopes, stops[:, 1], past])
        return np.concatenate([[width, *at, math.atan(turn)], each.ravel()])

    def _laid(self, plane_points: Floats) -> tuple[float, Floats]:
        """The width, and the points in the face frame laid anew through the moved corners."""
        frame = self.frame_of(plane_points)
        width = float(np.linalg.norm(plane_points[1] - plane_points[0]))
        return width, frame.from_plane(plane_points)

    def frame_of(self, plane_points: Floats) -> Frame:
        """The face frame through moved points: from the corner at x = 0 to the other, depth away from the end."""
        along = plane_points[1] - plane_points[0]
        right = along / np.linalg.norm(along)
        down = np.array([-right[1], right[0]])
        if down @ (plane_points[2] - plane_points[0]) < 0.0:
            down = -down
        return Frame(plane_points[0], right, down)


@dataclass(frozen=True)
class FaceQuantities:
    """The face's numbers: mm, but `out_of_square` in degrees and slopes as run over rise. Walls as in `FacePoints`."""

    width: Quantity
    depth_left: Quantity
    depth_right: Quantity
    out_of_square: Quantity
    x_at_end: list[Quantity]
    slope: list[Quantity]
    stop_depth: list[Quantity]
    past_baseline: list[Quantity]


def face_quantities(plane: PlaneMap, shape: FacePoints) -> FaceQuantities:
    """The numbers of the face's points with all their sources."""
    seen = shape.frame.to_plane(shape.points)
    middle = shape.frame.moved(float(shape.points[_CORNERS, 0].mean()), 0.0, 0.0)
    flat = TiltedView(plane, middle, LYING).true_points
    values = shape.numbers(flat(seen))
    changes = {source: shape.numbers(move(seen)) - values for source, move in moves_of(plane, middle, LYING).items()}
    for source, move in shape.moves.items():
        changes[source] = shape.numbers(flat(shape.frame.to_plane(shape.points + move))) - values
    quantities = [
        Quantity(float(value), {source: float(change[i]) for source, change in changes.items() if change[i]})
        for i, value in enumerate(values)
    ]
    width, left, right, turn = quantities[:4]
    walls = quantities[4:]
    slopes = [Quantity(slope.value, slope.parts, "") for slope in walls[1::4]]
    out_of_square = turn.scaled(math.degrees(1.0), "deg")
    return FaceQuantities(width, left, right, out_of_square, walls[0::4], slopes, walls[2::4], walls[3::4])


def face_to_image(plane: PlaneMap, shape: FacePoints) -> Callable[[Floats], Floats]:
    """From the face frame, as the numbers have it, to the photo."""
    middle = shape.frame.moved(float(shape.points[_CORNERS, 0].mean()), 0.0, 0.0)
    view = TiltedView(plane, middle, LYING)
    frame = shape.frame_of(view.true_points(shape.frame.to_plane(shape.points)))
    return lambda points: plane.to_image(view.seen_points(frame.to_plane(np.asarray(points, float))))

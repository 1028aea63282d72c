"""The measured parts of a face put together: its points, and how each fit's own error moves them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Source
from vision.end.report import Side, narrowing
from vision.end.uncertainty import EDGE_MODEL_U_MM
from vision.face.baseline import PLACE_U_MM, BaselineFit
from vision.face.kerf_stops import Stop
from vision.face.numbers import EACH, EDGE_DIRECTION_U, EDGE_PLACE_U_MM, FIRST, FacePoints
from vision.face.report import FaceView
from vision.face.sides import LongEdge
from vision.photo.strip import Frame
from vision.walls.fit import LineFit

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FaceWall:
    """One wall as measured: `line` is x(y - depth / 2) in the face's search frame, `stop` where its cut stops."""

    tail: int
    side: Side
    line: LineFit
    stop: Stop
    kerf_mm: float | None


@dataclass(frozen=True)
class FaceParts:
    """Everything measured on a face in its search `frame`, in which x runs from right to left, the end at the bottom.

    `depth_mm` is that of the bands the walls were measured in; `sides` the long edges left and right of the frame.
    """

    frame: Frame
    depth_mm: float
    walls: list[FaceWall]
    sides: tuple[LongEdge, LongEdge]
    baseline: BaselineFit

    def shape(self, view: FaceView) -> FacePoints:
        """The points and what moves them; on the transfer face x counts from the other side."""
        sides = self.sides if view == "show" else self.sides[::-1]
        way = 1.0 if view == "show" else -1.0
        points = self._points(sides)
        signs = np.array([way * narrowing(wall.side) for wall in self.walls])
        return FacePoints(self.frame, points, signs, self._moves(points, sides))

    def _points(self, sides: tuple[LongEdge, LongEdge]) -> Floats:
        corners = [[side.x, 0.0] for side in sides]
        below = [[side.x, self.baseline.line.at(side.x)] for side in sides]
        walls = [
            [wall.line.at(y - self.depth_mm / 2.0), y]
            for wall in self.walls
            for y in (0.0, self.depth_mm, wall.stop.y_mm)
        ]
        return np.array(corners + below + walls)

    def _moves(self, points: Floats, sides: tuple[LongEdge, LongEdge]) -> dict[Source, Floats]:
        """The fits' own errors, each as a move (points, 2) of the points by one standard uncertainty."""
        moves = self._edge_moves(points) | self._baseline_moves(points)
        for index, (side, name) in enumerate(zip(sides, ("left", "right"), strict=True)):
            moves[Source("board side", name)] = _across(_only(points, index) * side.u)
        for index, wall in enumerate(self.walls):
            moves |= self._wall_moves(points, wall, FIRST + EACH * index)
        return moves

    def _edge_moves(self, points: Floats) -> dict[Source, Floats]:
        corners = _only(points, 0, 1)
        about = points[:, 0] - points[:2, 0].mean()
        return {
            Source("end's edge", "place"): _down(corners * EDGE_PLACE_U_MM),
            Source("end's edge", "direction"): _down(corners * about * EDGE_DIRECTION_U),
        }

    def _baseline_moves(self, points: Floats) -> dict[Source, Floats]:
        line, below = self.baseline.line, _only(points, 2, 3)
        return {
            Source("baseline", "place"): _down(below * float(np.hypot(line.level_u, PLACE_U_MM))),
            Source("baseline", "direction"): _down(below * (points[:, 0] - line.middle) * line.slope_u),
        }

    def _wall_moves(self, points: Floats, wall: FaceWall, first: int) -> dict[Source, Floats]:
        name, line = f"tail {wall.tail} {wall.side}", wall.line
        own = _only(points, first, first + 1, first + 2)
        lever = points[:, 1] - self.depth_mm / 2.0 - line.middle
        place_u = float(np.hypot(line.level_u, EDGE_MODEL_U_MM))
        return {
            Source("wall edge place", name): _across(own * place_u),
            Source("wall edge direction", name): _across(own * lever * line.slope_u),
            Source("stop of the cut", name): _down(_only(points, first + 2) * wall.stop.u_mm),
        }


def _only(points: Floats, *which: int) -> Floats:
    """1 for the points named, 0 for the others, (n,)."""
    chosen = np.zeros(len(points))
    chosen[list(which)] = 1.0
    return chosen


def _down(by: Floats) -> Floats:
    return np.column_stack([np.zeros(len(by)), by])


def _across(by: Floats) -> Floats:
    return np.column_stack([by, np.zeros(len(by))])

"""The walls of a tail board as surfaces: x as a function of y across the thickness and of the depth z from the end.

A sawn wall is a plane that may be twisted: x = x0 + lean y + slope z + twist y z (mm; y from the show face, z from the
end). Its four corners say the same as those four numbers, and every view shows some of them: the end the two at z = 0,
a face the two along its y. More is seen than is needed, so the corners of all walls are found together by generalised
least squares, with all that the views share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Quantity, Source, angle_of, combine
from vision.board.views import BoardViews
from vision.end.report import Side, Wall, narrowing
from vision.face.report import FaceView
from vision.together.adjustment import adjusted

Floats = NDArray[np.float64]

TWIST_U = 0.01
"""How far a wall's slope (run over rise) on a face that was not photographed may differ from that on the other: 0.6
degrees (common practice, no source; hand-sawn walls wind by about as much as they lean)."""

CORNERS = 4
_AT_END: dict[FaceView, int] = {"show": 0, "transfer": 1}
_BELOW = 2


@dataclass(frozen=True)
class BoardWall:
    """One wall by its corners: x (mm) at the end on show and transfer face, then on both at `depth_mm`.

    `depth_mm` and `thickness_mm`, where the corners are, are exact: they are chosen, and x told for them.
    """

    tail: int
    side: Side
    corners: tuple[Quantity, Quantity, Quantity, Quantity]
    depth_mm: float
    thickness_mm: float

    def x_at(self, y_mm: float, depth_mm: float) -> Quantity:
        """Its x at a place: `y_mm` from the show face, `depth_mm` from the end."""
        v, w = y_mm / self.thickness_mm, depth_mm / self.depth_mm
        weights = ((1.0 - v) * (1.0 - w), v * (1.0 - w), (1.0 - v) * w, v * w)
        return combine(list(zip(weights, self.corners, strict=True)))

    def overlap_at(self, depth_mm: float) -> Quantity:
        """How far it reaches into its socket at the show face, past its place at the transfer face, mm."""
        return self._run_across(depth_mm).scaled(narrowing(self.side))

    def lean_at(self, depth_mm: float) -> Quantity:
        """Its lean (deg) at a depth: positive when it moves to +x from show to transfer face."""
        return angle_of(self._run_across(depth_mm), self.thickness_mm)

    def slope_at(self, y_mm: float) -> Quantity:
        """Its slope, run over rise, at a height: positive when the tail narrows away from the end."""
        run = self.x_at(y_mm, self.depth_mm) - self.x_at(y_mm, 0.0)
        return run.scaled(narrowing(self.side) / self.depth_mm, "")

    @property
    def twist(self) -> Quantity:
        """How much more it leans (deg) at the baseline than at the end."""
        run = combine(list(zip((1.0, -1.0, -1.0, 1.0), self.corners, strict=True)))
        return angle_of(run, self.thickness_mm)

    def _run_across(self, depth_mm: float) -> Quantity:
        """How far it moves to +x (mm) from show to transfer face."""
        return self.x_at(self.thickness_mm, depth_mm) - self.x_at(0.0, depth_mm)


@dataclass(frozen=True)
class BoardShape:
    """The board's walls in depth, its width and thickness, and the depth of its sockets, in mm."""

    walls: tuple[BoardWall, ...]
    width: Quantity
    thickness: Quantity
    depth: Quantity

    def end_walls(self, seen: Sequence[Wall]) -> list[Wall]:
        """The walls at the end, as `seen` there, with the places that all views give them."""
        return [_moved(wall, surface) for wall, surface in zip(seen, self.walls, strict=True)]


def fit_walls(views: BoardViews) -> BoardShape:
    """The board's shape from all its views. Raises ValueError when no face was seen."""
    equations = _Equations(views)
    found = adjusted(np.array(equations.rows), equations.observed)
    corners = [found[start : start + CORNERS] for start in range(1, len(found), CORNERS)]
    depth_mm, thickness_mm = views.depth.value, views.thickness.value
    walls = tuple(
        BoardWall(wall.tail, wall.side, (a, b, c, d), depth_mm, thickness_mm)
        for wall, (a, b, c, d) in zip(views.walls, corners, strict=True)
    )
    return BoardShape(walls, found[0], views.thickness, views.depth)


class _Equations:
    """Observations as sums of the unknowns: the width, then the corners of every wall."""

    def __init__(self, views: BoardViews) -> None:
        self.rows: list[Floats] = []
        self.observed: list[Quantity] = []
        self._unknowns = 1 + CORNERS * len(views.walls)
        self._see({0: 1.0}, views.width)
        for index in range(len(views.walls)):
            self._see_end(views, index)
            for face in views.faces:
                self._see_face(views, index, face)
            if len(views.faces) == 1:
                self._presume_twist(views, index)
        for seen in views.faces.values():
            self._see({0: 1.0}, seen.width)

    def _see(self, weights: dict[int, float], observed: Quantity) -> None:
        row = np.zeros(self._unknowns)
        row[list(weights)] = list(weights.values())
        self.rows.append(row)
        self.observed.append(observed)

    def _see_end(self, views: BoardViews, index: int) -> None:
        start = 1 + CORNERS * index
        self._see({start: 1.0}, views.x_show[index])
        self._see({start + 1: 1.0}, views.x_transfer[index])

    def _see_face(self, views: BoardViews, index: int, face: FaceView) -> None:
        corner = 1 + CORNERS * index + _AT_END[face]
        line = views.faces[face].lines[index]
        self._see({corner: 1.0}, line.x_at(0.0))
        self._see({corner + _BELOW: 1.0}, line.x_at(views.depth.value))

    def _presume_twist(self, views: BoardViews, index: int) -> None:
        """The face that was not seen runs as the other does, give or take `TWIST_U`."""
        start, wall = 1 + CORNERS * index, views.walls[index]
        source = Source("unseen face", f"tail {wall.tail + 1} {wall.side}")
        twist = Quantity(0.0, {source: TWIST_U * views.depth.value})
        self._see({start: 1.0, start + 1: -1.0, start + 2: -1.0, start + 3: 1.0}, twist)


def _moved(wall: Wall, surface: BoardWall) -> Wall:
    x_show, x_transfer = surface.corners[:2]
    lean = surface.lean_at(0.0)
    return replace(wall, lean=lean, x_show=x_show, x_transfer=x_transfer, out_of_square=x_transfer - x_show)

"""Both edges of every kerf of a drill board, measured as the walls of a tail board are, and the line between them.

The wood on either side of a kerf is a tail as far as its edge goes, with the kerf on its waste side. All left edges are
measured together, then all right ones, so that what one saw and one pen leave alike is shared among them. A sloped kerf
is shown to the fit along its own direction: lines beside it are drawn along the slope.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.quantity import Quantity, Source
from vision.drill.plan import Keep
from vision.end.find_walls import Cut, RoughWall
from vision.end.report import Side
from vision.end.uncertainty import EDGE_MODEL_U_MM
from vision.walls.bands import WallBands
from vision.walls.fit import LineFit
from vision.walls.measure import Cutter, MeasuredWall, Measurer

LIT_U_MM = 0.02
"""How much narrower a kerf looks, one standard deviation, where light falls on its walls and where a line runs along it
(0.02 mm on twenty cuts of three rendered drill boards)."""


@dataclass(frozen=True)
class Kerf:
    """One kerf by its two measured edges, in the end frame."""

    left: MeasuredWall
    right: MeasuredWall

    def kept(self, keep: Keep) -> MeasuredWall:
        """The edge of the wood that is kept, or the middle of both edges: the way that the saw's plate took."""
        return _middle_of(self.left, self.right) if keep == "both" else self.left if keep == "left" else self.right

    def edges(self, keep: Keep) -> tuple[MeasuredWall, ...]:
        """The edges that the kept line rests on."""
        return (self.left, self.right) if keep == "both" else (self.kept(keep),)

    @property
    def width(self) -> Quantity:
        """Width square to the kerf (mm); what the edge model leaves is taken to widen it at both edges."""
        left, right = self.left.line, self.right.line
        square = float(np.cos(np.arctan((left.slope + right.slope) / 2.0)))
        fits = float(np.hypot(left.level_u, right.level_u))
        parts = {
            Source("kerf edges", "fits"): fits,
            Source("kerf edges", "model"): 2.0 * EDGE_MODEL_U_MM,
            Source("kerf edges", "light within"): LIT_U_MM,
        }
        return Quantity((right.at(0.0) - left.at(0.0)) * square, parts)


def measure_kerfs(measure: Measurer, cutter: Cutter, cuts: Sequence[Cut], guides: Sequence[float]) -> list[Kerf]:
    """Both edges of the `cuts`; `guides` (tangents) are the directions along which lines were drawn, if any.

    `measure` measures walls from the bands that `cutter` cuts.
    """
    sides: tuple[Side, Side] = ("right", "left")
    left, right = (_edges(measure, cutter, cuts, guides, side) for side in sides)
    return [Kerf(*pair) for pair in zip(left, right, strict=True)]


def _edges(
    measure: Measurer, cutter: Cutter, cuts: Sequence[Cut], guides: Sequence[float], side: Side
) -> list[MeasuredWall]:
    """One edge of every cut: the right wall of the wood to its left, or the left wall of that to its right."""
    walls = [
        RoughWall(index, side, each.left if side == "right" else each.right, each.lean - guide, each.width)
        for index, (each, guide) in enumerate(zip(cuts, guides, strict=True))
    ]
    found = measure(lambda walls: _cut_along(cutter, walls, guides), walls)
    return [_told_upright(wall, guide) for wall, guide in zip(found, guides, strict=True)]


def _cut_along(cutter: Cutter, walls: list[RoughWall], guides: Sequence[float]) -> WallBands:
    """Bands of walls whose leans are told from their guides."""
    true = [replace(wall, lean=wall.lean + guide) for wall, guide in zip(walls, guides, strict=True)]
    return replace(cutter(true), walls=walls)


def _told_upright(wall: MeasuredWall, guide: float) -> MeasuredWall:
    """The wall, measured from its guide, in the end frame."""
    line = replace(wall.line, level=wall.line.level + guide * wall.line.middle, slope=wall.line.slope + guide)
    rough = replace(wall.wall, lean=wall.wall.lean + guide)
    return replace(wall, wall=rough, line=line, x=wall.x + guide * wall.y)


def _middle_of(left: MeasuredWall, right: MeasuredWall) -> MeasuredWall:
    """The line midway. Either edge's fit looks at the whole kerf, so that the two are taken to err alike."""
    a, b = left.line, right.line
    line = LineFit(
        a.middle,
        (a.level + b.at(a.middle)) / 2.0,
        (a.slope + b.slope) / 2.0,
        (a.level_u + b.level_u) / 2.0,
        (a.slope_u + b.slope_u) / 2.0,
        (a.scatter + b.scatter) / 2.0,
        a.independent + b.independent,
    )
    x = (left.x + np.interp(left.y, right.y, right.x)) / 2.0
    return replace(left, line=line, x=x)

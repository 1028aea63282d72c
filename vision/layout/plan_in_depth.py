"""A board's walls below the end against its plan: slopes, and where the walls run at the baseline.

The lines drawn down the faces run along the plan's slope, so a wall is compared with them at the depth at which the
baseline was found, and the baseline itself with the depth that was planned.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from calibration.quantity import Quantity
from vision.board.walls import BoardShape, BoardWall
from vision.end.report import narrowing
from vision.layout.plan import Line, Plan
from vision.layout.plan_check import Course, course_of


@dataclass(frozen=True)
class DeepLine:
    """One line at the baseline: measured minus intended place in mm at the two faces (positive to the right).

    `intended_mm` is where the line is at that depth, `slope_off` measured minus intended slope, run over rise, in the
    middle of the thickness; `course` is where the sawn wall runs down there.
    """

    line: Line
    intended_mm: float
    off_show: Quantity
    off_transfer: Quantity
    slope_off: Quantity
    course: Course

    def to_dict(self) -> dict[str, Any]:
        """What a board adds under `plan` of a wall in the result JSON."""
        return {
            "intended_baseline_mm": round(self.intended_mm, 4),
            "off_baseline_show_mm": round(self.off_show.value, 4),
            "off_baseline_transfer_mm": round(self.off_transfer.value, 4),
            "off_baseline_u95_mm": round(max(self.off_show.u95, self.off_transfer.u95), 4),
            "slope_off": round(self.slope_off.value, 4),
            "slope_off_u95": round(self.slope_off.u95, 4),
            "course_baseline": self.course,
        }


@dataclass(frozen=True)
class PlanInDepth:
    """A board below its end against its plan: the baseline's depth less the planned one, and every line."""

    depth_off: Quantity
    lines: tuple[DeepLine, ...]

    def to_dict(self) -> dict[str, Any]:
        """What a board adds to the object `plan` of the result JSON."""
        return {
            "depth_off_mm": round(self.depth_off.value, 4),
            "depth_off_u95_mm": round(self.depth_off.u95, 4),
        }


def check_in_depth(shape: BoardShape, plan: Plan, limit_mm: float) -> PlanInDepth:
    """Every wall of a board against the plan's line at the baseline. Raises ValueError for another number of tails."""
    lines = tuple(_check_line(wall, line, plan, limit_mm) for wall, line in zip(shape.walls, plan.lines, strict=True))
    return PlanInDepth(shape.depth - plan.depth_mm, lines)


def _check_line(wall: BoardWall, line: Line, plan: Plan, limit_mm: float) -> DeepLine:
    way = narrowing(wall.side)
    intended_mm = line.x_end_mm + way * plan.slope * wall.depth_mm
    show, transfer = (wall.x_at(y, wall.depth_mm) - intended_mm for y in (0.0, wall.thickness_mm))
    course = course_of([show.scaled(-way), transfer.scaled(-way)], limit_mm)
    return DeepLine(line, intended_mm, show, transfer, wall.slope_at(wall.thickness_mm / 2.0) - plan.slope, course)

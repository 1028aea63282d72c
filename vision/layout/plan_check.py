"""A measured end against its plan: measured minus intended per line, and what the saw did with the line.

The line drawn on the end is the wall that was meant. The saw should leave it, its kerf beside it in the waste.
Places are compared from the board's left edge, at both faces. A line counts as kept, or as left, only beyond U.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from calibration.quantity import Quantity, combine
from vision.end.report import Measurement, Wall, narrowing
from vision.layout.plan import Line, Plan

LINE_LIMIT_MM = 0.25
"""How far from the line counts as kept to it: about a pencil line's breadth (common practice, no source)."""

Course = Literal["kept", "in the waste", "in the tail", "across the line", "too close to call"]
KerfSide = Literal["waste", "tail", "too close to call"]


@dataclass(frozen=True)
class LineCheck:
    """One line: measured minus intended place in mm at the two faces (positive to the right), and what that means.

    `course` is where the sawn wall runs; `kerf_side` on which side of the line the middle of the kerf lies: `waste` is
    right, `tail` is the wrong side. It is None once the waste, and the kerf with it, is gone.
    """

    line: Line
    off_show: Quantity
    off_transfer: Quantity
    course: Course
    kerf_side: KerfSide | None

    @property
    def mean_off(self) -> Quantity:
        """Measured minus intended in the middle of the thickness."""
        return _mean(self.off_show, self.off_transfer)

    def to_dict(self) -> dict[str, Any]:
        """What stands under `plan` of a wall in the result JSON."""
        return {
            "intended_mm": round(self.line.x_end_mm, 4),
            "off_show_mm": round(self.off_show.value, 4),
            "off_transfer_mm": round(self.off_transfer.value, 4),
            "off_u95_mm": round(max(self.off_show.u95, self.off_transfer.u95), 4),
            "course": self.course,
            "kerf_side": self.kerf_side,
        }


@dataclass(frozen=True)
class PlanCheck:
    """A whole end against its plan. `problem` says why lines could not be compared; then there are none.

    `width_off` is the board's measured width minus that of the plan; `shift` the mean of all lines' offsets.
    `print_checked` is whether the card's print was measured: places are as uncertain as its size.
    """

    plan: Plan
    limit_mm: float
    width_off: Quantity
    lines: tuple[LineCheck, ...] = ()
    shift: Quantity | None = None
    problem: str = ""
    print_checked: bool = True

    def to_dict(self) -> dict[str, Any]:
        """The object `plan` of the result JSON."""
        shift = self.shift
        return {
            "name": self.plan.name,
            "limit_mm": round(self.limit_mm, 4),
            "width_off_mm": round(self.width_off.value, 4),
            "width_off_u95_mm": round(self.width_off.u95, 4),
            "shift_mm": None if shift is None else round(shift.value, 4),
            "shift_u95_mm": None if shift is None else round(shift.u95, 4),
            "problem": self.problem or None,
        }


def check_plan(measured: Measurement, plan: Plan, limit_mm: float = LINE_LIMIT_MM) -> PlanCheck:
    """Every measured wall against the plan's line; `problem` is told when the numbers of tails differ."""
    width_off = measured.width - plan.width_mm
    tails = len(measured.walls) // 2
    if tails != plan.tails:
        problem = f"The plan has {plan.tails} {_tails(plan.tails)}, this end {tails}: its lines cannot be compared."
        return PlanCheck(plan, limit_mm, width_off, problem=problem)
    lines = tuple(_check_line(wall, line, limit_mm) for wall, line in zip(measured.walls, plan.lines, strict=True))
    shift, checked = _mean(*(each.mean_off for each in lines)), bool(measured.print_cost.name)
    return PlanCheck(plan, limit_mm, width_off, lines, shift, print_checked=checked)


def _check_line(wall: Wall, line: Line, limit_mm: float) -> LineCheck:
    offs = wall.x_show - line.x_end_mm, wall.x_transfer - line.x_end_mm
    into_waste = [off.scaled(-narrowing(wall.side)) for off in offs]
    return LineCheck(line, *offs, course_of(into_waste, limit_mm), _kerf_side(_mean(*into_waste), wall.kerf_mm))


def course_of(into_waste: Sequence[Quantity], limit_mm: float) -> Course:
    """Where a wall runs, from how far into the waste (mm) it lies at the two faces."""
    in_waste = any(off.value - off.u95 > limit_mm for off in into_waste)
    in_tail = any(off.value + off.u95 < -limit_mm for off in into_waste)
    if in_waste and in_tail:
        return "across the line"
    if in_waste or in_tail:
        return "in the waste" if in_waste else "in the tail"
    kept = all(abs(off.value) + off.u95 <= limit_mm for off in into_waste)
    return "kept" if kept else "too close to call"


def _kerf_side(into_waste: Quantity, kerf_mm: float | None) -> KerfSide | None:
    if kerf_mm is None:
        return None
    middle = into_waste + 0.5 * kerf_mm
    if abs(middle.value) <= middle.u95:
        return "too close to call"
    return "waste" if middle.value > 0.0 else "tail"


def _mean(*quantities: Quantity) -> Quantity:
    return combine([(1.0 / len(quantities), quantity) for quantity in quantities])


def _tails(count: int) -> str:
    return "tail" if count == 1 else "tails"

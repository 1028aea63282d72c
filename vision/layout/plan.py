"""An intended layout: where every tail's lines lie at the end and at the baseline, and how to step it off.

Sizes are taken at the end, where tails are widest and pins slimmest; towards the baseline both sides of a tail come in
by the slope (run over rise) times the depth. Millimetres; x from the board's left edge, as in the end frame.

Dividers stepped off from one half pin mark the walls on that side of every tail, stepped off from the other half pin
the walls on the other side. The step that makes every pin `pin_mm` wide is (width - 2 half pins + pin) / tails, so that
the last of `tails` steps lands one pin past the far half pin's line: that mark shows the error of the setting.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

from vision.end.report import Side

MOST_TAILS = 60
"""More tails than any board has: a slip of the keyboard."""


class Line(NamedTuple):
    """One line of the layout: the wall of tail `tail` (from 0) on that side, at the end and at the baseline, mm."""

    tail: int
    side: Side
    x_end_mm: float
    x_baseline_mm: float


class Part(NamedTuple):
    """A tail or the socket of a pin, its width at the end and at the baseline, mm; `number` counts each kind from 0."""

    kind: Literal["half pin", "tail", "pin"]
    number: int
    end_mm: float
    baseline_mm: float


@dataclass(frozen=True)
class Plan:
    """A row of equal tails between two equal half pins. `slope` is run over rise, 1/6 for 1:6.

    Raises ValueError, a sentence on what does not go and what to change, for a layout that cannot be cut.
    """

    width_mm: float
    thickness_mm: float
    tails: int
    half_pin_mm: float
    pin_mm: float
    slope: float
    depth_mm: float
    name: str = ""

    def __post_init__(self) -> None:
        _check_sizes(self)
        _check_tails(self)

    @property
    def step_mm(self) -> float:
        """The dividers' step: one tail and one pin."""
        return (self.width_mm - 2.0 * self.half_pin_mm + self.pin_mm) / self.tails

    @property
    def tail_mm(self) -> float:
        """Width of a tail at the end."""
        return self.step_mm - self.pin_mm

    @property
    def run_mm(self) -> float:
        """How far a tail's side comes in between end and baseline."""
        return self.slope * self.depth_mm

    @property
    def slope_deg(self) -> float:
        """The slope as an angle, degrees: 9.46 for 1:6."""
        return math.degrees(math.atan(self.slope))

    @property
    def lines(self) -> tuple[Line, ...]:
        """All lines from left to right: left and right wall of tail 0, of tail 1, ..."""
        return tuple(line for tail in range(self.tails) for line in self._tail_lines(tail))

    @property
    def parts(self) -> tuple[Part, ...]:
        """Half pin, tail, pin, tail, ..., half pin from left to right."""
        ends = [0.0, *(line.x_end_mm for line in self.lines), self.width_mm]
        roots = [0.0, *(line.x_baseline_mm for line in self.lines), self.width_mm]
        widths = [(ends[i + 1] - ends[i], roots[i + 1] - roots[i]) for i in range(len(ends) - 1)]
        return tuple(Part(_kind(i, self.tails), i // 2, *width) for i, width in enumerate(widths))

    def _tail_lines(self, tail: int) -> tuple[Line, Line]:
        left = self.half_pin_mm + tail * self.step_mm
        right = left + self.tail_mm
        return Line(tail, "left", left, left + self.run_mm), Line(tail, "right", right, right - self.run_mm)


def far_error_mm(tails: int, setting_mm: float, pricking_mm: float = 0.0) -> float:
    """Error of the last mark, and of every pin's width: the setting's counts `tails` times.

    `pricking_mm` is the standard error of every single step, which adds up by its square (JCGM 100:2008, 5.1.2).
    Every pin comes out as wrong as the last mark because its two walls are together `tails` steps from the half pins.
    """
    return math.hypot(tails * setting_mm, math.sqrt(tails) * pricking_mm)


def _kind(index: int, tails: int) -> Literal["half pin", "tail", "pin"]:
    if index in (0, 2 * tails):
        return "half pin"
    return "tail" if index % 2 else "pin"


def _check_sizes(plan: Plan) -> None:
    if not 1 <= plan.tails <= MOST_TAILS:
        raise ValueError(f"a board has from 1 to {MOST_TAILS} tails, not {plan.tails}")
    for name in ("width", "thickness", "half_pin", "pin", "depth"):
        size = getattr(plan, f"{name}_mm")
        if not 0.0 < size < math.inf:
            raise ValueError(f"the {name.replace('_', ' ')} must be a length above zero, not {size:g} mm")
    if not 0.0 < plan.slope < 1.0:
        raise ValueError(f"the slope must lie between flat and 1:1, such as 1:6 or 1:8, not {plan.slope:g}")


def _check_tails(plan: Plan) -> None:
    """Raise when nothing is left of the tails at the end or at the baseline."""
    taken = 2.0 * plan.half_pin_mm + (plan.tails - 1) * plan.pin_mm
    if not plan.tail_mm > 0.0:
        raise ValueError(
            f"pins and half pins take {taken:.1f} mm of a board {plan.width_mm:.1f} mm wide and leave nothing for"
            " tails; make them slimmer, or cut fewer tails"
        )
    if not plan.tail_mm > 2.0 * plan.run_mm:
        raise ValueError(
            f"tails {plan.tail_mm:.1f} mm wide at the end lose {2.0 * plan.run_mm:.1f} mm by their slope and have no"
            " root left at the baseline; cut fewer tails, slimmer pins or a flatter slope"
        )

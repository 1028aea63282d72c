"""The layout of a measured end as a joiner sees it: tails, pins and half pins, what is left at the baseline, glue.

Widths are those at the end, in the middle of the thickness. What an end photo does not show is said to be taken: the
slope is measured on a face, or that of a plan, or anything from 1:8 to 1:6; the depth is told or the thickness.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from calibration.quantity import Quantity, Source, combine
from vision.end.report import Measurement, Wall
from vision.joint.strength import BENDING_SCATTER, SHEAR_SCATTER, Strength

SlopeSource = Literal["face", "plan", "taken"]

USUAL_SLOPES = (1.0 / 8.0, 1.0 / 6.0)
"""Run over rise of the slopes that are usual (common practice, no source)."""

MM2_PER_CM2 = 100.0
NMM_PER_NM = 1000.0


@dataclass(frozen=True)
class Shape:
    """Widths at the end in mm, from left to right, and the slope of the tails' sides as run over rise.

    `slopes` are those of single walls where a face was measured. `kerf_mm` is the mean kerf, None when it is gone.
    `depth_told` is False where the baseline is only taken to be as deep as the board is thick.
    """

    width: Quantity
    thickness: Quantity
    tails: tuple[Quantity, ...]
    pins: tuple[Quantity, ...]
    half_pins: tuple[Quantity, Quantity]
    walls: tuple[Quantity, ...]
    kerf_mm: float | None
    depth: Quantity
    depth_told: bool
    slope: Quantity
    slope_source: SlopeSource
    slopes: tuple[Quantity, ...] = ()

    @property
    def depth_mm(self) -> float:
        """Depth of the baseline from the end."""
        return self.depth.value

    @property
    def share(self) -> Quantity:
        """What is left of the width at the baseline: the sum of the tails' roots over the width."""
        roots = combine([(1.0, tail) for tail in self.tails]) - product(self.slope, self._runs, "mm")
        return ratio(roots, self.width)

    @property
    def glue_mm2(self) -> Quantity:
        """Long-grain glue surface of the joint: both sides of every tail, as long as they slope."""
        return product(self.thickness, self._runs, "mm2").scaled(math.hypot(1.0, self.slope.value))

    @property
    def _runs(self) -> Quantity:
        """The depths of all tails' sides together, mm."""
        return self.depth.scaled(2.0 * len(self.tails))


class Option(NamedTuple):
    """The same board and pins with so many tails: share of the width left at the baseline, and glue surface."""

    tails: int
    share: float
    glue_mm2: float


def shape_of(
    measured: Measurement,
    *,
    depth_mm: Quantity | float | None = None,
    slopes: Sequence[Quantity] = (),
    planned_slope: float | None = None,
) -> Shape:
    """The layout of a measured end. `slopes` (run over rise) are those of its walls when a face was measured, and
    `depth_mm` the baseline's: a quantity where a face shows it, a number where it was told."""
    at = tuple(_middle(wall) for wall in measured.walls)
    kerfs = [wall.kerf_mm for wall in measured.walls if wall.kerf_mm is not None]
    slope, source = _slope(slopes, planned_slope)
    return Shape(
        width=measured.width,
        thickness=measured.thickness,
        tails=tuple(right - left for left, right in zip(at[0::2], at[1::2], strict=True)),
        pins=tuple(right - left for left, right in zip(at[1:-1:2], at[2::2], strict=True)),
        half_pins=(at[0], measured.width - at[-1]),
        walls=at,
        kerf_mm=sum(kerfs) / len(kerfs) if kerfs else None,
        depth=_depth(measured, depth_mm),
        depth_told=depth_mm is not None,
        slope=slope,
        slope_source=source,
        slopes=tuple(slopes),
    )


def bending_nm(shape: Shape, wood: Strength) -> float:
    """Bending moment (N m) that the tails' roots bear across the board's faces: strength x left width x t^2 / 6.

    An estimate: clear wood of average strength, nothing for the notches.
    """
    left_mm = max(shape.share.value, 0.0) * shape.width.value
    return wood.bending_mpa * left_mm * shape.thickness.value**2 / 6.0 / NMM_PER_NM


def root_over_glue(shape: Shape, wood: Strength) -> Quantity:
    """What the tails' roots bear when the joint is pulled apart, over what its long-grain glue surface bears.

    Below 1 the board breaks before the glue. Bending strength stands in for tension along the grain, of which it is a
    low estimate (Wood Handbook, ch. 5, from memory); a sound glue line counts as strong as the wood in shear.
    """
    roots_mm2 = shape.share.scaled(shape.width.value * shape.thickness.value * wood.bending_mpa)
    over = ratio(roots_mm2, shape.glue_mm2.scaled(wood.shear_mpa))
    return over.with_part(Source("scatter of the wood"), over.value * math.hypot(BENDING_SCATTER, SHEAR_SCATTER))


def trade_off(shape: Shape, more: int = 3) -> tuple[Option, ...]:
    """What one tail fewer and up to `more` tails more would leave, half pins and pins as they are on average."""
    count = len(shape.tails)
    numbers = range(max(count - 1, 1), count + more + 1)
    options = (_option(shape, tails) for tails in numbers)
    return tuple(option for option in options if option.tails == count or option.share > 0.0)


def ratio(one: Quantity, other: Quantity) -> Quantity:
    """one / other to first order, its shared sources taken with their signs; a number without a unit."""
    value = one.value / other.value
    slope = other.scaled(value / other.value, "1")
    over = combine([(1.0, one.scaled(1.0 / other.value, "1")), (-1.0, slope)])
    return Quantity(value, over.parts, "")


def product(one: Quantity, other: Quantity, unit: str) -> Quantity:
    """one x other to first order, its shared sources taken with their signs."""
    parts = combine([(other.value, one), (one.value, Quantity(other.value, other.parts, one.unit))]).parts
    return Quantity(one.value * other.value, parts, unit)


def _depth(measured: Measurement, told: Quantity | float | None) -> Quantity:
    if told is None:
        return Quantity(measured.thickness.value)
    return told if isinstance(told, Quantity) else Quantity(told)


def _option(shape: Shape, tails: int) -> Option:
    pin = _mean_mm(shape.pins) if shape.pins else _mean_mm(shape.half_pins)
    wood = shape.width.value - sum(half.value for half in shape.half_pins) - (tails - 1) * pin
    share = (wood - 2.0 * tails * shape.depth_mm * shape.slope.value) / shape.width.value
    if tails == len(shape.tails):
        share = shape.share.value
    return Option(tails, share, shape.glue_mm2.value * tails / len(shape.tails))


def _middle(wall: Wall) -> Quantity:
    return combine([(0.5, wall.x_show), (0.5, wall.x_transfer)])


def _mean_mm(quantities: Sequence[Quantity]) -> float:
    return sum(each.value for each in quantities) / len(quantities)


def _slope(slopes: Sequence[Quantity], planned: float | None) -> tuple[Quantity, SlopeSource]:
    """The mean of the measured slopes, else the planned one, else the middle of the usual ones with their range."""
    if slopes:
        return combine([(1.0 / len(slopes), slope) for slope in slopes]), "face"
    if planned is not None:
        return Quantity(planned, {}, ""), "plan"
    low, high = USUAL_SLOPES
    return Quantity(0.5 * (low + high), {Source("slope not seen"): 0.5 * (high - low) / math.sqrt(3.0)}, ""), "taken"

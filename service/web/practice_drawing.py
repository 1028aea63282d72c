"""Drawings of numbers with their intervals, laid out in the units of an SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.practice.calibration_table import ReliabilityRow
from service.practice.comparing import Comparison
from service.practice.ticks import padded, tick_places, ticks

WIDTH, EDGE = 320.0, 14.0
SIDE, MARGIN, TOP = 220.0, 46.0, 20.0
"""The square of a reliability diagram, the room for its axes on the left and below, and that above it."""


@dataclass(frozen=True)
class IntervalDrawing:
    """A difference on a strip `WIDTH` wide: thick bar for it alone, thin for all comparisons together."""

    value: float
    alone: tuple[float, float]
    together: tuple[float, float]
    zero: float
    ticks: tuple[tuple[float, str], ...]
    width: float = WIDTH


@dataclass(frozen=True)
class Dot:
    """So many forecasts of one bin: where they lie, the ends of the interval of what was observed."""

    x: float
    y: float
    low: float
    high: float
    count: int


@dataclass(frozen=True)
class ReliabilityDrawing:
    """Observed frequency (up) against forecast (across) in a square."""

    dots: tuple[Dot, ...]
    ticks: tuple[tuple[float, float, str], ...]
    left: float = MARGIN
    right: float = MARGIN + SIDE
    top: float = TOP
    bottom: float = TOP + SIDE
    width: float = MARGIN + SIDE + 8.0
    height: float = TOP + SIDE + MARGIN


def interval_drawings(comparisons: Sequence[Comparison]) -> list[IntervalDrawing]:
    """All on one scale that holds zero."""
    if not comparisons:
        return []
    ends = [each.difference.value + sign * each.difference.simultaneous for each in comparisons for sign in (-1, 1)]
    low, high = padded(min(0.0, *ends), max(0.0, *ends))
    marks = ticks(low, high, 4)
    places = tick_places(marks)

    def at(value: float) -> float:
        return round(EDGE + (value - low) / (high - low) * (WIDTH - 2.0 * EDGE), 2)

    labels = tuple((at(mark), f"{mark + 0.0:.{places}f}°") for mark in marks)
    return [_interval(at(0.0), labels, [at(end) for end in _ends(each)]) for each in comparisons]


def _ends(comparison: Comparison) -> list[float]:
    difference = comparison.difference
    halves = (difference.half_width, difference.simultaneous)
    return [difference.value, *(difference.value + sign * half for half in halves for sign in (-1, 1))]


def _interval(zero: float, labels: tuple[tuple[float, str], ...], places: list[float]) -> IntervalDrawing:
    value, *ends = places
    return IntervalDrawing(value, (ends[0], ends[1]), (ends[2], ends[3]), zero, labels)


def reliability_drawing(rows: Sequence[ReliabilityRow]) -> ReliabilityDrawing:
    """The rows of one event's table."""

    def x(share: float) -> float:
        return round(MARGIN + share * SIDE, 2)

    def y(share: float) -> float:
        return round(TOP + (1.0 - share) * SIDE, 2)

    dots = tuple(Dot(x(r.forecast), y(r.observed), y(r.observed_low), y(r.observed_high), r.count) for r in rows)
    shares = (0.0, 0.25, 0.5, 0.75, 1.0)
    return ReliabilityDrawing(dots, tuple((x(share), y(share), f"{100 * share:.0f} %") for share in shares))

"""What the pages of classes show beyond the use cases' own views: strips of dots, and which assignments come first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.person import Units
from service.practice.class_view import Distribution
from service.practice.say import amount
from service.use_cases.look_at_class import Work

WIDTH, HEIGHT, EDGE = 320.0, 46.0, 8.0
MIDDLE, ROW = 16.0, 5.0
"""The strip's dots lie about this height, and so far apart where they would hide each other."""
DOT = 4.5
LEAST_SCALE = 0.5
"""A strip of nothing but tiny values still ends there (degrees): else a very square class would look scattered."""
STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
MOST_TICKS = 5


@dataclass(frozen=True)
class Dot:
    """One person's board on the strip."""

    x: float
    y: float
    label: str


@dataclass(frozen=True)
class Strip:
    """A distribution as dots over an axis from zero, with a bar over the middle half and a line at the median.

    Lengths are in the units of the drawing, `WIDTH` by `HEIGHT`.
    """

    dots: tuple[Dot, ...]
    bar: tuple[float, float]
    median: float
    ticks: tuple[tuple[float, str], ...]
    sentence: str
    width: float = WIDTH
    height: float = HEIGHT


def split_work(work: Sequence[Work], day: date) -> tuple[Sequence[Work], Sequence[Work]]:
    """The assignments, newest first, that are at work on that day, or else the newest one; and all others."""
    at_work = [each for each in work if not each.assignment.is_past(day)] or work[:1]
    return at_work, [each for each in work if each not in at_work]


def strip_of(outcome: Distribution, names: Mapping[str, str], units: Units) -> Strip:
    """The distribution laid out; who is no longer in the class is left out of the labels, not of the numbers."""
    unit = outcome.metric.unit
    longest = max(LEAST_SCALE, outcome.five[-1])
    step = next((step for step in STEPS if longest / step <= MOST_TICKS), STEPS[-1])
    scale = (WIDTH - 2.0 * EDGE) / longest
    places = {person: EDGE + value * scale for person, value in outcome.values.items()}
    dots = tuple(
        Dot(places[person], MIDDLE + offset, f"{names.get(person, '')}: {amount(outcome.values[person], unit, units)}")
        for person, offset in _offsets(places).items()
    )
    low, median, high = (EDGE + value * scale for value in outcome.five[1:4])
    ticks = tuple((EDGE + n * step * scale, f"{n * step:g}°") for n in range(int(longest / step + 1e-9) + 1))
    return Strip(dots, (low, high), median, ticks, outcome.sentence(units))


def _offsets(places: Mapping[str, float]) -> dict[str, float]:
    """Dots that would hide each other are moved up and down in turns, from left to right."""
    offsets: dict[str, float] = {}
    before, turn = float("-inf"), 0
    for person, x in sorted(places.items(), key=lambda each: (each[1], each[0])):
        turn = turn + 1 if x - before < 2.0 * DOT else 0
        offsets[person] = ROW * ((turn + 1) // 2) * (-1.0 if turn % 2 else 1.0) if turn < 5 else 0.0
        before = x
    return offsets

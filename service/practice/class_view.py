"""A class at a glance: who improves, who is stuck, the common fault, and how an assignment came out.

It works on the numbers kept of each board (`Measures`), oldest first, and not on whole results: a class has thousands.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from service.domain.measures import Measures
from service.practice.calibration_table import wilson
from service.practice.entries import Side
from service.practice.progress import FEWEST, MOST, Progress, progress_of
from service.practice.say import amount, counted
from service.practice.series import ABS_LEAN, ABS_TAPER, OUT_OF_SQUARE, SPREAD, Metric, Series
from vision.answer.words import Units

Word = Literal["improving", "stuck", "steady", "getting worse", "too few"]
People = Mapping[str, Sequence[Measures]]
"""Boards by person. Of a long series its first and last `PERIOD` boards are enough."""

PERIOD = MOST
WEEK = dt.timedelta(days=7)
LEANING_SHARE = 0.5
"""A person has a fault when more than this share of the walls of that side show it."""
SHARED_BY = 2
"""A fault of one person is not the class's."""
_ORDER: tuple[Word, ...] = ("stuck", "getting worse", "improving", "steady", "too few")
_FAULTS: tuple[tuple[Side, Side], ...] = (("left", "left"), ("left", "right"), ("right", "left"), ("right", "right"))
_COLUMNS: Mapping[str, tuple[str, str]] = {
    ABS_LEAN.name: ("abs_lean_deg", "lean_u_deg"),
    OUT_OF_SQUARE.name: ("out_of_square_mm", "out_of_square_u_mm"),
    ABS_TAPER.name: ("abs_taper_mm", "taper_u_mm"),
    SPREAD.name: ("spread_deg", "spread_u_deg"),
}
"""Where the kept numbers hold a metric and its standard uncertainty."""


@dataclass(frozen=True)
class Standing:
    """One person in the class; `failing` of the latest `looked_at` boards have a socket that is firmly off."""

    person: str
    word: Word
    progress: Progress
    failing: int
    looked_at: int


@dataclass(frozen=True)
class CommonFault:
    """A fault of `having` out of `people` who sawed that week, with Wilson's 95 % interval of the share."""

    side: Side
    way: Side
    having: int
    people: int
    low: float
    high: float

    @property
    def sentence(self) -> str:
        """The fault in words."""
        return (
            f"{self.having} of {self.people} people have the same fault: most of their {self.side} walls lean to the"
            f" {self.way}, by more than the measurement's uncertainty."
        )


@dataclass(frozen=True)
class Distribution:
    """How an assignment came out in one metric: five numbers over the people's latest boards, and the advice given."""

    metric: Metric
    values: Mapping[str, float]
    five: tuple[float, float, float, float, float]
    advice: Mapping[str, int]

    def sentence(self, units: Units = "mm") -> str:
        """The middle half in words."""
        low, middle, high = (amount(value, self.metric.unit, units) for value in self.five[1:4])
        many = f"the latest board of each of {len(self.values)} people"
        whose = many if len(self.values) > 1 else "one person's latest board"
        return f"{self.metric.title} over {whose}: median {middle}, the middle half from {low} to {high}."

    def to_chart(self) -> dict[str, Any]:
        """For a box or strip chart on a page."""
        return {
            "metric": self.metric.name,
            "unit": self.metric.unit,
            "values": dict(self.values),
            "five": list(self.five),
            "advice": dict(self.advice),
            "sentence": self.sentence(),
        }


def standings(people: People, *, metric: Metric = ABS_LEAN) -> list[Standing]:
    """Everyone's standing, who needs help first, then by person.

    Intervals are widened for the number of people who are judged: in a class of twenty, one would else seem to change
    by chance alone. Raises KeyError for a metric that is not kept.
    """
    series = {person: _series(boards, metric) for person, boards in people.items()}
    judged = max(sum(len(each.values) >= 2 * FEWEST for each in series.values()), 1)
    found = [_standing(person, people[person], progress_of(own, comparisons=judged)) for person, own in series.items()]
    return sorted(found, key=lambda each: (_ORDER.index(each.word), each.person))


def common_fault(people: People, until: dt.date) -> CommonFault | None:
    """What most people share in the boards of the `WEEK` that ends with the day `until`; None if no two share any."""
    recent = {
        person: [board for board in boards if until - WEEK < board.created.date() <= until]
        for person, boards in people.items()
    }
    active = [boards for boards in recent.values() if boards]
    counts = [sum(_has_fault(boards, *fault) for boards in active) for fault in _FAULTS]
    having = max(counts)
    if having < SHARED_BY:
        return None
    return CommonFault(*_FAULTS[counts.index(having)], having, len(active), *wilson(having, len(active)))


def distribution(latest: Mapping[str, Measures], *, metric: Metric = ABS_LEAN) -> Distribution | None:
    """How an assignment came out, by each person's latest board for it; None if nobody has handed one in.

    Raises KeyError for a metric that is not kept.
    """
    values = {person: _value(board, metric) for person, board in latest.items()}
    have = {person: value for person, value in values.items() if value is not None}
    if not have:
        return None
    five = np.quantile(list(have.values()), [0.0, 0.25, 0.5, 0.75, 1.0]).tolist()
    advice = Counter(sorted(latest[person].advice for person in have))
    return Distribution(metric, have, tuple(five), dict(advice))


def class_sentences(found: Sequence[Standing], fault: CommonFault | None, names: Mapping[str, str]) -> list[str]:
    """The class in a few sentences: who improves, who is stuck, the common fault of the week."""
    groups = ((word, [names[each.person] for each in found if each.word == word]) for word in _ORDER)
    said = [f"{word.capitalize()}: {', '.join(people)}." for word, people in groups if people]
    return [*said, fault.sentence if fault else "No fault is common to several people this week."]


def failing_sentence(standing: Standing) -> str:
    """How many of the latest boards failed."""
    return f"{standing.failing} of the latest {counted(standing.looked_at, 'board')} had a socket firmly off."


def _standing(person: str, boards: Sequence[Measures], progress: Progress) -> Standing:
    looked_at = boards[-(progress.last.counts[0] if progress.last else len(boards)) :] if boards else []
    failing = sum(board.failed > 0 for board in looked_at)
    return Standing(person, _word(progress, failing, len(looked_at)), progress, failing, len(looked_at))


def _word(progress: Progress, failing: int, looked_at: int) -> Word:
    """Without a change to show, whoever fails more often than not is stuck."""
    words: dict[str, Word] = {"better": "improving", "worse": "getting worse", "too few": "too few"}
    return words.get(progress.verdict) or ("stuck" if 2 * failing > looked_at else "steady")


def _has_fault(boards: Sequence[Measures], side: Side, way: Side) -> bool:
    leaning = sum(getattr(board, f"{side}_to_{way}") for board in boards)
    return bool(leaning > LEANING_SHARE * sum(getattr(board, f"{side}_walls") for board in boards))


def _series(boards: Sequence[Measures], metric: Metric) -> Series:
    """The metric of the boards that have it."""
    value, u = _COLUMNS[metric.name]
    having = [board for board in boards if getattr(board, value) is not None]
    columns = [np.array([getattr(board, name) for board in having], float) for name in (value, u)]
    dates = tuple(board.created.date() for board in having)
    return Series(metric, dates, tuple(board.board for board in having), *columns)


def _value(board: Measures, metric: Metric) -> float | None:
    found: float | None = getattr(board, _COLUMNS[metric.name][0])
    return found

"""A class at a glance: who improves, who is stuck, the common fault, and how an assignment came out."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from service.practice.calibration_table import wilson
from service.practice.columns import columns_of
from service.practice.entries import PracticeBoard, PracticeWall, Side, in_order
from service.practice.progress import FEWEST, Progress, progress_of
from service.practice.say import amount, counted
from service.practice.series import ABS_LEAN, Metric, series_of
from vision.answer.words import Units

Word = Literal["improving", "stuck", "steady", "getting worse", "too few"]
People = Mapping[str, Sequence[PracticeBoard]]

WEEK = dt.timedelta(days=7)
LEANING_SHARE = 0.5
"""A person has a fault when more than this share of the walls of that side show it."""
SHARED_BY = 2
"""A fault of one person is not the class's."""
_ORDER: tuple[Word, ...] = ("stuck", "getting worse", "improving", "steady", "too few")


@dataclass(frozen=True)
class Standing:
    """One person in the class; `failing` of the latest `looked_at` boards have a socket that is firmly off."""

    person: str
    word: Word
    progress: Progress
    failing: int
    looked_at: int

    def to_dict(self) -> dict[str, Any]:
        """For a page."""
        return {
            "person": self.person,
            "word": self.word,
            "failing": self.failing,
            "looked_at": self.looked_at,
            "progress": self.progress.to_dict(),
        }


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

    assignment: str
    metric: Metric
    values: Mapping[str, float]
    five: tuple[float, float, float, float, float]
    advice: Mapping[str, int]

    def sentence(self, units: Units = "mm") -> str:
        """The middle half in words."""
        low, middle, high = (amount(value, self.metric.unit, units) for value in self.five[1:4])
        people = f"{len(self.values)} people" if len(self.values) > 1 else "one person"
        return f"{self.metric.title} over {people}: median {middle}, the middle half from {low} to {high}."

    def to_chart(self) -> dict[str, Any]:
        """For a box or strip chart on a page."""
        return {
            "assignment": self.assignment,
            "metric": self.metric.name,
            "unit": self.metric.unit,
            "values": dict(self.values),
            "five": list(self.five),
            "advice": dict(self.advice),
            "sentence": self.sentence(),
        }


def standings(people: People, *, metric: Metric = ABS_LEAN) -> list[Standing]:
    """Everyone's standing, who needs help first, then by name.

    Intervals are widened for the number of people who are judged: in a class of twenty, one would else seem to change
    by chance alone.
    """
    series = {person: series_of(columns_of(boards), metric) for person, boards in people.items()}
    judged = max(sum(len(each.values) >= 2 * FEWEST for each in series.values()), 1)
    found = [_standing(person, people[person], progress_of(own, comparisons=judged)) for person, own in series.items()]
    return sorted(found, key=lambda each: (_ORDER.index(each.word), each.person))


def common_fault(people: People, until: dt.date, *, span: dt.timedelta = WEEK) -> CommonFault | None:
    """What most people share in the boards of the `span` that ends with the day `until`; None if no two share any."""
    recent = {
        person: [board for board in boards if until - span < board.date <= until] for person, boards in people.items()
    }
    active = [boards for boards in recent.values() if boards]
    faults: tuple[tuple[Side, Side], ...] = (("left", "left"), ("left", "right"), ("right", "left"), ("right", "right"))
    counts = [sum(_has_fault(boards, *fault) for boards in active) for fault in faults]
    having = max(counts)
    if having < SHARED_BY:
        return None
    return CommonFault(*faults[counts.index(having)], having, len(active), *wilson(having, len(active)))


def distribution(people: People, assignment: str, *, metric: Metric = ABS_LEAN) -> Distribution | None:
    """How an assignment came out, by each person's latest board for it; None if nobody has handed one in."""
    latest = {person: board for person, boards in people.items() if (board := _latest(boards, assignment))}
    values = {person: float(series_of(columns_of([board]), metric).values[0]) for person, board in latest.items()}
    if not values:
        return None
    five = np.quantile(list(values.values()), [0.0, 0.25, 0.5, 0.75, 1.0]).tolist()
    advice = Counter(sorted(board.advice for board in latest.values()))
    return Distribution(assignment, metric, values, tuple(five), dict(advice))


def class_sentences(people: People, until: dt.date) -> list[str]:
    """The class in a few sentences: who improves, who is stuck, the common fault of the week."""
    found = standings(people)
    groups = ((word, [each.person for each in found if each.word == word]) for word in _ORDER)
    said = [f"{word.capitalize()}: {', '.join(names)}." for word, names in groups if names]
    fault = common_fault(people, until)
    return [*said, fault.sentence if fault else "No fault is common to several people this week."]


def _standing(person: str, boards: Sequence[PracticeBoard], progress: Progress) -> Standing:
    looked_at = in_order(boards)[-(progress.last.counts[0] if progress.last else len(boards)) :] if boards else []
    failing = sum(board.failed > 0 for board in looked_at)
    return Standing(person, _word(progress, failing, len(looked_at)), progress, failing, len(looked_at))


def _word(progress: Progress, failing: int, looked_at: int) -> Word:
    """Without a change to show, whoever fails more often than not is stuck."""
    words: dict[str, Word] = {"better": "improving", "worse": "getting worse", "too few": "too few"}
    return words.get(progress.verdict) or ("stuck" if 2 * failing > looked_at else "steady")


def _has_fault(boards: Sequence[PracticeBoard], side: Side, way: Side) -> bool:
    walls = list(_walls(boards, side))
    sign = 1.0 if way == "right" else -1.0
    leaning = sum(sign * wall.lean_deg > wall.lean_u95_deg for wall in walls)
    return leaning > LEANING_SHARE * len(walls)


def _walls(boards: Sequence[PracticeBoard], side: Side) -> Iterator[PracticeWall]:
    return (wall for board in boards for wall in board.walls if wall.side == side)


def _latest(boards: Sequence[PracticeBoard], assignment: str) -> PracticeBoard | None:
    own = [board for board in boards if board.assignment == assignment]
    return in_order(own)[-1] if own else None


def failing_sentence(standing: Standing) -> str:
    """How many of the latest boards failed."""
    return f"{standing.failing} of the latest {counted(standing.looked_at, 'board')} had a socket firmly off."

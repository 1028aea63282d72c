"""The practice log as a calendar: a month in weeks, each day with the boards begun on it."""

from __future__ import annotations

import calendar
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.board import Board
from service.web.practice_forms import Month

MOST_IN_A_DAY = 3
"""Boards shown on one day; how many more there are is told."""


@dataclass(frozen=True)
class Day:
    """One square; `boards` are the first of the day, `count` is of all. A day of another month has none."""

    day: date
    within: bool
    boards: Sequence[Board]
    count: int

    @property
    def more(self) -> int:
        """Boards that are not shown."""
        return self.count - len(self.boards)


@dataclass(frozen=True)
class Calendar:
    """A month as weeks that begin on Monday."""

    month: Month
    weeks: Sequence[Sequence[Day]]
    count: int
    today: date


def calendar_page(month: Month, boards: Sequence[Board], today: date) -> Calendar:
    """The month with the boards begun in it, each on its day in UTC."""
    by_day: dict[date, list[Board]] = {}
    for board in boards:
        by_day.setdefault(board.created.date(), []).append(board)
    weeks = calendar.Calendar().monthdayscalendar(month.year, month.month)
    return Calendar(month, [[_day(month, number, by_day) for number in week] for week in weeks], len(boards), today)


def _day(month: Month, number: int, by_day: Mapping[date, Sequence[Board]]) -> Day:
    if not number:
        return Day(month.first, False, (), 0)
    day = month.first.replace(day=number)
    boards = by_day.get(day, ())
    return Day(day, True, boards[:MOST_IN_A_DAY], len(boards))

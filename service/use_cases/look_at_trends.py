"""How a person's sawing goes: charts of every number, comparisons, progress, and what to work on next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.domain.log import Choices, Wanted
from service.domain.log_numbers import Logged
from service.domain.person import Person
from service.domain.practice_cuts import LoggedCuts
from service.practice.columns import columns_of_log
from service.practice.comparing import Comparison, all_comparisons
from service.practice.cuts import cuts_progress, cuts_trends
from service.practice.findings import WhatNext, what_next
from service.practice.progress import Progress, progress_of_all
from service.practice.trend import Trend, all_trends
from service.use_cases.ports import Ports

MOST_BOARDS = 5000
"""Measured boards that charts look back on: two a day for seven years."""


@dataclass(frozen=True)
class TrendsView:
    """What the latest boards say, oldest first, and what they can be narrowed to; then the same of practice `cuts`."""

    log: Sequence[Logged]
    next: WhatNext
    progress: Sequence[Progress]
    comparisons: Sequence[Comparison]
    trends: Mapping[str, Trend]
    choices: Choices
    cuts: Sequence[LoggedCuts]
    cuts_progress: Sequence[Progress]
    cuts_trends: Mapping[str, Trend]


def look_at_trends(person: Person, wanted: Wanted, most: int, ports: Ports) -> TrendsView:
    """What the latest `most` measured boards of those wanted say."""
    with ports.reading() as uow:
        log = uow.log_numbers.latest(wanted, min(most, MOST_BOARDS))
        cuts = uow.practice_cuts.latest(wanted, min(most, MOST_BOARDS))
        choices = uow.boards.choices(person.id)
    columns = columns_of_log(log)
    compared = all_comparisons(columns) if log else []
    advice = what_next(columns, units=person.units)
    of_cuts = cuts, cuts_progress(cuts), cuts_trends(cuts)
    return TrendsView(log, advice, progress_of_all(columns), compared, all_trends(columns), choices, *of_cuts)

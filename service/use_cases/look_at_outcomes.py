"""What was foretold of sockets and what they did, once driven; and limits fitted to that."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.domain.fit import Fit
from service.domain.log import Choices, Wanted
from service.domain.log_numbers import Logged
from service.domain.person import Person
from service.practice.calibration_table import Scorecard, scorecard, scorecards
from service.practice.entries import DrivenBoard
from service.practice.from_log import driven_boards
from service.practice.outcomes import outcomes_of
from service.practice.own_limits import OwnLimit, own_limit
from service.use_cases.foretold import as_foretold
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import shown_by_students

MOST_DRIVEN = 300
"""Driven boards that are looked back on: more would say nothing new of how somebody drives joints today."""
MOST_OF_A_STUDENT = 25
"""For an instructor, who sees a score of each: about a hundred sockets."""


@dataclass(frozen=True)
class OutcomesView:
    """A person's predictions against outcomes, over all woods (None without any) and by wood, and limits of their own.

    `boards` is how many were driven and what was foretold of them is kept; `students` are those of the person's
    classes, by name, each with their scorecard.
    """

    boards: int
    card: Scorecard | None
    by_wood: Mapping[str, Scorecard]
    limits: Sequence[OwnLimit]
    students: Sequence[tuple[Person, Scorecard]]
    choices: Choices


def look_at_outcomes(person: Person, wanted: Wanted, ports: Ports) -> OutcomesView:
    """How predictions came true on the boards wanted, and on those that an instructor's students handed in."""
    with ports.reading() as uow:
        boards = _driven(uow, wanted, person.name)
        students = _of_students(uow, person)
        choices = uow.boards.choices(person.id)
    outcomes = outcomes_of(boards)
    card = scorecard(outcomes) if outcomes else None
    by_wood = scorecards([each for each in outcomes if each.species], lambda outcome: outcome.species)
    limits = [limit for what in ("gap", "squeeze") if (limit := own_limit(boards, what))]
    return OutcomesView(len(boards), card, by_wood, limits, students, choices)


def _driven(uow: UnitOfWork, wanted: Wanted, name: str) -> list[DrivenBoard]:
    return driven_boards(as_foretold(uow, uow.log_numbers.latest(wanted, MOST_DRIVEN, driven=True)), name)


def _of_students(uow: UnitOfWork, person: Person) -> Sequence[tuple[Person, Scorecard]]:
    """By the boards that each student lets the person see, read all at once."""
    shown = shown_by_students(person, uow)
    logs = uow.log_numbers.latest_driven({student.id: seen for student, seen in shown.items()}, MOST_OF_A_STUDENT)
    whose = {logged.identity: student for student, log in logs.items() for logged in log}
    found: dict[str, dict[Logged, Sequence[Fit]]] = {}
    for logged, fits in as_foretold(uow, [logged for log in logs.values() for logged in log]).items():
        found.setdefault(whose[logged.identity], {})[logged] = fits
    outcomes = [(student, outcomes_of(driven_boards(found.get(student.id, {}), student.name))) for student in shown]
    return [(student, scorecard(own)) for student, own in outcomes if own]

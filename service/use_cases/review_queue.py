"""The boards that wait for a review, as each instructor has them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from service.domain.assignment import Assignment
from service.domain.board import Board
from service.domain.check import Check
from service.domain.classroom import Classroom
from service.domain.log import LogPage
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.domain.review_queue import MOST_COUNTED, QueueWanted, Show
from service.use_cases.keep_class import may_teach
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.solo import SOLO
from service.use_cases.who_may import board_to_review, classes_run_by, students_of


@dataclass(frozen=True)
class Narrowed:
    """How somebody narrowed the queue: ids, empty for all. `shown` asks for boards that were not handed in."""

    classroom: str = ""
    assignment: str = ""
    student: str = ""
    show: Show = "open"
    shown: bool = False
    page: int = 1


@dataclass(frozen=True)
class Queued:
    """A board of the queue: whose it is, and the photo that says most of it."""

    board: Board
    owner: Person
    check: Check | None


@dataclass(frozen=True)
class Queue:
    """One portion of the queue, and what it can be narrowed to.

    `shows_all` says whether any student shows boards that were not handed in.
    """

    page: LogPage
    boards: Sequence[Queued]
    classrooms: Sequence[Classroom]
    assignments: Sequence[Assignment]
    students: Sequence[Person]
    shows_all: bool


def look_at_queue(asking: Person, narrowed: Narrowed, ports: Ports) -> Queue:
    """The boards to review. Raises NotFoundError for who teaches nobody and could not."""
    with ports.reading() as uow:
        _may_review(asking, uow)
        page = uow.review_queue.find(_wanted(asking, narrowed, uow))
        classrooms = classes_run_by(asking, uow)
        chosen = [each for each in classrooms if narrowed.classroom in ("", each.id)]
        work = [each for classroom in chosen for each in uow.assignments.of_class(classroom.id)]
        students, shows_all = students_of(asking, uow), bool(_who_show_all(classrooms, uow))
        return Queue(page, _queued(uow, page.boards), classrooms, work, students, shows_all)


def beside_in_queue(asking: Person, board_id: str, narrowed: Narrowed, ports: Ports) -> tuple[str, str]:
    """The boards before and after that one, by id; empty for none. Raises NotFoundError."""
    with ports.reading() as uow:
        board = board_to_review(board_id, asking, uow)
        return uow.review_queue.beside(_wanted(asking, narrowed, uow), board)


def next_to_review(asking: Person, board_id: str, narrowed: Narrowed, ports: Ports) -> str:
    """Where to go on after that board: the next one, else whichever comes first; empty when none is left."""
    with ports.reading() as uow:
        wanted = _wanted(asking, narrowed, uow)
        after = uow.review_queue.beside(wanted, board_to_review(board_id, asking, uow))[1]
        others = [board.id for board in uow.review_queue.find(wanted).boards if board.id != board_id]
        return after or next(iter(others), "")


def count_to_review(asking: Person, ports: Ports) -> int | None:
    """How many boards wait, up to one more than `MOST_COUNTED`; None for who reviews none.

    A person alone is not asked to review their own boards, but may: it counts once they have done so.
    """
    with ports.reading() as uow:
        if not (may_teach(asking) or (asking.id == SOLO and uow.reviews.has_any_by(SOLO))):
            return None
        return uow.review_queue.count(_wanted(asking, Narrowed(), uow), MOST_COUNTED)


def _may_review(asking: Person, uow: UnitOfWork) -> None:
    if asking.id != SOLO and not may_teach(asking) and not classes_run_by(asking, uow):
        raise NotFoundError


def _wanted(asking: Person, narrowed: Narrowed, uow: UnitOfWork) -> QueueWanted:
    """What that person may ask for of what was asked for."""
    common = QueueWanted((), None, narrowed.assignment, narrowed.student, narrowed.show, narrowed.page)
    if asking.id == SOLO:
        return replace(common, people=(SOLO,))
    classrooms = [each for each in classes_run_by(asking, uow) if narrowed.classroom in ("", each.id)]
    ids = tuple(classroom.id for classroom in classrooms)
    if not narrowed.shown:
        return replace(common, classrooms=ids)
    every = tuple(classroom.id for classroom in classes_run_by(asking, uow))
    return replace(common, classrooms=every, people=_who_show_all(classrooms, uow))


def _who_show_all(classrooms: Sequence[Classroom], uow: UnitOfWork) -> tuple[str, ...]:
    members = [each for classroom in classrooms for each in uow.classes.members(classroom.id)]
    return tuple(person.id for person, member in members if member.as_ == "student" and member.shows_all)


def _queued(uow: UnitOfWork, boards: Sequence[Board]) -> Sequence[Queued]:
    checks: dict[str, list[Check]] = {}
    for check in uow.checks.of_boards(board.id for board in boards):
        checks.setdefault(check.board, []).append(check)
    people = {person_id: uow.people.get(person_id) for person_id in {board.person for board in boards}}
    return [Queued(board, people[board.person], _foremost(checks.get(board.id, ()))) for board in boards]


def _foremost(checks: Sequence[Check]) -> Check | None:
    """The newest measured end, else the newest end, else the newest measured practice cuts, else the newest photo."""
    return max(checks, key=_says_most, default=None)


def _says_most(check: Check) -> tuple[bool, bool, bool, datetime, str]:
    return bool(check.advice), check.view == "end", bool(check.work_on), check.sent_at, check.id

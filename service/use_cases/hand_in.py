"""Handing a board in to an assignment, changing one's mind, and what there is to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.assignment import Assignment, Policy, handed_in, taken_back
from service.domain.board import Board
from service.domain.classroom import Classroom
from service.domain.person import Person
from service.use_cases.answer_job import refresh_board
from service.use_cases.keep_log import assignment_of, measure_board_again
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import assignment_to_hand_in_to, board_to_change


@dataclass(frozen=True)
class Open:
    """The assignments that a person can hand in to, newest first, each with its class; `last` is the id of the one
    used last, if it is still open."""

    choices: Sequence[tuple[Assignment, Classroom]]
    last: str = ""

    @property
    def ids(self) -> frozenset[str]:
        """The ids of the assignments."""
        return frozenset(assignment.id for assignment, _ in self.choices)


def open_assignments(asking: Person, ports: Ports) -> Open:
    """What this person can choose from."""
    with ports.reading() as uow:
        choices = uow.assignments.for_student(asking.id)
        last = uow.assignments.last_used(asking.id) if choices else ""
    return Open(choices, last if last in Open(choices).ids else "")


def hand_in(asking: Person, board_id: str, assignment_id: str, ports: Ports) -> Board:
    """The board for that assignment, or for none when it is empty; judged by other limits, it is measured again.

    Raises NotFoundError, also for an assignment that is closed or of a class that the person is no student of.
    """
    with ports.unit_of_work() as uow:
        before = board_to_change(board_id, asking, uow)
        if before.assignment == assignment_id:
            return before
        assignment = assignment_to_hand_in_to(assignment_id, asking, uow) if assignment_id else None
        after = handed_in(before, assignment, ports.now()) if assignment else taken_back(before)
        uow.boards.put(after)
        other = _other_verdict(uow, before, after, assignment)
        after = measure_board_again(uow, board_id, ports) if other else refresh_board(uow, board_id)
        uow.commit()
    ports.runner.wake()
    return after


def _other_verdict(uow: UnitOfWork, before: Board, after: Board, assignment: Assignment | None) -> bool:
    """Whether the board's verdict rests on something else now."""
    other_wood = before.details.species != after.details.species
    return other_wood or _judged_by(assignment_of(uow, before)) != _judged_by(assignment)


def _judged_by(assignment: Assignment | None) -> tuple[Policy, str] | None:
    return (assignment.policy, assignment.plan) if assignment else None

"""Assignments: set, changed, closed and deleted by a class's instructors."""

from __future__ import annotations

from dataclasses import replace

from service.domain.assignment import Assignment
from service.domain.classroom import Classroom
from service.domain.edition import check_edition
from service.domain.person import Person
from service.use_cases.keep_log import measure_board_again
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.who_may import assignment_to_run, class_to_run


def set_assignment(asking: Person, wanted: Assignment, ports: Ports) -> Assignment:
    """A new assignment of the class that `wanted` names; its id and moment are made here. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        class_to_run(wanted.classroom, asking, uow)
        assignment = replace(wanted, id=ports.new_id(), created=ports.now())
        uow.assignments.add(assignment)
        uow.commit()
    return assignment


def change_assignment(asking: Person, wanted: Assignment, ports: Ports, edition: str = "") -> Assignment:
    """What `wanted` says in place of what the assignment of its id said. Raises NotFoundError.

    `edition` is that of the assignment as it was shown; MistakeError is raised when it was changed since.
    Its class stays, and whether it is closed. By other limits or another plan, all boards that were handed in are
    measured again.
    """
    with ports.unit_of_work() as uow:
        known = assignment_to_run(wanted.id, asking, uow)
        check_edition(edition, known.edition)
        changed = replace(wanted, classroom=known.classroom, created=known.created, closed=known.closed)
        uow.assignments.put(changed)
        if (changed.policy, changed.plan) != (known.policy, known.plan):
            _measure_all_again(uow, changed, ports)
        uow.commit()
    ports.runner.wake()
    return changed


def close_assignment(asking: Person, assignment_id: str, closed: bool, ports: Ports) -> Assignment:
    """Nothing more is handed in, or it is open again. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        changed = replace(assignment_to_run(assignment_id, asking, uow), closed=closed)
        uow.assignments.put(changed)
        uow.commit()
    return changed


def remove_assignment(asking: Person, assignment_id: str, ports: Ports) -> str:
    """It is gone; its students keep their boards, with its title. The id of its class. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        assignment = assignment_to_run(assignment_id, asking, uow)
        uow.assignments.remove(assignment_id)
        uow.commit()
    return assignment.classroom


def class_for_work(asking: Person, classroom_id: str, ports: Ports) -> Classroom:
    """A class that this person may set work for. Raises NotFoundError."""
    with ports.reading() as uow:
        return class_to_run(classroom_id, asking, uow)


def work_to_change(asking: Person, assignment_id: str, ports: Ports) -> Assignment:
    """An assignment that this person may change. Raises NotFoundError."""
    with ports.reading() as uow:
        return assignment_to_run(assignment_id, asking, uow)


def _measure_all_again(uow: UnitOfWork, assignment: Assignment, ports: Ports) -> None:
    for board in uow.handed_in.of_assignment(assignment.id):
        measure_board_again(uow, board.id, ports)

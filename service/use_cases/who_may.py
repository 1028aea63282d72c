"""Who may see, change and review whose boards: the one place that decides.

Everybody sees and changes their own boards. An instructor also sees and reviews the boards that a student of one of
their classes handed in to it, or all of the student's if the student says so. In solo mode the one person reviews
their own: a teacher at home with students' photos. To everyone else there is no such board.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.domain.assignment import Assignment
from service.domain.board import Board
from service.domain.check import Check
from service.domain.classroom import Classroom
from service.domain.mistakes import NotFoundError, chosen_in
from service.domain.person import Person
from service.use_cases.ports import UnitOfWork
from service.use_cases.solo import SOLO


def board_to_see(board_id: str, asking: Person, uow: UnitOfWork) -> Board:
    """A board that this person may look at. Raises NotFoundError."""
    board = uow.boards.get(board_id)
    if board.person != asking.id and not uow.classes.is_shown_to(board, asking.id):
        raise NotFoundError
    return board


def board_to_change(board_id: str, asking: Person, uow: UnitOfWork) -> Board:
    """A board of this person's own, held until the end of this transaction. Raises NotFoundError."""
    _check_own(uow.boards.get(board_id), asking)
    return uow.boards.hold(board_id)


def _check_own(board: Board, asking: Person) -> None:
    if board.person != asking.id:
        raise NotFoundError


def board_to_review(board_id: str, asking: Person, uow: UnitOfWork) -> Board:
    """A board that this person may judge as its instructor. Raises NotFoundError."""
    board = uow.boards.get(board_id)
    alone = board.person == asking.id == SOLO
    if not alone and not uow.classes.is_shown_to(board, asking.id):
        raise NotFoundError
    return board


def check_to_see(check_id: str, asking: Person, uow: UnitOfWork) -> Check:
    """A photo of a board that this person may look at. Raises NotFoundError."""
    check = uow.checks.get(check_id)
    board_to_see(check.board, asking, uow)
    return check


def check_to_change(check_id: str, asking: Person, uow: UnitOfWork) -> Check:
    """A photo of a board of this person's own, held like that. Raises NotFoundError."""
    board_to_change(uow.checks.get(check_id).board, asking, uow)
    return uow.checks.get(check_id)


def check_to_correct(check_id: str, asking: Person, uow: UnitOfWork) -> Check:
    """A photo whose walls this person may correct: of an own board, or of one they may judge. Raises NotFoundError."""
    check = uow.checks.get(check_id)
    if not may_review(check.board, asking, uow):
        _check_own(uow.boards.get(check.board), asking)
    return check


def may_review(board_id: str, asking: Person, uow: UnitOfWork) -> bool:
    """Whether this person may judge the board as its instructor."""
    try:
        board_to_review(board_id, asking, uow)
    except NotFoundError:
        return False
    return True


def students_of(asking: Person, uow: UnitOfWork) -> Sequence[Person]:
    """The students of this person's classes, by name; in solo mode the person alone."""
    return [asking] if asking.id == SOLO else uow.classes.students_of(asking.id)


def classes_run_by(asking: Person, uow: UnitOfWork) -> Sequence[Classroom]:
    """The classes that this person instructs, by name."""
    return [classroom for classroom, membership in uow.classes.of_person(asking.id) if membership.as_ == "instructor"]


def shown_by_students(asking: Person, uow: UnitOfWork) -> Mapping[Person, Sequence[str] | None]:
    """The students of this person's classes with what they let see: the boards of these classes; None for all."""
    shown: dict[Person, list[str] | None] = {}
    for classroom in classes_run_by(asking, uow):
        for student, membership in uow.classes.members(classroom.id):
            if membership.as_ == "student":
                known = shown.get(student, [])
                shown[student] = None if membership.shows_all or known is None else [*known, classroom.id]
    return shown


def class_to_see(classroom_id: str, asking: Person, uow: UnitOfWork) -> Classroom:
    """A class that this person is in. Raises NotFoundError."""
    if uow.classes.membership(classroom_id, asking.id) is None:
        raise NotFoundError
    return uow.classes.get(classroom_id)


def class_to_run(classroom_id: str, asking: Person, uow: UnitOfWork) -> Classroom:
    """A class that this person instructs. Raises NotFoundError."""
    membership = uow.classes.membership(classroom_id, asking.id)
    if membership is None or membership.as_ != "instructor":
        raise NotFoundError
    return uow.classes.get(classroom_id)


def assignment_to_see(assignment_id: str, asking: Person, uow: UnitOfWork) -> Assignment:
    """An assignment of a class that this person is in. Raises NotFoundError."""
    assignment = uow.assignments.get(assignment_id)
    class_to_see(assignment.classroom, asking, uow)
    return assignment


def assignment_to_run(assignment_id: str, asking: Person, uow: UnitOfWork) -> Assignment:
    """An assignment of a class that this person instructs. Raises NotFoundError."""
    assignment = uow.assignments.get(assignment_id)
    class_to_run(assignment.classroom, asking, uow)
    return assignment


def assignment_to_hand_in_to(assignment_id: str, asking: Person, uow: UnitOfWork) -> Assignment:
    """An open assignment of a class whose student this person is. Raises NotFoundError, naming the field."""
    with chosen_in("assignment"):
        assignment = uow.assignments.get(assignment_id)
        membership = uow.classes.membership(assignment.classroom, asking.id)
        if membership is None or membership.as_ != "student" or assignment.closed:
            raise NotFoundError
        return assignment

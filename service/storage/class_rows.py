"""Classes, who is in them, and their assignments, as rows of one database session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from sqlalchemy import ColumnElement, delete, exists, or_, select, update
from sqlalchemy.orm import Session, aliased

from service.domain.assignment import Assignment, Policy
from service.domain.board import Board
from service.domain.classroom import Classroom, Membership
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.storage.rows import person_of
from service.storage.tables import AssignmentRow, BoardRow, ClassroomRow, MeasuresRow, MembershipRow, PersonRow

LOOKED_AT = 50
"""The assignment used last is looked for among so many of the latest boards: a log may have thousands."""


class ClassRows:
    """`ports.Classes` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, classroom: Classroom) -> None:
        self._session.add(ClassroomRow(**_class_values(classroom)))
        self._session.flush()

    def get(self, classroom_id: str) -> Classroom:
        row = self._session.scalar(_fresh(select(ClassroomRow).where(_is(ClassroomRow.id, classroom_id))))
        if row is None:
            raise NotFoundError
        return _class_of(row)

    def put(self, classroom: Classroom) -> None:
        values = _class_values(classroom)
        self._session.execute(update(ClassroomRow).where(ClassroomRow.id == classroom.id).values(**values))

    def remove(self, classroom_id: str) -> None:
        _let_go(self._session, AssignmentRow.classroom_id == classroom_id)
        self._session.execute(delete(ClassroomRow).where(ClassroomRow.id == classroom_id))

    def with_code(self, join_code: str) -> Classroom | None:
        row = self._session.scalar(select(ClassroomRow).where(_is(ClassroomRow.join_code, join_code)))
        return None if row is None else _class_of(row)

    def all(self) -> Sequence[Classroom]:
        return [_class_of(row) for row in self._session.scalars(select(ClassroomRow).order_by(*_BY_NAME))]

    def of_person(self, person_id: str) -> Sequence[tuple[Classroom, Membership]]:
        asked = select(ClassroomRow, MembershipRow).join(MembershipRow, MembershipRow.classroom_id == ClassroomRow.id)
        rows = self._session.execute(_fresh(asked.where(MembershipRow.person_id == person_id).order_by(*_BY_NAME)))
        return [(_class_of(classroom), _membership_of(row)) for classroom, row in rows]

    def members(self, classroom_id: str) -> Sequence[tuple[Person, Membership]]:
        asked = select(PersonRow, MembershipRow).join(MembershipRow, MembershipRow.person_id == PersonRow.id)
        here = asked.where(_is(MembershipRow.classroom_id, classroom_id)).order_by(PersonRow.name, PersonRow.id)
        return [(person_of(person), _membership_of(row)) for person, row in self._session.execute(_fresh(here))]

    def membership(self, classroom_id: str, person_id: str) -> Membership | None:
        here = _is(MembershipRow.classroom_id, classroom_id), _is(MembershipRow.person_id, person_id)
        row = self._session.scalar(_fresh(select(MembershipRow).where(*here)))
        return None if row is None else _membership_of(row)

    def put_member(self, membership: Membership) -> None:
        self._session.merge(MembershipRow(**_membership_values(membership)))
        self._session.flush()

    def remove_member(self, classroom_id: str, person_id: str) -> None:
        here = MembershipRow.classroom_id == classroom_id, MembershipRow.person_id == person_id
        self._session.execute(delete(MembershipRow).where(*here))

    def is_shown_to(self, board: Board, person_id: str) -> bool:
        return bool(self._session.scalar(select(exists(_classes_that_show(board, person_id)))))

    def students_of(self, person_id: str) -> Sequence[Person]:
        teacher, student = aliased(MembershipRow), aliased(MembershipRow)
        taught = select(student.person_id).join(teacher, teacher.classroom_id == student.classroom_id)
        taught = taught.where(teacher.person_id == person_id, teacher.as_ == "instructor", student.as_ == "student")
        asked = select(PersonRow).where(PersonRow.id.in_(taught)).order_by(PersonRow.name, PersonRow.id)
        return [person_of(row) for row in self._session.scalars(asked)]


class AssignmentRows:
    """`ports.Assignments` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, assignment: Assignment) -> None:
        self._session.add(AssignmentRow(**_assignment_values(assignment)))
        self._session.flush()

    def get(self, assignment_id: str) -> Assignment:
        row = self._session.scalar(_fresh(select(AssignmentRow).where(_is(AssignmentRow.id, assignment_id))))
        if row is None:
            raise NotFoundError
        return _assignment_of(row)

    def put(self, assignment: Assignment) -> None:
        """The boards that were handed in to it get its new title."""
        values = _assignment_values(assignment)
        self._session.execute(update(AssignmentRow).where(AssignmentRow.id == assignment.id).values(**values))
        handed_in = update(BoardRow).where(BoardRow.assignment_id == assignment.id)
        self._session.execute(handed_in.values(assignment_title=assignment.title))

    def remove(self, assignment_id: str) -> None:
        _let_go(self._session, AssignmentRow.id == assignment_id)
        self._session.execute(delete(AssignmentRow).where(AssignmentRow.id == assignment_id))

    def of_class(self, classroom_id: str) -> Sequence[Assignment]:
        asked = select(AssignmentRow).where(_is(AssignmentRow.classroom_id, classroom_id))
        return [_assignment_of(row) for row in self._session.scalars(_fresh(asked.order_by(*_NEWEST_FIRST)))]

    def for_student(self, person_id: str) -> Sequence[tuple[Assignment, Classroom]]:
        asked = select(AssignmentRow, ClassroomRow).join(ClassroomRow, ClassroomRow.id == AssignmentRow.classroom_id)
        asked = asked.join(MembershipRow, MembershipRow.classroom_id == ClassroomRow.id)
        own = MembershipRow.person_id == person_id, MembershipRow.as_ == "student", AssignmentRow.closed.is_(False)
        rows = self._session.execute(asked.where(*own).order_by(*_NEWEST_FIRST))
        return [(_assignment_of(assignment), _class_of(classroom)) for assignment, classroom in rows]

    def last_used(self, person_id: str) -> str:
        own = select(BoardRow.assignment_id, BoardRow.handed_in, BoardRow.id).where(BoardRow.person_id == person_id)
        recent = own.order_by(BoardRow.created.desc(), BoardRow.id.desc()).limit(LOOKED_AT).subquery()
        asked = select(recent.c.assignment_id).where(recent.c.assignment_id.is_not(None))
        return self._session.scalar(asked.order_by(recent.c.handed_in.desc(), recent.c.id.desc()).limit(1)) or ""

    def take_back(self, classroom_id: str, person_id: str) -> None:
        _let_go(self._session, AssignmentRow.classroom_id == classroom_id, BoardRow.person_id == person_id)


def _let_go(session: Session, of_assignment: ColumnElement[bool], *of_board: ColumnElement[bool]) -> None:
    """The boards of those assignments are handed in no longer; they keep the title."""
    those = BoardRow.assignment_id.in_(select(AssignmentRow.id).where(of_assignment))
    boards = select(BoardRow.id).where(those, *of_board)
    nowhere = {"assignment_id": None, "classroom_id": None}
    session.execute(update(MeasuresRow).where(MeasuresRow.board_id.in_(boards)).values(**nowhere))
    session.execute(update(BoardRow).where(those, *of_board).values(**nowhere))


_BY_NAME = ClassroomRow.name, ClassroomRow.created, ClassroomRow.id
_NEWEST_FIRST = AssignmentRow.created.desc(), AssignmentRow.id.desc()


def _classes_that_show(board: Board, person_id: str) -> Any:
    """Classes whose instructor that person is, and whose student the board's, that have the board to see."""
    teacher, student = aliased(MembershipRow), aliased(MembershipRow)
    handed_in = select(AssignmentRow.classroom_id).where(AssignmentRow.id == board.assignment)
    both = select(student.classroom_id).join(teacher, teacher.classroom_id == student.classroom_id)
    return both.where(
        teacher.person_id == person_id,
        teacher.as_ == "instructor",
        student.person_id == board.person,
        student.as_ == "student",
        or_(student.shows_all.is_(True), student.classroom_id.in_(handed_in)),
    )


def _is(column: Any, value: str) -> ColumnElement[bool]:
    """PostgreSQL takes no text with a zero in it: what nobody can have typed is compared as nothing."""
    return column == (value if value.isprintable() else "")


def _fresh(statement: Any) -> Any:
    """Rows as the database has them, whatever was read before in this session."""
    return statement.execution_options(populate_existing=True)


def _class_of(row: ClassroomRow) -> Classroom:
    return Classroom(row.id, row.name, row.join_code or "", row.created)


def _class_values(classroom: Classroom) -> dict[str, Any]:
    """No code is no value: of values there may be but one of each."""
    return asdict(classroom) | {"join_code": classroom.join_code or None}


def _membership_of(row: MembershipRow) -> Membership:
    return Membership(row.classroom_id, row.person_id, row.as_, row.joined, row.shows_all)  # type: ignore[arg-type]


def _membership_values(membership: Membership) -> dict[str, Any]:
    values = {"as_": membership.as_, "joined": membership.joined, "shows_all": membership.shows_all}
    return values | {"classroom_id": membership.classroom, "person_id": membership.person}


def _assignment_of(row: AssignmentRow) -> Assignment:
    named = row.id, row.classroom_id, row.title, row.created
    return Assignment(*named, row.what_to_cut, row.species, row.plan, row.due, row.closed, Policy(**row.policy))


def _assignment_values(assignment: Assignment) -> dict[str, Any]:
    values = asdict(assignment)
    return values | {"classroom_id": values.pop("classroom")}

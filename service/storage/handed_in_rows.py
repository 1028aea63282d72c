"""The boards of a class as queries whose time hardly grows with the number of boards that each student has."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Select, bindparam, func, select
from sqlalchemy.orm import Session

from service.domain.board import Board
from service.domain.measures import Measures
from service.storage.measures_rows import asked, measures_of_row
from service.storage.rows import board_of
from service.storage.tables import AssignmentRow, BoardRow, MeasuresRow

AT_ONCE = 500
_BOARDS: Any = BoardRow.__table__.c
"""Columns, not objects: rows of them are read in a third of the time, and `board_of` takes them as well."""


class HandedInRows:
    """`ports.HandedIn` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def counts(self, classroom_id: str) -> Mapping[str, tuple[int, int]]:
        here = BoardRow.assignment_id.in_(_assignments_of(classroom_id))
        by_person = select(BoardRow.assignment_id, func.count()).where(here)
        found: dict[Any, tuple[int, int]] = {}
        for assignment, number in self._session.execute(by_person.group_by(BoardRow.assignment_id, BoardRow.person_id)):
            boards, people = found.get(assignment, (0, 0))
            found[assignment] = boards + number, people + 1
        return found

    def periods(self, classroom_id: str, people: Iterable[str], most: int) -> Mapping[str, Sequence[Measures]]:
        own = _measured_in(classroom_id).where(MeasuresRow.person_id == bindparam("person")).limit(most)
        first = own.order_by(MeasuresRow.created, MeasuresRow.board_id)
        last = own.order_by(MeasuresRow.created.desc(), MeasuresRow.board_id.desc())
        return {person: self._ends(first, last, person, most) for person in people}

    def _ends(self, first: Select[Any], last: Select[Any], person: str, most: int) -> Sequence[Measures]:
        rows = self._session.execute(first, {"person": person}).all()
        if len(rows) == most:
            rows = [*rows, *reversed(self._session.execute(last, {"person": person}).all())]
        return list({each.board: each for each in map(measures_of_row, rows)}.values())

    def since(self, classroom_id: str, people: Iterable[str], moment: datetime) -> Mapping[str, Sequence[Measures]]:
        recent = _measured_in(classroom_id).where(MeasuresRow.person_id.in_(list(people)))
        newer = recent.where(MeasuresRow.created >= moment).order_by(MeasuresRow.created, MeasuresRow.board_id)
        found: dict[str, list[Measures]] = {}
        for each in map(measures_of_row, self._session.execute(newer)):
            found.setdefault(each.person, []).append(each)
        return found

    def last_boards(self, classroom_id: str, people: Iterable[str], most: int) -> Mapping[str, Sequence[Board]]:
        own = select(*_BOARDS).where(_BOARDS.classroom_id == classroom_id, _BOARDS.person_id == bindparam("person"))
        last = own.order_by(_BOARDS.created.desc(), _BOARDS.id.desc()).limit(most)
        return {person: self._boards(last, person=person) for person in people}

    def latest(self, assignment_ids: Iterable[str]) -> Mapping[str, Mapping[str, Measures]]:
        here = MeasuresRow.assignment_id.in_(list(assignment_ids))
        keys = MeasuresRow.assignment_id, MeasuresRow.person_id
        newest = select(*keys, func.max(MeasuresRow.created).label("created")).where(here).group_by(*keys).subquery()
        same = (
            (newest.c.assignment_id == MeasuresRow.assignment_id)
            & (newest.c.person_id == MeasuresRow.person_id)
            & (newest.c.created == MeasuresRow.created)
        )
        found: dict[str, dict[str, Measures]] = {}
        for each in map(measures_of_row, self._session.execute(asked().join(newest, same).order_by(*keys))):
            found.setdefault(each.assignment, {})[each.person] = each
        return found

    def of_assignment(self, assignment_id: str, person_id: str = "", most: int | None = None) -> Sequence[Board]:
        here = select(*_BOARDS).where(_BOARDS.assignment_id == assignment_id)
        own = here.where(_BOARDS.person_id == person_id) if person_id else here
        return self._boards(own.order_by(_BOARDS.created.desc(), _BOARDS.id.desc()).limit(most))

    def totals(self, assignment_id: str) -> Mapping[str, int]:
        counted = select(BoardRow.person_id, func.count().label("boards")).group_by(BoardRow.person_id)
        rows = self._session.execute(counted.where(BoardRow.assignment_id == assignment_id))
        return {row.person_id: row.boards for row in rows}

    def of_class(self, classroom_id: str) -> Iterable[tuple[Board, Measures | None]]:
        joined = asked().add_columns(BoardRow).select_from(BoardRow)
        all_of = joined.outerjoin(MeasuresRow, MeasuresRow.board_id == BoardRow.id)
        ordered = all_of.where(BoardRow.classroom_id == classroom_id).order_by(BoardRow.created, BoardRow.id)
        for *numbers, board in self._session.execute(ordered, execution_options={"yield_per": AT_ONCE}):
            yield board_of(board), Measures(*numbers) if numbers[0] else None

    def _boards(self, statement: Select[Any], **values: str) -> Sequence[Board]:
        return [board_of(row) for row in self._session.execute(statement, values)]


def _measured_in(classroom_id: str) -> Select[Any]:
    return asked().where(MeasuresRow.classroom_id == classroom_id)


def _assignments_of(classroom_id: str) -> Select[Any]:
    return select(AssignmentRow.id).where(AssignmentRow.classroom_id == classroom_id)

"""People, boards, checks, fits as rows of one database session."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from service.domain.board import Board
from service.domain.check import FACES, Check
from service.domain.fit import Fit
from service.domain.log import Choices, LogPage, Wanted
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.storage.log_lines import add_line, change_line
from service.storage.log_query import boards_between, choices_of, find_boards
from service.storage.rows import (
    board_of,
    board_values,
    check_of,
    check_values,
    fit_of,
    person_of,
    person_values,
)
from service.storage.tables import BoardRow, CheckRow, FitRow, PersonRow, ReviewRow, TogetherRow

Row = TypeVar("Row", PersonRow, BoardRow, CheckRow)
NAMES_OF_FILES = (
    CheckRow.photo,
    CheckRow.overlay,
    CheckRow.screen,
    CheckRow.thumbnail,
    CheckRow.original_overlay,
    CheckRow.original_screen,
    CheckRow.original_thumbnail,
    ReviewRow.picture,
    TogetherRow.end_picture,
    TogetherRow.board_picture,
)
AT_ONCE = 400
"""Values in one IN list: SQLite took no more than 999 for long."""


def _get(session: Session, kind: type[Row], row_id: str, *, hold: bool = False) -> Row:
    """The row of that id, as the database has it now; `hold` keeps others from changing it. Raises NotFoundError."""
    if not (row_id.isascii() and row_id.isprintable()):  # PostgreSQL takes no text with a zero in it
        raise NotFoundError
    asked = select(kind).where(kind.id == row_id).execution_options(populate_existing=True)
    row = session.scalar(asked.with_for_update() if hold else asked)
    if row is None:
        raise NotFoundError
    return row


class PeopleRows:
    """`ports.People` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, person: Person) -> None:
        self._session.add(PersonRow(**person_values(person)))
        self._session.flush()

    def get(self, person_id: str) -> Person:
        return person_of(_get(self._session, PersonRow, person_id))

    def put(self, person: Person) -> None:
        self._session.execute(update(PersonRow).where(PersonRow.id == person.id).values(**person_values(person)))

    def remove(self, person_id: str) -> None:
        self._session.execute(delete(PersonRow).where(PersonRow.id == person_id))


class BoardRows:
    """`ports.Boards` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, board: Board) -> None:
        self._session.add(BoardRow(**board_values(board)))
        self._session.flush()
        add_line(self._session, board)

    def get(self, board_id: str) -> Board:
        return board_of(_get(self._session, BoardRow, board_id))

    def hold(self, board_id: str) -> Board:
        return board_of(_get(self._session, BoardRow, board_id, hold=True))

    def put(self, board: Board) -> None:
        self._session.execute(update(BoardRow).where(BoardRow.id == board.id).values(**board_values(board)))
        change_line(self._session, board)

    def remove(self, board_id: str) -> None:
        self._session.execute(delete(BoardRow).where(BoardRow.id == board_id))

    def find(self, wanted: Wanted) -> LogPage:
        return find_boards(self._session, wanted)

    def between(self, wanted: Wanted, start: datetime, end: datetime) -> Sequence[Board]:
        return boards_between(self._session, wanted, start, end)

    def choices(self, person_id: str) -> Choices:
        return choices_of(self._session, person_id)

    def all_of(self, person_id: str) -> Sequence[Board]:
        asked = select(BoardRow).where(BoardRow.person_id == person_id).order_by(BoardRow.created, BoardRow.id)
        return [board_of(row) for row in self._session.scalars(asked)]


class CheckRows:
    """`ports.Checks` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, check: Check) -> None:
        self._session.add(CheckRow(**check_values(check)))
        self._session.flush()

    def get(self, check_id: str) -> Check:
        return check_of(_get(self._session, CheckRow, check_id))

    def put(self, check: Check) -> None:
        self._session.execute(update(CheckRow).where(CheckRow.id == check.id).values(**check_values(check)))

    def remove(self, check_id: str) -> None:
        self._session.execute(delete(CheckRow).where(CheckRow.id == check_id))

    def of_boards(self, board_ids: Iterable[str]) -> Sequence[Check]:
        found = []
        for some in portions(board_ids):
            asked = select(CheckRow).where(CheckRow.board_id.in_(some)).execution_options(populate_existing=True)
            found += [check_of(row) for row in self._session.scalars(asked)]
        return sorted(found, key=lambda check: (check.sent_at, check.id))

    def faces_of(self, board_ids: Iterable[str]) -> Sequence[Check]:
        found = []
        for some in portions(board_ids):
            faces = CheckRow.board_id.in_(some), CheckRow.view.in_(FACES), CheckRow.state == "measured"
            found += [check_of(row) for row in self._session.scalars(select(CheckRow).where(*faces))]
        return sorted(found, key=lambda check: (check.sent_at, check.id))

    def of_photo(self, person_id: str, sent_sha256: str) -> Check | None:
        asked = select(CheckRow).where(CheckRow.person_id == person_id, CheckRow.sent_sha256 == sent_sha256)
        row = self._session.scalar(asked)
        return None if row is None else check_of(row)

    def still_used(self, names: Iterable[str]) -> set[str]:
        used: set[str] = set()
        for some in portions(names):
            for column in NAMES_OF_FILES:
                used |= set(self._session.scalars(select(column).where(column.in_(some))))
        return used


class FitRows:
    """`ports.Fits` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def of_board(self, board_id: str) -> Sequence[Fit]:
        asked = select(FitRow).where(FitRow.board_id == board_id).order_by(FitRow.socket)
        return [fit_of(row) for row in self._session.scalars(asked)]

    def of_boards(self, board_ids: Iterable[str]) -> Mapping[str, Sequence[Fit]]:
        found: dict[str, list[Fit]] = {}
        for some in portions(board_ids):
            asked: Any = select(FitRow.board_id, FitRow.socket, FitRow.outcome, FitRow.noted_at)
            for row in self._session.execute(asked.where(FitRow.board_id.in_(some)).order_by(FitRow.socket)):
                found.setdefault(row.board_id, []).append(fit_of(row))
        return found

    def replace(self, board_id: str, fits: Iterable[Fit]) -> None:
        self._session.execute(delete(FitRow).where(FitRow.board_id == board_id))
        rows = [FitRow(board_id=board_id, socket=f.socket, outcome=f.outcome, noted_at=f.noted_at) for f in fits]
        self._session.add_all(rows)
        self._session.flush()


def portions(values: Iterable[str]) -> Iterable[list[str]]:
    """The values in lists short enough for one statement."""
    listed = list(values)
    return (listed[start : start + AT_ONCE] for start in range(0, len(listed), AT_ONCE))

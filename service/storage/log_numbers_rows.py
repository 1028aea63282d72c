"""The packed walls and sockets of measured boards as rows of one database session."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Row, Select, delete, select
from sqlalchemy.orm import Session

from service.domain.log import Wanted
from service.domain.log_numbers import Logged, LogNumbers
from service.storage.log_query import last_moment, midnight
from service.storage.tables import BoardRow, FitRow, LogNumbersRow, MeasuresRow

_BOARD: Any = BoardRow.__table__.c
_COLUMNS = (
    _BOARD.id,
    _BOARD.name,
    _BOARD.created,
    _BOARD.species,
    _BOARD.saw,
    _BOARD.plan,
    _BOARD.notes,
    _BOARD.assignment_title,
    MeasuresRow.stage,
    MeasuresRow.advice,
    MeasuresRow.width_mm,
    MeasuresRow.thickness_mm,
    LogNumbersRow.walls,
    LogNumbersRow.sockets,
    _BOARD.decision,
    _BOARD.corrected,
)
"""In the order of the fields of `Logged`."""


class LogNumbersRows:
    """`ports.AllLogNumbers` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def put(self, numbers: LogNumbers) -> None:
        self.remove(numbers.board)
        self._session.add(LogNumbersRow(**numbers_values(numbers)))
        self._session.flush()

    def remove(self, board_id: str) -> None:
        self._session.execute(delete(LogNumbersRow).where(LogNumbersRow.board_id == board_id))

    def latest(
        self, wanted: Wanted, most: int, *, driven: bool = False, classrooms: Sequence[str] | None = None
    ) -> Sequence[Logged]:
        newest = _asked().where(*_conditions(wanted))
        if driven:
            newest = newest.where(select(FitRow.board_id).where(FitRow.board_id == LogNumbersRow.board_id).exists())
        if classrooms is not None:
            newest = newest.where(BoardRow.classroom_id.in_(classrooms))
        order = (LogNumbersRow.created.desc(), LogNumbersRow.board_id.desc())
        rows = self._session.execute(newest.order_by(*order).limit(most)).all()
        return [_logged(row) for row in reversed(rows)]

    def of_board(self, board_id: str) -> Logged | None:
        row = self._session.execute(_asked().where(LogNumbersRow.board_id == board_id)).first()
        return None if row is None else _logged(row)


def numbers_values(numbers: LogNumbers) -> dict[str, Any]:
    """The columns of a board's packed rows."""
    named = {"board_id": numbers.board, "person_id": numbers.person, "created": numbers.created}
    return named | {"walls": numbers.walls, "sockets": numbers.sockets}


def _asked() -> Select[Any]:
    joined = select(*_COLUMNS).select_from(LogNumbersRow)
    with_board = joined.join(BoardRow, BoardRow.id == LogNumbersRow.board_id)
    return with_board.join(MeasuresRow, MeasuresRow.board_id == LogNumbersRow.board_id)


def _conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    """Of the log's filters those that make sense for charts."""
    conditions: list[ColumnElement[bool]] = [LogNumbersRow.person_id == wanted.person]
    if wanted.species:
        conditions.append(BoardRow.species == wanted.species)
    if wanted.saw:
        conditions.append(BoardRow.saw == wanted.saw)
    if wanted.since:
        conditions.append(LogNumbersRow.created >= midnight(wanted.since))
    if wanted.until:
        conditions.append(LogNumbersRow.created <= last_moment(wanted.until))
    return conditions


def _logged(row: Row[Any]) -> Logged:
    return Logged(*tuple(row))

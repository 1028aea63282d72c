"""The packed walls and sockets of measured boards as rows of one database session."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Row, Select, delete, false, func, or_, select, true
from sqlalchemy.orm import Session

from service.domain.log import Wanted
from service.domain.log_numbers import Logged, LogNumbers
from service.storage.log_query import narrowed
from service.storage.repositories import portions
from service.storage.tables import BoardRow, CheckRow, FitRow, LogNumbersRow, MeasuresRow

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
_NEWEST_FIRST = (LogNumbersRow.created.desc(), LogNumbersRow.board_id.desc())


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

    def latest(self, wanted: Wanted, most: int, *, driven: bool = False) -> Sequence[Logged]:
        newest = _asked().where(*narrowed(wanted, LogNumbersRow, BoardRow))
        if driven:
            newest = newest.where(_is_driven())
        rows = self._session.execute(newest.order_by(*_NEWEST_FIRST).limit(most)).all()
        return [_logged(row) for row in reversed(rows)]

    def latest_driven(self, shown: Mapping[str, Sequence[str] | None], most: int) -> Mapping[str, Sequence[Logged]]:
        place = func.row_number().over(partition_by=LogNumbersRow.person_id, order_by=_NEWEST_FIRST).label("place")
        numbered = _joined(LogNumbersRow.board_id, LogNumbersRow.person_id, place).where(_is_driven(), _shown(shown))
        kept = numbered.subquery()
        newest = _asked().add_columns(kept.c.person_id).join(kept, kept.c.board_id == LogNumbersRow.board_id)
        found: dict[str, list[Logged]] = {}
        for *columns, person in self._session.execute(newest.where(kept.c.place <= most).order_by(kept.c.place.desc())):
            found.setdefault(person, []).append(Logged(*columns))
        return found

    def answered_at(self, board_ids: Iterable[str]) -> Mapping[str, datetime]:
        found: dict[str, datetime] = {}
        known = select(MeasuresRow.board_id, CheckRow.answered_at).join(CheckRow, CheckRow.id == MeasuresRow.check_id)
        known = known.where(CheckRow.answered_at.is_not(None))
        for some in portions(board_ids):
            rows = self._session.execute(known.where(MeasuresRow.board_id.in_(some)))
            found |= {row.board_id: row.answered_at for row in rows}
        return found

    def of_board(self, board_id: str) -> Logged | None:
        row = self._session.execute(_asked().where(LogNumbersRow.board_id == board_id)).first()
        return None if row is None else _logged(row)


def numbers_values(numbers: LogNumbers) -> dict[str, Any]:
    """The columns of a board's packed rows."""
    named = {"board_id": numbers.board, "person_id": numbers.person, "created": numbers.created}
    return named | {"walls": numbers.walls, "sockets": numbers.sockets}


def _asked() -> Select[Any]:
    return _joined(*_COLUMNS)


def _joined(*columns: Any) -> Select[Any]:
    with_board = select(*columns).select_from(LogNumbersRow).join(BoardRow, BoardRow.id == LogNumbersRow.board_id)
    return with_board.join(MeasuresRow, MeasuresRow.board_id == LogNumbersRow.board_id)


def _is_driven() -> ColumnElement[bool]:
    return select(FitRow.board_id).where(FitRow.board_id == LogNumbersRow.board_id).exists()


def _shown(shown: Mapping[str, Sequence[str] | None]) -> ColumnElement[bool]:
    """Of these people's boards those handed in to these classes, or all; one condition for all who show the same."""
    alike: dict[tuple[str, ...] | None, list[str]] = {}
    for person, classrooms in shown.items():
        alike.setdefault(None if classrooms is None else tuple(classrooms), []).append(person)
    theirs = [
        LogNumbersRow.person_id.in_(people) & (true() if classrooms is None else BoardRow.classroom_id.in_(classrooms))
        for classrooms, people in alike.items()
    ]
    return LogNumbersRow.person_id.in_(list(shown)) & or_(false(), *theirs)


def _logged(row: Row[Any]) -> Logged:
    return Logged(*tuple(row))

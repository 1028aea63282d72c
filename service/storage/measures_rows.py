"""The numbers of measured boards as rows of one database session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, fields
from typing import Any

from sqlalchemy import Row, Select, delete, func, select
from sqlalchemy.orm import Session

from service.domain.measures import Measures
from service.storage.rows import class_of
from service.storage.tables import MeasuresRow

NAMES = tuple(field.name for field in fields(Measures))
KEYS = {"board": "board_id", "check": "check_id", "person": "person_id", "assignment": "assignment_id"}


def _column(name: str) -> Any:
    column = getattr(MeasuresRow, KEYS.get(name, name))
    return func.coalesce(column, "") if name == "assignment" else column


COLUMNS = tuple(_column(name) for name in NAMES)
"""In the order of the fields of `Measures`: rows are read as plain values, thousands at a time."""


class MeasuresRows:
    """`ports.AllMeasures` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def put(self, measures: Measures) -> None:
        self.remove(measures.board)
        self._session.add(MeasuresRow(**_values(measures)))
        self._session.flush()

    def remove(self, board_id: str) -> None:
        self._session.execute(delete(MeasuresRow).where(MeasuresRow.board_id == board_id))

    def of_board(self, board_id: str) -> Measures | None:
        row = self._session.execute(asked().where(MeasuresRow.board_id == board_id)).first()
        return None if row is None else measures_of_row(row)

    def of_person(self, person_id: str) -> Sequence[Measures]:
        own = asked().where(MeasuresRow.person_id == person_id).order_by(MeasuresRow.created, MeasuresRow.board_id)
        return [measures_of_row(row) for row in self._session.execute(own)]


def asked() -> Select[Any]:
    """All columns of measures."""
    return select(*COLUMNS)


def measures_of_row(row: Row[Any]) -> Measures:
    """The numbers of a row of `asked`."""
    return Measures(*tuple(row))


def _values(measures: Measures) -> dict[str, Any]:
    values = {KEYS.get(name, name): value for name, value in asdict(measures).items()}
    if not measures.assignment:
        return values | {"assignment_id": None}
    return values | {"classroom_id": class_of(measures.assignment)}

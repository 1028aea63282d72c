"""The practice log as queries: boards narrowed, counted and cut into pages."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from service.domain.log import PAGE_SIZE, Choices, LogPage, Wanted
from service.storage.rows import board_of
from service.storage.tables import BoardRow

SEARCHED = (BoardRow.name, BoardRow.notes, BoardRow.plan, BoardRow.saw, BoardRow.species)


def find_boards(session: Session, wanted: Wanted) -> LogPage:
    """One page of the boards wanted, newest first. A page past the last is the last."""
    conditions = _conditions(wanted)
    total = session.scalar(select(func.count()).select_from(BoardRow).where(*conditions)) or 0
    page = min(max(wanted.page, 1), LogPage((), total, 1).pages)
    asked = select(BoardRow).where(*conditions).order_by(BoardRow.created.desc(), BoardRow.id.desc())
    rows = session.scalars(asked.limit(PAGE_SIZE).offset((page - 1) * PAGE_SIZE))
    return LogPage([board_of(row) for row in rows], total, page)


def choices_of(session: Session, person_id: str) -> Choices:
    """The woods and saws that a person's boards have, by name."""
    return Choices(_distinct(session, person_id, BoardRow.species), _distinct(session, person_id, BoardRow.saw))


def _distinct(session: Session, person_id: str, column: InstrumentedAttribute[str]) -> tuple[str, ...]:
    asked = select(column).where(BoardRow.person_id == person_id, column != "").distinct()
    return tuple(sorted(session.scalars(asked)))


def _conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = [BoardRow.person_id == wanted.person]
    if wanted.standing:
        conditions.append(BoardRow.standing == wanted.standing)
    if wanted.species:
        conditions.append(BoardRow.species == wanted.species)
    if wanted.saw:
        conditions.append(BoardRow.saw == wanted.saw)
    if wanted.since:
        conditions.append(BoardRow.created >= _midnight(wanted.since))
    if wanted.until:
        conditions.append(BoardRow.created < _midnight(wanted.until) + timedelta(days=1))
    return conditions + [_holds(word) for word in wanted.text.split()]


def _holds(word: str) -> ColumnElement[bool]:
    """Whether any searched text holds the word, capitals or not."""
    return or_(*(column.icontains(word, autoescape=True) for column in SEARCHED))


def _midnight(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC)

"""The practice log as queries: boards narrowed, counted and cut into pages, on the narrow lines kept for it.

A search reads every line of one person (100,000 take about 40 ms), whichever the database; no page reads them twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from service.domain.board import Board
from service.domain.log import PAGE_SIZE, Choices, LogPage, Wanted
from service.storage.rows import board_of
from service.storage.tables import BoardRow, LogLineRow, LogNumbersRow

MOST_IN_A_MONTH = 2000
"""So many boards are shown of one stretch of time."""


def find_boards(session: Session, wanted: Wanted) -> LogPage:
    """One page of the boards wanted, newest first. A page past the last is the last."""
    page = max(wanted.page, 1)
    ids = _ids(session, wanted, page)
    if len(ids) <= PAGE_SIZE and (ids or page == 1):
        total = (page - 1) * PAGE_SIZE + len(ids)
    else:
        total = session.scalar(select(func.count()).select_from(LogLineRow).where(*_conditions(wanted))) or 0
    last = LogPage((), total, 1).pages
    if page > last:
        page, ids = last, _ids(session, wanted, last)
    return LogPage(_boards(session, ids[:PAGE_SIZE]), total, page)


def boards_between(session: Session, wanted: Wanted, start: datetime, end: datetime) -> Sequence[Board]:
    """Those of the boards wanted that were begun from `start` to before `end`, oldest first, but not endlessly many."""
    within = (LogLineRow.created >= start, LogLineRow.created < end)
    lines = select(LogLineRow.board_id).where(*_conditions(wanted), *within)
    ids = lines.order_by(LogLineRow.created, LogLineRow.board_id).limit(MOST_IN_A_MONTH)
    asked = select(BoardRow).where(BoardRow.id.in_(ids)).order_by(BoardRow.created, BoardRow.id)
    return [board_of(row) for row in session.scalars(asked)]


def choices_of(session: Session, person_id: str) -> Choices:
    """The woods and saws that a person's boards have, by name."""
    return Choices(_distinct(session, person_id, LogLineRow.species), _distinct(session, person_id, LogLineRow.saw))


def _ids(session: Session, wanted: Wanted, page: int) -> list[str]:
    """A page of boards, and one more if there is any."""
    asked = select(LogLineRow.board_id).where(*_conditions(wanted))
    newest_first = asked.order_by(LogLineRow.created.desc(), LogLineRow.board_id.desc())
    return list(session.scalars(newest_first.limit(PAGE_SIZE + 1).offset((page - 1) * PAGE_SIZE)))


def _boards(session: Session, ids: Sequence[str]) -> list[Board]:
    found = {row.id: board_of(row) for row in session.scalars(select(BoardRow).where(BoardRow.id.in_(ids)))}
    return [found[board_id] for board_id in ids]


def _distinct(session: Session, person_id: str, column: InstrumentedAttribute[str]) -> tuple[str, ...]:
    """Every value but the empty one, each by one step in the index: thousands of lines that share it are skipped."""
    own = LogLineRow.person_id == person_id
    first = select(func.min(column).label("value")).where(own, column > "")
    steps = first.cte("steps", recursive=True)
    following = select(func.min(column)).where(own, column > steps.c.value).scalar_subquery()
    steps = steps.union_all(select(following).where(steps.c.value.is_not(None)))
    return tuple(sorted(session.scalars(select(steps.c.value).where(steps.c.value.is_not(None)))))


def _conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    conditions = narrowed(wanted, LogLineRow, LogLineRow)
    if wanted.standing:
        conditions.append(LogLineRow.standing == wanted.standing)
    return conditions + [LogLineRow.searched.contains(word, autoescape=True) for word in wanted.words]


def narrowed(
    wanted: Wanted, rows: type[LogLineRow | LogNumbersRow | BoardRow], boards: type[LogLineRow | BoardRow]
) -> list[ColumnElement[bool]]:
    """Of the log's filters those that make sense for charts as well: person and days of `rows`, wood and saw of
    `boards`."""
    conditions: list[ColumnElement[bool]] = [rows.person_id == wanted.person]
    if wanted.species:
        conditions.append(boards.species == wanted.species)
    if wanted.saw:
        conditions.append(boards.saw == wanted.saw)
    if wanted.since:
        conditions.append(rows.created >= midnight(wanted.since))
    if wanted.until:
        conditions.append(rows.created <= last_moment(wanted.until))
    return conditions


def midnight(day: date) -> datetime:
    """The moment at which a day begins, in UTC."""
    return datetime.combine(day, time.min, UTC)


def last_moment(day: date) -> datetime:
    """The last moment of a day that a database keeps, in UTC."""
    return datetime.combine(day, time.max, UTC)

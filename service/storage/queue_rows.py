"""The review queue as queries: every one of them walks an index, however many boards there are."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, func, or_, select, tuple_
from sqlalchemy.orm import Session

from service.domain.board import Board
from service.domain.log import LogPage
from service.domain.review_queue import PAGE_SIZE, URGENCY, QueueWanted
from service.storage.rows import board_of
from service.storage.tables import BoardRow


class QueueRows:
    """`review_ports.ReviewQueue` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def find(self, wanted: QueueWanted) -> LogPage:
        conditions = _conditions(wanted)
        total = self._session.scalar(select(func.count()).select_from(BoardRow).where(*conditions)) or 0
        page = min(max(wanted.page, 1), LogPage((), total, 1, PAGE_SIZE).pages)
        asked = select(BoardRow).where(*conditions).order_by(*_order(wanted))
        rows = self._session.scalars(asked.limit(PAGE_SIZE).offset((page - 1) * PAGE_SIZE))
        return LogPage([board_of(row) for row in rows], total, page, PAGE_SIZE)

    def count(self, wanted: QueueWanted, most: int) -> int:
        some = select(BoardRow.id).where(*_conditions(wanted)).limit(most + 1).subquery()
        return self._session.scalar(select(func.count()).select_from(some)) or 0

    def beside(self, wanted: QueueWanted, board: Board) -> tuple[str, str]:
        keys, here = tuple_(*_keys(wanted)), _place(wanted, board)
        earlier, later = keys < here, keys > here
        back = [key.desc() for key in _keys(wanted)]
        if wanted.show == "reviewed":
            earlier, later, back = later, earlier, list(_keys(wanted))
        return self._first(wanted, earlier, back), self._first(wanted, later, _order(wanted))

    def _first(self, wanted: QueueWanted, there: ColumnElement[bool], order: list[Any]) -> str:
        asked = select(BoardRow.id).where(*_conditions(wanted), there)
        return self._session.scalar(asked.order_by(*order).limit(1)) or ""


def _came(wanted: QueueWanted) -> Any:
    """The column of when a board came: into a class by being handed in."""
    return BoardRow.created if wanted.people is not None else BoardRow.handed_in


def _keys(wanted: QueueWanted) -> tuple[Any, ...]:
    if wanted.show == "reviewed":
        return BoardRow.reviewed_at, BoardRow.id
    return BoardRow.review_rank, _came(wanted), BoardRow.id


def _order(wanted: QueueWanted) -> list[Any]:
    """The most urgent first and then who waits longest; of what was reviewed, the latest first."""
    return [key.desc() for key in _keys(wanted)] if wanted.show == "reviewed" else list(_keys(wanted))


def _place(wanted: QueueWanted, board: Board) -> tuple[Any, ...]:
    """Where that board stands, or stood before it was reviewed, in the order of `_keys`."""
    came = board.created if wanted.people is not None else board.handed_in or board.created
    if wanted.show == "reviewed":
        return board.reviewed_at or came, board.id
    rank = board.review_rank if board.review_rank is not None else URGENCY.get(board.standing, 0)
    return rank, came, board.id


def _conditions(wanted: QueueWanted) -> list[ColumnElement[bool]]:
    asked = BoardRow.review_rank if wanted.show == "open" else BoardRow.reviewed_at
    conditions = [*_within(wanted), asked.is_not(None)]
    if wanted.assignment:
        conditions.append(BoardRow.assignment_id == wanted.assignment)
    if wanted.student:
        conditions.append(BoardRow.person_id == wanted.student)
    return conditions


def _within(wanted: QueueWanted) -> list[ColumnElement[bool]]:
    handed_in = BoardRow.classroom_id.in_(wanted.classrooms)
    if wanted.people is None:
        return [handed_in]
    return [BoardRow.person_id.in_(wanted.people), or_(BoardRow.classroom_id.is_(None), ~handed_in)]

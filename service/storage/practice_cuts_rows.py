"""The measured boards of practice cuts of one database session."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.domain.log import Wanted
from service.domain.practice_cuts import LoggedCuts, figures_of
from service.storage.log_query import narrowed
from service.storage.tables import BoardRow, CheckRow

_NEWEST_FIRST = (BoardRow.created.desc(), BoardRow.id.desc())


class PracticeCutsRows:
    """`ports.AllPracticeCuts` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def latest(self, wanted: Wanted, most: int) -> Sequence[LoggedCuts]:
        of_cuts = BoardRow.work_on != "", *narrowed(wanted, BoardRow, BoardRow)
        boards = select(BoardRow.id).where(*of_cuts).order_by(*_NEWEST_FIRST).limit(most).subquery()
        measured = select(BoardRow.id, BoardRow.name, BoardRow.created, CheckRow.result).join(
            CheckRow, CheckRow.board_id == BoardRow.id
        )
        measured = measured.where(
            BoardRow.id.in_(select(boards.c.id)), CheckRow.view == "drill", CheckRow.state == "measured"
        )
        oldest_first = (BoardRow.created, BoardRow.id, CheckRow.sent_at, CheckRow.id)
        newest = {row.id: row for row in self._session.execute(measured.order_by(*oldest_first))}
        return [LoggedCuts(row.id, row.name, row.created, figures_of(row.result)) for row in newest.values()]

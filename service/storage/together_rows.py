"""What boards' photos say together, as rows of one database session."""

from __future__ import annotations

from typing import Any

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from service.domain.check import Answer, Pictures
from service.domain.together import Together
from service.storage.tables import TogetherRow


class TogetherRows:
    """`ports.AllTogether` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def put(self, together: Together) -> None:
        self._session.execute(delete(TogetherRow).where(TogetherRow.board_id == together.board))
        self._session.execute(TogetherRow.__table__.insert().values(**_values(together)))  # type: ignore[attr-defined]

    def of_board(self, board_id: str) -> Together | None:
        asked = select(TogetherRow).where(TogetherRow.board_id == board_id)
        row = self._session.scalar(asked.execution_options(populate_existing=True))
        return None if row is None else _together(row)


def _together(row: TogetherRow) -> Together:
    answer = None
    if row.result is not None:
        pictures = Pictures(row.end_picture, row.board_picture)
        answer = Answer(row.result, row.words or {}, pictures, row.answered_at, row.seconds)
    return Together(row.board_id, tuple(row.left_out), row.basis, row.state, answer)  # type: ignore[arg-type]


def _values(together: Together) -> dict[str, Any]:
    answer = together.answer or Answer({}, {})
    return {
        "board_id": together.board,
        "left_out": list(together.left_out),
        "basis": together.basis,
        "state": together.state,
        "result": answer.result if together.answer else None,
        "words": answer.words if together.answer else None,
        "end_picture": answer.pictures.overlay,
        "board_picture": answer.pictures.screen,
        "answered_at": answer.answered_at,
        "seconds": answer.seconds,
    }

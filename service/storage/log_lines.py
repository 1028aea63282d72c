"""What the log is searched by, kept beside each board and changed with it."""

from __future__ import annotations

from typing import Any

from sqlalchemy import update
from sqlalchemy.orm import Session

from service.domain.board import Board
from service.domain.log import searched_text
from service.storage.tables import LogLineRow


def add_line(session: Session, board: Board) -> None:
    """The line of a new board."""
    session.add(LogLineRow(**line_values(board)))
    session.flush()


def change_line(session: Session, board: Board) -> None:
    """The line of a board that says something else now, or stands otherwise."""
    session.execute(update(LogLineRow).where(LogLineRow.board_id == board.id).values(**line_values(board)))


def line_values(board: Board) -> dict[str, Any]:
    """The columns of a board's line."""
    named = {"person_id": board.person, "created": board.created, "board_id": board.id}
    narrowed = {"standing": board.standing, "species": board.details.species, "saw": board.details.saw}
    return named | narrowed | {"searched": searched_text(board)}

"""Everything measured and said of a board as rows of one table, told apart by the column `what`."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

from service.domain.board import Board
from service.domain.check import Check
from service.domain.correction import Correction
from service.domain.fit import Fit
from service.domain.measured_rows import (
    ABOUT_SOCKET,
    LIMITS,
    OF_CUT,
    OF_PRACTICE,
    OF_PRACTICE_CUT,
    OF_SIZE,
    OF_SOCKET,
    OF_SOCKET_IN_DEPTH,
    OF_WALL,
    OF_WALL_IN_DEPTH,
    Row,
    photo_rows,
    together_rows,
)
from service.domain.review import Review
from service.domain.said_rows import SAID, said_rows
from service.domain.together import Together

OF_BOARD = ["board", "name", "created", "species", "thickness_mm", "saw", "plan", "assignment", "notes"]
OF_PHOTO = ["check", "sent_at", "view", "stage", "advice"]
WHICH = ["what", "number", "side", "state"]
OF_PIN = [*OF_SOCKET, *OF_SOCKET_IN_DEPTH, *LIMITS, *ABOUT_SOCKET, "fitted", "fit_note", "corrected"]
COLUMNS = [
    *OF_BOARD,
    *OF_PHOTO,
    *WHICH,
    *OF_SIZE,
    *OF_WALL,
    *OF_CUT,
    *OF_WALL_IN_DEPTH,
    *OF_PIN,
    *OF_PRACTICE,
    *OF_PRACTICE_CUT,
    *SAID,
]
"""Names of the columns; tails, sockets and marks are counted from 1, as in every sentence for people.

`corrected` tells of a photo whose walls somebody corrected."""

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a text that begins like that for a formula."""


def table_rows(
    board: Board,
    checks: Sequence[Check],
    fits: Sequence[Fit],
    reviews: Sequence[Review] = (),
    corrections: Sequence[Correction] = (),
    together: Together | None = None,
) -> list[list[str]]:
    """The rows of one board, in the order of `COLUMNS`."""
    measured = chain(*(photo_rows(check, fits) for check in checks), together_rows(together))
    common = _of_board(board)
    return [_row(common | row) for row in chain(measured, said_rows(fits, reviews, corrections))]


def _of_board(board: Board) -> Row:
    details = board.details
    named = {"board": board.id, "name": board.name, "created": board.created.isoformat()}
    kept = {name: getattr(details, name) for name in ("species", "thickness_mm", "saw", "plan", "notes")}
    return named | kept | {"assignment": board.assignment_title, "fit_note": board.fit_note}


def _row(values: Row) -> list[str]:
    return [_cell(values.get(name)) for name in COLUMNS]


def _cell(value: object) -> str:
    return harmless(value) if isinstance(value, str) else "" if value is None else str(value)


def harmless(text: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text

"""The practice log as CSV: three tables, for boards, walls and sockets, that share the board's identity."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from service.practice.entries import PracticeBoard, PracticeSocket

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet would run a text that begins with one of these (OWASP, CSV injection)."""

BOARD_FIELDS = (
    "identity", "date", "person", "species", "saw", "plan", "assignment", "stage", "advice", "width_mm", "thickness_mm",
    "notes",
)  # fmt: skip
WALL_FIELDS = (
    "identity", "date", "person", "tail", "side", "position", "lean_deg", "lean_u95_deg", "out_of_square_mm",
    "out_of_square_u95_mm", "flags",
)  # fmt: skip
SOCKET_FIELDS = (
    "identity", "date", "person", "socket", "kind", "taper_mm", "taper_u95_mm", "gap_mm", "gap_limit_mm", "squeeze_mm",
    "squeeze_limit_mm", "verdict", "chance_seats", "chance_loose", "chance_splitting", "fit",
)  # fmt: skip


def csv_tables(boards: Sequence[PracticeBoard]) -> dict[str, str]:
    """File names and their CSV text (RFC 4180). Tails and sockets count from 1, as people count."""
    return {
        "boards.csv": _table(BOARD_FIELDS, (board_row(board) for board in boards)),
        "walls.csv": _table(WALL_FIELDS, (row for board in boards for row in wall_rows(board))),
        "sockets.csv": _table(SOCKET_FIELDS, (row for board in boards for row in socket_rows(board))),
    }


def board_row(board: PracticeBoard) -> dict[str, Any]:
    """The board's own row."""
    return {name: getattr(board, name) for name in BOARD_FIELDS}


def wall_rows(board: PracticeBoard) -> list[dict[str, Any]]:
    """A row for each wall."""
    return [
        {**_key(board), **asdict(wall), "tail": wall.tail + 1, "flags": " ".join(wall.flags)} for wall in board.walls
    ]


def socket_rows(board: PracticeBoard) -> list[dict[str, Any]]:
    """A row for each socket; what is not known is empty."""
    return [
        {**_key(board), "socket": number, **_socket_fields(socket)}
        for number, socket in enumerate(board.sockets, start=1)
    ]


def _socket_fields(socket: PracticeSocket) -> dict[str, Any]:
    fields = asdict(socket)
    chances = fields.pop("chances") or {}
    return {**fields, **{f"chance_{name}": value for name, value in chances.items()}}


def _key(board: PracticeBoard) -> dict[str, Any]:
    return {"identity": board.identity, "date": board.date, "person": board.person}


def _table(fields: Sequence[str], rows: Iterable[dict[str, Any]]) -> str:
    file = io.StringIO()
    writer = csv.DictWriter(file, fields, restval="")
    writer.writeheader()
    writer.writerows({name: _cell(value) for name, value in row.items()} for row in rows)
    return file.getvalue()


def _cell(value: Any) -> Any:
    """Text made harmless, nothing made empty, numbers as they are."""
    if value is None:
        return ""
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA_STARTS) else value

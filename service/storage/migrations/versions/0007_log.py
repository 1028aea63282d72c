"""What the log is searched by and what its charts rest on, and a note on how a joint fitted."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

from service.domain.board import Board, Details
from service.domain.check import Answer, Check, StoredPhoto
from service.domain.log import searched_text
from service.domain.log_numbers import log_numbers_of
from service.domain.measures import measures_of

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

AT_ONCE = 500


def upgrade() -> None:
    op.add_column("boards", sa.Column("fit_note", sa.Text(), server_default="", nullable=False))
    _make_lines()
    _make_numbers()
    _fill("log_lines", _lines())
    _fill("log_numbers", _numbers())


def _make_lines() -> None:
    op.create_table(
        "log_lines",
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.Column("board_id", sa.String(length=32), nullable=False),
        sa.Column("standing", sa.String(length=20), nullable=False),
        sa.Column("species", sa.String(length=80), nullable=False),
        sa.Column("saw", sa.String(length=80), nullable=False),
        sa.Column("searched", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["board_id"], ["boards.id"], name="fk_log_lines_board_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("person_id", "created", "board_id", name="pk_log_lines"),
        sa.UniqueConstraint("board_id", name="uq_log_lines_board_id"),
        sqlite_with_rowid=False,
    )
    for column in ("species", "saw"):
        op.create_index(f"ix_log_lines_person_id_{column}", "log_lines", ["person_id", column])


def _make_numbers() -> None:
    op.create_table(
        "log_numbers",
        sa.Column("board_id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.Column("walls", sa.LargeBinary(), nullable=False),
        sa.Column("sockets", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["board_id"], ["boards.id"], name="fk_log_numbers_board_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_log_numbers_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("board_id", name="pk_log_numbers"),
    )
    op.create_index("ix_log_numbers_person_id_created", "log_numbers", ["person_id", "created"])


def _fill(name: str, rows: Iterator[dict[str, Any]]) -> None:
    """Put rows into a table, some hundreds at once."""
    portion: list[dict[str, Any]] = []
    for row in rows:
        portion.append(row)
        if len(portion) == AT_ONCE:
            _insert(name, portion)
            portion = []
    if portion:
        _insert(name, portion)


def _insert(name: str, rows: list[dict[str, Any]]) -> None:
    table = sa.table(name, *(sa.column(column) for column in rows[0]))
    op.get_bind().execute(sa.insert(table), rows)


def _lines() -> Iterator[dict[str, Any]]:
    """A line for every board."""
    for row in op.get_bind().execute(sa.select(_BOARDS).execution_options(yield_per=AT_ONCE)):
        details = Details(row.species, None, row.saw, row.plan, row.notes)
        board = Board(row.id, row.person_id, row.name, _moment(row.created), details)
        named = {"person_id": row.person_id, "created": row.created, "board_id": row.id}
        narrowed = {"standing": row.standing, "species": row.species, "saw": row.saw}
        yield named | narrowed | {"searched": searched_text(board)}


def _numbers() -> Iterator[dict[str, Any]]:
    """The rows of every board that has measures; a damaged result goes without."""
    for row in op.get_bind().execute(_MEASURED):
        board = Board(row.board_id, row.person_id, "", _moment(row.created))
        answer = Answer(row.result, row.words or {})
        photo, sent = StoredPhoto("", ""), _moment(row.sent_at)
        check = Check(row.id, row.board_id, row.person_id, photo, "", sent, state="measured", answer=answer)
        try:
            measures = measures_of(board, [check])
            found = log_numbers_of(measures, [check]) if measures else None
        except (KeyError, TypeError, ValueError):
            continue
        if found is not None:
            named = {"board_id": row.board_id, "person_id": row.person_id, "created": row.created}
            yield named | {"walls": found.walls, "sockets": found.sockets}


def _moment(value: datetime) -> datetime:
    return value.replace(tzinfo=UTC)


_BOARDS = sa.table(
    "boards",
    *(sa.column(name) for name in ("id", "person_id", "name", "species", "saw", "plan", "notes", "standing")),
    sa.column("created", sa.DateTime()),
)
_MEASURES = sa.table("measures", sa.column("board_id"), sa.column("check_id"))
_CHECKS = sa.table(
    "checks",
    sa.column("id"),
    sa.column("sent_at", sa.DateTime()),
    sa.column("result", sa.JSON()),
    sa.column("words", sa.JSON()),
)
_MEASURED = (
    sa.select(
        _MEASURES.c.board_id,
        _BOARDS.c.person_id,
        _BOARDS.c.created,
        _CHECKS.c.id,
        _CHECKS.c.sent_at,
        _CHECKS.c.result,
        _CHECKS.c.words,
    )
    .select_from(_MEASURES.join(_CHECKS, _CHECKS.c.id == _MEASURES.c.check_id))
    .join(_BOARDS, _BOARDS.c.id == _MEASURES.c.board_id)
    .execution_options(yield_per=AT_ONCE)
)


def downgrade() -> None:
    op.drop_table("log_numbers")
    op.drop_table("log_lines")
    op.execute("ALTER TABLE boards DROP COLUMN fit_note")

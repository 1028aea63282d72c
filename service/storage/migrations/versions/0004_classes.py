"""Classes, members, assignments, and the numbers of measured boards."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import groupby
from operator import attrgetter
from typing import Any

import sqlalchemy as sa
from alembic import op

from service.domain.board import Board
from service.domain.check import Answer, Check, StoredPhoto
from service.domain.measures import measures_of

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

_NUMBERS = (
    "width_mm thickness_mm gap_limit_mm lean_deg abs_lean_deg lean_u_deg spread_deg spread_u_deg out_of_square_mm"
    " out_of_square_u_mm worst_out_of_square_mm"
)
NUMBERS = tuple(_NUMBERS.split())
_NUMBERS_IF_ANY = (
    "left_lean_deg right_lean_deg taper_mm abs_taper_mm taper_u_mm worst_taper_mm worst_gap_mm worst_squeeze_mm"
)
NUMBERS_IF_ANY = tuple(_NUMBERS_IF_ANY.split())
_COUNTS = (
    "walls left_walls right_walls left_to_left left_to_right right_to_left right_to_right sockets seats loose"
    " splitting too_close_to_call"
)
COUNTS = tuple(_COUNTS.split())
AT_ONCE = 500


def upgrade() -> None:
    _make_classes()
    _make_measures()
    _extend_boards()
    _measure_what_there_is()


def _make_classes() -> None:
    op.create_table(
        "classrooms",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("join_code", sa.String(length=40), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_classrooms"),
        sa.UniqueConstraint("join_code", name="uq_classrooms_join_code"),
    )
    op.create_table(
        "memberships",
        sa.Column("classroom_id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("as_", sa.String(length=16), nullable=False),
        sa.Column("joined", sa.DateTime(), nullable=False),
        sa.Column("shows_all", sa.Boolean(), nullable=False),
        _reference("memberships", "classroom_id", "classrooms"),
        _reference("memberships", "person_id", "people"),
        sa.PrimaryKeyConstraint("classroom_id", "person_id", name="pk_memberships"),
    )
    op.create_index("ix_memberships_person_id", "memberships", ["person_id"])
    op.create_table(
        "assignments",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("classroom_id", sa.String(length=32), nullable=False),
        sa.Column("title", sa.String(length=80), nullable=False),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.Column("what_to_cut", sa.Text(), nullable=False),
        sa.Column("species", sa.String(length=80), nullable=False),
        sa.Column("plan", sa.String(length=400), nullable=False),
        sa.Column("due", sa.Date(), nullable=True),
        sa.Column("closed", sa.Boolean(), nullable=False),
        sa.Column("policy", sa.JSON(), nullable=False),
        _reference("assignments", "classroom_id", "classrooms"),
        sa.PrimaryKeyConstraint("id", name="pk_assignments"),
    )
    op.create_index("ix_assignments_classroom_id_created", "assignments", ["classroom_id", "created"])


def _make_measures() -> None:
    op.create_table(
        "measures",
        sa.Column("board_id", sa.String(length=32), nullable=False),
        sa.Column("check_id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("assignment_id", sa.String(length=32), nullable=True),
        sa.Column("classroom_id", sa.String(length=32), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.Column("stage", sa.String(length=16), nullable=False),
        sa.Column("advice", sa.String(length=20), nullable=False),
        *(sa.Column(name, sa.Double(), nullable=False) for name in NUMBERS),
        *(sa.Column(name, sa.Double(), nullable=True) for name in NUMBERS_IF_ANY),
        *(sa.Column(name, sa.Integer(), nullable=False) for name in COUNTS),
        _reference("measures", "board_id", "boards"),
        _reference("measures", "check_id", "checks"),
        _reference("measures", "person_id", "people"),
        sa.PrimaryKeyConstraint("board_id", name="pk_measures"),
    )
    op.create_index("ix_measures_check_id", "measures", ["check_id"])
    op.create_index("ix_measures_person_id_created", "measures", ["person_id", "created"])
    for first in ("assignment_id", "classroom_id"):
        columns = [first, "person_id", "created"]
        op.create_index(f"ix_measures_{'_'.join(columns)}", "measures", columns)


def _reference(table: str, column: str, to: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [f"{to}.id"], name=f"fk_{table}_{column}", ondelete="CASCADE")


def _extend_boards() -> None:
    """The reference is written as SQL: making `boards` anew, as SQLite else would, takes every photo with it."""
    op.execute(
        "ALTER TABLE boards ADD COLUMN assignment_id VARCHAR(32)"
        " CONSTRAINT fk_boards_assignment_id REFERENCES assignments (id)"
    )
    op.add_column("boards", sa.Column("assignment_title", sa.String(length=80), server_default="", nullable=False))
    op.add_column("boards", sa.Column("handed_in", sa.DateTime(), nullable=True))
    op.add_column("boards", sa.Column("classroom_id", sa.String(length=32), nullable=True))
    for first in ("assignment_id", "classroom_id"):
        columns = [first, "person_id", "created", "id"]
        op.create_index(f"ix_boards_{'_'.join(columns)}", "boards", columns)


def _measure_what_there_is() -> None:
    """The numbers of every board that is measured already; one whose result is damaged goes without."""
    rows: list[dict[str, Any]] = []
    for row in _measured():
        rows.append(row)
        if len(rows) == AT_ONCE:
            _insert(rows)
            rows = []
    _insert(rows)


def _insert(rows: list[dict[str, Any]]) -> None:
    if rows:
        table = sa.table("measures", *(sa.column(name) for name in rows[0]))
        op.get_bind().execute(sa.insert(table), rows)


def _measured() -> Iterator[dict[str, Any]]:
    for _, rows in groupby(op.get_bind().execute(_ASKED), key=attrgetter("board_id")):
        own = list(rows)
        board = Board(own[0].board_id, own[0].person_id, "", _moment(own[0].created))
        try:
            found = measures_of(board, [_check(row, board) for row in own])
        except (KeyError, TypeError, ValueError):
            continue
        if found is not None:
            numbers = {name: getattr(found, name) for name in (*NUMBERS, *NUMBERS_IF_ANY, *COUNTS)}
            named = {"board_id": board.id, "check_id": found.check, "person_id": board.person}
            yield named | {"created": own[0].created, "stage": found.stage, "advice": found.advice} | numbers


def _check(row: Any, board: Board) -> Check:
    photo, sent = StoredPhoto("", ""), _moment(row.sent_at)
    return Check(row.id, board.id, board.person, photo, "", sent, state="measured", answer=Answer(row.result, {}))


def _moment(value: datetime) -> datetime:
    return value.replace(tzinfo=UTC)


_BOARDS = sa.table("boards", sa.column("id"), sa.column("person_id"), sa.column("created", sa.DateTime()))
_CHECKS = sa.table(
    "checks",
    sa.column("id"),
    sa.column("board_id"),
    sa.column("sent_at", sa.DateTime()),
    sa.column("view"),
    sa.column("state"),
    sa.column("result", sa.JSON()),
)
_ASKED = (
    sa.select(
        _CHECKS.c.id, _CHECKS.c.board_id, _CHECKS.c.sent_at, _CHECKS.c.result, _BOARDS.c.person_id, _BOARDS.c.created
    )
    .join(_BOARDS, _BOARDS.c.id == _CHECKS.c.board_id)
    .where(_CHECKS.c.state == "measured", _CHECKS.c.view == "end")
    .order_by(_CHECKS.c.board_id)
    .execution_options(yield_per=AT_ONCE)
)


def downgrade() -> None:
    for first in ("assignment_id", "classroom_id"):
        op.drop_index(f"ix_boards_{first}_person_id_created_id", "boards")
    for column in ("handed_in", "classroom_id", "assignment_title", "assignment_id"):
        op.execute(f"ALTER TABLE boards DROP COLUMN {column}")
    for table in ("measures", "assignments", "memberships", "classrooms"):
        op.drop_table(table)

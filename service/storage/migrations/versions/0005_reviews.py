"""Reviews, saved remarks, and each board's newest decision and place in the queue."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

INDEXES = (
    ("classroom_id", "review_rank", "handed_in", "id"),
    ("classroom_id", "reviewed_at", "id"),
    ("person_id", "review_rank", "created", "id"),
    ("person_id", "reviewed_at", "id"),
)


def upgrade() -> None:
    _make_reviews()
    _make_saved_remarks()
    _extend_boards()


def _make_reviews() -> None:
    op.create_table(
        "reviews",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("board_id", sa.String(length=32), nullable=False),
        sa.Column("check_id", sa.String(length=32), nullable=True),
        sa.Column("reviewer_id", sa.String(length=32), nullable=True),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("decision", sa.String(length=20), nullable=False),
        sa.Column("advice", sa.String(length=20), nullable=False),
        sa.Column("picture", sa.String(length=80), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("marks", sa.JSON(), nullable=False),
        sa.Column("seen_at", sa.DateTime(), nullable=True),
        _reference("reviews", "board_id", "boards"),
        _reference("reviews", "check_id", "checks", "SET NULL"),
        _reference("reviews", "reviewer_id", "people"),
        sa.PrimaryKeyConstraint("id", name="pk_reviews"),
    )
    op.create_index("ix_reviews_board_id_made_at", "reviews", ["board_id", "made_at"])
    for column in ("check_id", "reviewer_id", "picture"):
        op.create_index(f"ix_reviews_{column}", "reviews", [column])


def _make_saved_remarks() -> None:
    op.create_table(
        "saved_remarks",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("text", sa.String(length=500), nullable=False),
        _reference("saved_remarks", "person_id", "people"),
        sa.PrimaryKeyConstraint("id", name="pk_saved_remarks"),
    )
    op.create_index("ix_saved_remarks_person_id", "saved_remarks", ["person_id"])


def _reference(table: str, column: str, to: str, ondelete: str = "CASCADE") -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [f"{to}.id"], name=f"fk_{table}_{column}", ondelete=ondelete)


def _extend_boards() -> None:
    """Every board that was answered waits for a review, the doubtful and the failing first."""
    op.add_column("boards", sa.Column("decision", sa.String(length=20), server_default="", nullable=False))
    op.add_column("boards", sa.Column("reviewed_at", sa.DateTime(), nullable=True))
    op.add_column("boards", sa.Column("review_rank", sa.Integer(), nullable=True))
    op.execute(
        "UPDATE boards SET review_rank = CASE standing"
        " WHEN 'photograph again' THEN 0 WHEN 'refused' THEN 0 WHEN 'failed' THEN 0"
        " WHEN 'start over' THEN 1 WHEN 'pare' THEN 2 WHEN 'transfer' THEN 3 END"
    )
    for columns in INDEXES:
        op.create_index(f"ix_boards_{'_'.join(columns)}", "boards", list(columns))


def downgrade() -> None:
    for columns in INDEXES:
        op.drop_index(f"ix_boards_{'_'.join(columns)}", "boards")
    for column in ("review_rank", "reviewed_at", "decision"):
        op.execute(f"ALTER TABLE boards DROP COLUMN {column}")
    for table in ("saved_remarks", "reviews"):
        op.drop_table(table)

"""Corrected walls, and the program's own answer beside the corrected one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

PICTURES = ("original_overlay", "original_screen", "original_thumbnail")


def upgrade() -> None:
    _make_corrections()
    op.add_column("boards", sa.Column("corrected", sa.Boolean(), server_default=sa.false(), nullable=False))
    op.add_column("checks", sa.Column("walls", sa.JSON(), nullable=True))
    op.add_column("checks", sa.Column("original", sa.JSON(), nullable=True))
    op.add_column("checks", sa.Column("original_outdated", sa.Boolean(), server_default=sa.false(), nullable=False))
    for picture in PICTURES:
        op.add_column("checks", sa.Column(picture, sa.String(length=80), server_default="", nullable=False))
        op.create_index(f"ix_checks_{picture}", "checks", [picture])


def _make_corrections() -> None:
    op.create_table(
        "corrections",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("check_id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=True),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("walls", sa.JSON(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("advice", sa.String(length=20), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.Column("ended_by_id", sa.String(length=32), nullable=True),
        sa.Column("ended_name", sa.String(length=80), nullable=False),
        _reference("check_id", "checks", "CASCADE"),
        _reference("person_id", "people", "SET NULL"),
        _reference("ended_by_id", "people", "SET NULL"),
        sa.PrimaryKeyConstraint("id", name="pk_corrections"),
    )
    op.create_index("ix_corrections_check_id_made_at", "corrections", ["check_id", "made_at"])
    for column in ("person_id", "ended_by_id"):
        op.create_index(f"ix_corrections_{column}", "corrections", [column])


def _reference(column: str, to: str, ondelete: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [f"{to}.id"], name=f"fk_corrections_{column}", ondelete=ondelete)


def downgrade() -> None:
    for picture in PICTURES:
        op.drop_index(f"ix_checks_{picture}", "checks")
    for column in (*PICTURES, "original_outdated", "original", "walls"):
        op.execute(f"ALTER TABLE checks DROP COLUMN {column}")
    op.execute("ALTER TABLE boards DROP COLUMN corrected")
    op.drop_table("corrections")

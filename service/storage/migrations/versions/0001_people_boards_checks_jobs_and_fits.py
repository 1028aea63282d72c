"""People, boards, checks, jobs and fits."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "people",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("units", sa.String(length=8), nullable=False),
        sa.Column("remembered", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_people"),
    )
    op.create_table(
        "boards",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.Column("species", sa.String(length=80), nullable=False),
        sa.Column("thickness_mm", sa.Double(), nullable=True),
        sa.Column("saw", sa.String(length=80), nullable=False),
        sa.Column("plan", sa.String(length=400), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("standing", sa.String(length=20), nullable=False),
        sa.Column("thumbnail", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_boards_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_boards"),
    )
    op.create_index("ix_boards_person_id_created_id", "boards", ["person_id", "created", "id"])
    op.create_table(
        "checks",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("board_id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("photo", sa.String(length=80), nullable=False),
        sa.Column("photo_kind", sa.String(length=8), nullable=False),
        sa.Column("sent_sha256", sa.String(length=64), nullable=False),
        sa.Column("sent_at", sa.DateTime(), nullable=False),
        sa.Column("view", sa.String(length=8), nullable=False),
        sa.Column("stage", sa.String(length=16), nullable=True),
        sa.Column("card_side", sa.String(length=16), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("answered_at", sa.DateTime(), nullable=True),
        sa.Column("seconds", sa.Double(), nullable=False),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.Column("words", sa.JSON(), nullable=True),
        sa.Column("overlay", sa.String(length=80), nullable=False),
        sa.Column("screen", sa.String(length=80), nullable=False),
        sa.Column("thumbnail", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["board_id"], ["boards.id"], name="fk_checks_board_id", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_checks_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_checks"),
        sa.UniqueConstraint("person_id", "sent_sha256", name="uq_checks_person_id_sent_sha256"),
    )
    op.create_index("ix_checks_board_id", "checks", ["board_id"])
    op.create_index("ix_checks_overlay", "checks", ["overlay"])
    op.create_index("ix_checks_photo", "checks", ["photo"])
    op.create_index("ix_checks_screen", "checks", ["screen"])
    op.create_index("ix_checks_thumbnail", "checks", ["thumbnail"])
    op.create_table(
        "fits",
        sa.Column("board_id", sa.String(length=32), nullable=False),
        sa.Column("socket", sa.Integer(), nullable=False),
        sa.Column("outcome", sa.String(length=16), nullable=False),
        sa.Column("noted_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["board_id"], ["boards.id"], name="fk_fits_board_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("board_id", "socket", name="pk_fits"),
    )
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("check_id", sa.String(length=32), nullable=False),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("worker", sa.String(length=80), nullable=False),
        sa.Column("lease_until", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(["check_id"], ["checks.id"], name="fk_jobs_check_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_jobs"),
        sa.UniqueConstraint("check_id", name="uq_jobs_check_id"),
    )
    op.create_index("ix_jobs_state_created", "jobs", ["state", "created"])


def downgrade() -> None:
    for table in ("jobs", "fits", "checks", "boards", "people"):
        op.drop_table(table)

"""What a board's photos say together, jobs that are a board's instead of a photo's, and the print of its card."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "together",
        sa.Column("board_id", sa.String(length=32), nullable=False),
        sa.Column("left_out", sa.JSON(), nullable=False),
        sa.Column("basis", sa.String(length=64), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.Column("words", sa.JSON(), nullable=True),
        sa.Column("end_picture", sa.String(length=80), nullable=False),
        sa.Column("board_picture", sa.String(length=80), nullable=False),
        sa.Column("answered_at", sa.DateTime(), nullable=True),
        sa.Column("seconds", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(["board_id"], ["boards.id"], name="fk_together_board_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("board_id", name="pk_together"),
    )
    for picture in ("end_picture", "board_picture"):
        op.create_index(f"ix_together_{picture}", "together", [picture])
    op.add_column("boards", sa.Column("print", sa.String(length=80), server_default="", nullable=False))
    with op.batch_alter_table("jobs") as jobs:
        jobs.alter_column("check_id", existing_type=sa.String(length=32), nullable=True)
        jobs.add_column(sa.Column("board_id", sa.String(length=32), nullable=True))
        jobs.create_foreign_key("fk_jobs_board_id", "boards", ["board_id"], ["id"], ondelete="CASCADE")
        jobs.create_unique_constraint("uq_jobs_board_id", ["board_id"])


def downgrade() -> None:
    op.execute("DELETE FROM jobs WHERE check_id IS NULL")
    with op.batch_alter_table("jobs") as jobs:
        jobs.drop_constraint("uq_jobs_board_id", type_="unique")
        jobs.drop_constraint("fk_jobs_board_id", type_="foreignkey")
        jobs.drop_column("board_id")
        jobs.alter_column("check_id", existing_type=sa.String(length=32), nullable=False)
    op.execute("ALTER TABLE boards DROP COLUMN print")
    op.drop_table("together")

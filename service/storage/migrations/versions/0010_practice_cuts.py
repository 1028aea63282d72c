"""Practice cuts: how those in a photo were made, and what a board of them says to work on."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("boards", sa.Column("work_on", sa.String(length=20), server_default="", nullable=False))
    op.add_column("checks", sa.Column("how_cut", sa.JSON(), nullable=True))


def downgrade() -> None:
    op.execute("ALTER TABLE checks DROP COLUMN how_cut")
    op.execute("ALTER TABLE boards DROP COLUMN work_on")

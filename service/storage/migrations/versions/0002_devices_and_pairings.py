"""Devices and pairings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "devices",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("secret_sha256", sa.String(length=64), nullable=False),
        sa.Column("paired_at", sa.DateTime(), nullable=False),
        sa.Column("seen_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_devices_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_devices"),
        sa.UniqueConstraint("secret_sha256", name="uq_devices_secret_sha256"),
    )
    op.create_index("ix_devices_person_id", "devices", ["person_id"])
    op.create_table(
        "pairings",
        sa.Column("code_sha256", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("expires", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_pairings_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("code_sha256", name="pk_pairings"),
    )


def downgrade() -> None:
    op.drop_table("pairings")
    op.drop_table("devices")

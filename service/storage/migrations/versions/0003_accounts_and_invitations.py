"""Accounts and invitations."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "accounts",
        sa.Column("person_id", sa.String(length=32), nullable=False),
        sa.Column("login", sa.String(length=40), nullable=False),
        sa.Column("password_hash", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_accounts_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("person_id", name="pk_accounts"),
        sa.UniqueConstraint("login", name="uq_accounts_login"),
    )
    op.create_table(
        "invitations",
        sa.Column("code_sha256", sa.String(length=64), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("person_id", sa.String(length=32), nullable=True),
        sa.Column("expires", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["people.id"], name="fk_invitations_person_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("code_sha256", name="pk_invitations"),
    )


def downgrade() -> None:
    op.drop_table("invitations")
    op.drop_table("accounts")

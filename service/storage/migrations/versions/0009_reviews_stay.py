"""Reviews stay when the account that made them goes; those that an import brought are marked as such.

Until now a review went with its reviewer, so one without a reviewer came by an import. No table refers to `reviews`:
making it anew, which SQLite needs for another reference, takes nothing along.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

REFERENCE = "fk_reviews_reviewer_id"


def upgrade() -> None:
    _refer_to_reviewers("SET NULL")
    op.add_column("reviews", sa.Column("imported", sa.Boolean(), server_default=sa.false(), nullable=False))
    op.execute(sa.text("UPDATE reviews SET imported = :yes WHERE reviewer_id IS NULL").bindparams(yes=True))


def _refer_to_reviewers(ondelete: str) -> None:
    with op.batch_alter_table("reviews") as reviews:
        reviews.drop_constraint(REFERENCE, type_="foreignkey")
        reviews.create_foreign_key(REFERENCE, "people", ["reviewer_id"], ["id"], ondelete=ondelete)


def downgrade() -> None:
    """Reviews of people who have left would count as imported: they go, as they would have gone with the account."""
    op.execute(sa.text("DELETE FROM reviews WHERE reviewer_id IS NULL AND imported = :no").bindparams(no=False))
    op.execute("ALTER TABLE reviews DROP COLUMN imported")
    _refer_to_reviewers("CASCADE")

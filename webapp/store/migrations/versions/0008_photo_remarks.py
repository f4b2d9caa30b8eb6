"""The photos that no report will show, so that phones hear of it with every exchange."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; the slow look finds which photos that are here already belong into it."""
    op.create_table(
        "photo_remark",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("why", sa.String(16), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_photo_remark"),
    )


def downgrade() -> None:
    """Drop it: only the answer to an upload says it."""
    op.drop_table("photo_remark")

"""The log of what changed since when, by which an answer tells a phone only that."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; nothing has changed yet since anything."""
    op.create_table(
        "change",
        sa.Column("scope", sa.String(36), nullable=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("item", sa.String(64), nullable=False),
        sa.Column("before", sa.BigInteger(), nullable=False),
        sa.Column("name", sa.String(16), nullable=False),
        sa.PrimaryKeyConstraint("scope", "sequence", "item", name="pk_change"),
        sqlite_with_rowid=False,
    )


def downgrade() -> None:
    """Drop it: phones send their whole vectors again."""
    op.drop_table("change")

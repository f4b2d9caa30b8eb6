"""Entries, clashes, photos."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the three tables."""
    op.create_table(
        "entry",
        sa.Column("job_id", sa.String(36), nullable=False),
        sa.Column("writer", sa.String(64), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("record_id", sa.String(36), nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("aside", sa.Text(), nullable=True),
        sa.Column("received_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("job_id", "writer", "number", name="pk_entry"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_entry_kind_job_id", "entry", ["kind", "job_id"])
    op.create_table(
        "clash",
        sa.Column("job_id", sa.String(36), nullable=False),
        sa.Column("writer", sa.String(64), nullable=False),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("reasons", sa.Text(), nullable=False),
        sa.Column("received_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("job_id", "writer", "number", "sha256", name="pk_clash"),
    )
    op.create_table(
        "photo",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("size_bytes", sa.BigInteger(), nullable=False),
        sa.Column("media_type", sa.String(100), nullable=False),
        sa.Column("received_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_photo"),
    )


def downgrade() -> None:
    """Drop the three tables."""
    op.drop_table("photo")
    op.drop_table("clash")
    op.drop_index("ix_entry_kind_job_id", table_name="entry")
    op.drop_table("entry")

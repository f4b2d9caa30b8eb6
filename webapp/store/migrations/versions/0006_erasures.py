"""The eraser: its acts, what is kept until they can no longer be undone, and the key that proves them."""

import secrets

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the four tables."""
    op.create_table(
        "erasure",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("job_id", sa.String(36), nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("until", sa.String(10), nullable=False),
        sa.Column("cleared", sa.Integer(), nullable=False, server_default="1"),
        sa.Column("body", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_erasure"),
    )
    op.create_index("ix_erasure_job_id", "erasure", ["job_id"])
    # The act comes first: no row of this table has the shape of an entry's, which salvage goes by.
    op.create_table(
        "erased_entry",
        sa.Column("erasure_id", sa.String(36), nullable=False),
        sa.Column("place", sa.String(8), nullable=False),
        sa.Column("job_id", sa.String(36), nullable=False),
        sa.Column("writer", sa.String(64), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("aside", sa.Text(), nullable=True),
        sa.Column("received_at", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint(
            "erasure_id", "place", "job_id", "writer", "number", "sha256", name="pk_erased_entry"
        ),
    )
    op.create_table(
        "erased_photo",
        sa.Column("erasure_id", sa.String(36), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("size_bytes", sa.BigInteger(), nullable=True),
        sa.Column("media_type", sa.String(100), nullable=True),
        sa.Column("received_at", sa.String(40), nullable=True),
        sa.PrimaryKeyConstraint("erasure_id", "sha256", name="pk_erased_photo"),
    )
    op.create_index("ix_erased_photo_sha256", "erased_photo", ["sha256"])
    keys = op.create_table(
        "server_key",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("secret", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_server_key"),
    )
    # From the first day on, so that every backup has it: a server that is put back from one made before it
    # ever erased anything then knows its own acts again when phones bring them.
    op.bulk_insert(keys, [{"name": "erasures", "secret": secrets.token_urlsafe(32)}])


def downgrade() -> None:
    """Drop them.  What was erased stays erased."""
    op.drop_table("server_key")
    op.drop_index("ix_erased_photo_sha256", table_name="erased_photo")
    op.drop_table("erased_photo")
    op.drop_table("erased_entry")
    op.drop_index("ix_erasure_job_id", table_name="erasure")
    op.drop_table("erasure")

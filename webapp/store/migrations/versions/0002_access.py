"""Access: devices, invitations, client links, owners of writers, and the log of who did what."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the five tables."""
    op.create_table(
        "device",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("job_id", sa.String(36), nullable=True),
        sa.Column("secret_sha256", sa.String(64), nullable=False),
        sa.Column("created_at", sa.String(40), nullable=False),
        sa.Column("last_seen_at", sa.String(40), nullable=True),
        sa.Column("last_address", sa.String(64), nullable=True),
        sa.Column("revoked_at", sa.String(40), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_device"),
        sa.UniqueConstraint("secret_sha256", name="uq_device_secret_sha256"),
    )
    op.create_table(
        "invitation",
        sa.Column("code_sha256", sa.String(64), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("job_id", sa.String(36), nullable=True),
        sa.Column("made_at", sa.String(40), nullable=False),
        sa.Column("expires_at", sa.String(40), nullable=False),
        sa.Column("used_at", sa.String(40), nullable=True),
        sa.Column("device_id", sa.String(36), nullable=True),
        sa.PrimaryKeyConstraint("code_sha256", name="pk_invitation"),
    )
    op.create_table(
        "client_link",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("job_id", sa.String(36), nullable=False),
        sa.Column("secret_sha256", sa.String(64), nullable=False),
        sa.Column("made_at", sa.String(40), nullable=False),
        sa.Column("expires_at", sa.String(40), nullable=False),
        sa.Column("last_seen_at", sa.String(40), nullable=True),
        sa.Column("revoked_at", sa.String(40), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_client_link"),
        sa.UniqueConstraint("secret_sha256", name="uq_client_link_secret_sha256"),
    )
    op.create_table(
        "writer_owner",
        sa.Column("writer", sa.String(64), nullable=False),
        sa.Column("device_id", sa.String(36), nullable=False),
        sa.Column("since", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("writer", name="pk_writer_owner"),
    )
    op.create_table(
        "audit",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("device_id", sa.String(36), nullable=True),
        sa.Column("who", sa.String(120), nullable=False),
        sa.Column("address", sa.String(64), nullable=False),
        sa.Column("action", sa.String(40), nullable=False),
        sa.Column("job_id", sa.String(36), nullable=True),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_audit"),
    )
    op.create_index("ix_audit_job_id_id", "audit", ["job_id", "id"])


def downgrade() -> None:
    """Drop the five tables."""
    op.drop_index("ix_audit_job_id_id", table_name="audit")
    for name in ("audit", "writer_owner", "client_link", "invitation", "device"):
        op.drop_table(name)

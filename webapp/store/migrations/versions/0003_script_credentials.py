"""Credentials of scripts: how a device shows its secret, and until when it may."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the two columns; every device so far comes with a cookie and has no end."""
    with op.batch_alter_table("device") as batch:
        batch.add_column(sa.Column("way", sa.String(16), nullable=False, server_default="cookie"))
        batch.add_column(sa.Column("expires_at", sa.String(40), nullable=True))


def downgrade() -> None:
    """Drop them, and with them the credentials that only they tell from a phone's."""
    op.execute("DELETE FROM device WHERE way <> 'cookie'")
    with op.batch_alter_table("device") as batch:
        batch.drop_column("expires_at")
        batch.drop_column("way")

"""Joining: several jobs a device, and the hash of the secret that a phone makes."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table and the column; a device keeps its one job."""
    op.create_table(
        "device_job",
        sa.Column("device_id", sa.String(36), nullable=False),
        sa.Column("job_id", sa.String(36), nullable=False),
        sa.Column("since", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("device_id", "job_id", name="pk_device_job"),
    )
    with op.batch_alter_table("device") as batch:
        batch.add_column(sa.Column("phone_sha256", sa.String(64), nullable=True))
        batch.create_unique_constraint("uq_device_phone_sha256", ["phone_sha256"])
    op.execute(
        "INSERT INTO device_job (device_id, job_id, since) "
        "SELECT id, job_id, created_at FROM device WHERE job_id IS NOT NULL"
    )


def downgrade() -> None:
    """Drop them; a device of several jobs keeps the one in its own row."""
    with op.batch_alter_table("device") as batch:
        batch.drop_constraint("uq_device_phone_sha256", type_="unique")
        batch.drop_column("phone_sha256")
    op.drop_table("device_job")

"""Joining: several jobs a device, the secret that a phone makes, and writers reserved for the phone of a file."""

import json

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None
AT_ONCE = 500


def upgrade() -> None:
    """Make the tables and columns; a device keeps its one job, and gets the name that its phone goes by."""
    op.create_table(
        "device_job",
        sa.Column("device_id", sa.String(36), nullable=False),
        sa.Column("job_id", sa.String(36), nullable=False),
        sa.Column("since", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("device_id", "job_id", name="pk_device_job"),
    )
    op.create_table(
        "reserved_writer",
        sa.Column("writer", sa.String(64), nullable=False),
        sa.Column("phone", sa.String(80), nullable=False),
        sa.Column("since", sa.String(40), nullable=False),
        sa.PrimaryKeyConstraint("writer", name="pk_reserved_writer"),
    )
    with op.batch_alter_table("device") as batch:
        batch.add_column(sa.Column("phone_sha256", sa.String(64), nullable=True))
        batch.add_column(sa.Column("phone", sa.String(80), nullable=True))
        batch.create_unique_constraint("uq_device_phone_sha256", ["phone_sha256"])
    op.execute(
        "INSERT INTO device_job (device_id, job_id, since) "
        "SELECT id, job_id, created_at FROM device WHERE job_id IS NOT NULL"
    )
    _name_phones()


def _name_phones() -> None:
    """Give each device the name that stands in the first entry of the first writer that it owns."""
    bind = op.get_bind()
    first = "SELECT device_id, writer FROM writer_owner ORDER BY since, writer"
    writers: dict[str, str] = {}
    for device_id, writer in bind.execute(sa.text(first)):
        writers.setdefault(device_id, writer)
    devices = {writer: device_id for device_id, writer in writers.items()}
    wanted, query = sorted(devices), "SELECT writer, body FROM entry WHERE number = 1 AND writer IN :some"
    statement = sa.text(query).bindparams(sa.bindparam("some", expanding=True))
    for start in range(0, len(wanted), AT_ONCE):
        rows = bind.execute(statement, {"some": wanted[start : start + AT_ONCE]}).all()
        for writer, body in rows:
            phone = _phone_of(body)
            if phone:
                change = sa.text("UPDATE device SET phone = :phone WHERE id = :id")
                bind.execute(change, {"phone": phone, "id": devices[writer]})


def _phone_of(body: str) -> str:
    try:
        found = json.loads(body)["device_id"]
    except (ValueError, KeyError, TypeError):  # a damaged row is told where it is read
        return ""
    return found[:80] if isinstance(found, str) else ""


def downgrade() -> None:
    """Drop them; a device of several jobs keeps the one in its own row."""
    with op.batch_alter_table("device") as batch:
        batch.drop_constraint("uq_device_phone_sha256", type_="unique")
        batch.drop_column("phone")
        batch.drop_column("phone_sha256")
    op.drop_table("reserved_writer")
    op.drop_table("device_job")

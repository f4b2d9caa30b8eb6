"""An index of the entries that are set aside, so that those of a job can be counted."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the index."""
    some = sa.text("aside IS NOT NULL")
    op.create_index("ix_entry_aside", "entry", ["job_id"], sqlite_where=some, postgresql_where=some)


def downgrade() -> None:
    """Drop it."""
    op.drop_index("ix_entry_aside", table_name="entry")

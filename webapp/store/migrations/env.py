"""How a migration runs: whole or not at all, and never deleting the children of a rebuilt table."""

from typing import Any

from alembic import context
from flask import current_app

from webapp.store.models import db


def run() -> None:
    """Run the migrations asked for on the application's database."""
    arguments = dict(current_app.extensions["migrate"].configure_args)
    with db.engine.connect() as connection:
        sqlite = connection.dialect.name == "sqlite"
        raw: Any = connection.connection.driver_connection
        if sqlite:
            # A table rebuilt by batch mode is dropped; with foreign_keys=ON that drop deletes its children.
            # The pragma has no effect inside a transaction, so it is set on the bare driver connection.
            raw.execute("PRAGMA foreign_keys=OFF")
        try:
            context.configure(
                connection=connection,
                target_metadata=db.metadata,
                transactional_ddl=True,
                transaction_per_migration=True,
                **arguments,
            )
            with context.begin_transaction():
                context.run_migrations()
            if sqlite and (bad := raw.execute("PRAGMA foreign_key_check").fetchall()):
                raise RuntimeError(f"foreign keys broken by a migration: {bad[:5]}")
        finally:
            if sqlite:
                raw.execute("PRAGMA foreign_keys=ON")


run()

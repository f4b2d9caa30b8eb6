"""Bring the database to the newest schema; refuse one that a newer Fallbook made."""

from functools import cache
from pathlib import Path

from alembic import command
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from flask_migrate import Migrate  # type: ignore[import-untyped]

from ..errors import AppError
from .models import db

DIRECTORY = Path(__file__).resolve().parent / "migrations"
migrate = Migrate(directory=str(DIRECTORY), render_as_batch=True, compare_type=True)


def current_revision() -> str | None:
    """Return the revision the database is at; None for an empty one."""
    with db.engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


@cache
def known_revisions() -> list[str]:
    """Return all revisions of this version, newest first."""
    return [script.revision for script in ScriptDirectory(str(DIRECTORY)).walk_revisions()]


def refuse_newer() -> str | None:
    """Return the revision the database is at; AppError if this version does not know it."""
    current = current_revision()
    if current is not None and current not in known_revisions():
        raise AppError("folder_newer")
    return current


def bring_up_to_date() -> None:
    """Run the missing migrations, inside an application context."""
    if refuse_newer() != known_revisions()[0]:
        upgrade()


def upgrade(directory: Path = DIRECTORY) -> None:
    """Go to the newest revision.  (Flask-Migrate's own function turns failures into a silent exit.)"""
    command.upgrade(migrate.get_config(str(directory)), "head")

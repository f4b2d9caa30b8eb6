"""``fallbook backup``, ``fallbook restore`` and ``fallbook migrate``."""

import sys
from pathlib import Path

import click

from .. import backup as copies
from ..app import opened as app_opened
from ..errors import AppError
from ..state import state_of
from .common import counted, data_option, opened

FOLDER = click.Path(file_okay=False, path_type=Path)
_EVERY = 5000


@click.command()
@click.argument("folder", type=FOLDER)
@data_option
def backup(folder: Path, data: Path | None) -> None:
    """Write a backup of everything into FOLDER; the server may go on serving.

    The backup is of one moment, and is proved record by record.  FOLDER is empty, or holds an earlier backup:
    then only photos that are new are copied.
    """
    with opened(data, LOCK_FOLDER=False, MIGRATE=False) as app:
        found = copies.back_up(app, folder.expanduser().resolve(), _tell)
    _report(found, f"The backup in {folder} is whole.")


@click.command()
@click.argument("folder", type=FOLDER)
@data_option
def restore(folder: Path, data: Path | None) -> None:
    """Put the backup in FOLDER into a data folder (and database) that holds nothing yet.

    Phones notice by themselves that the server is older than what they sent, and send it again.
    """
    with opened(data) as app:
        found = copies.restore(folder.expanduser().resolve(), app, _tell)
    _report(found, "Everything in the backup is here.")
    made = copies.made_at(folder.expanduser())
    click.echo(f"Who was let in on {made} is let in again: end anew what was ended since.")
    click.echo("Who that is: fallbook device list, fallbook link list.")


@click.command()
@click.option("--to-database", metavar="URL", help="The database to move to, as for DATABASE_URL.")
@click.option("--to-photos", metavar="URL", help="Where photos move to, as for FALLBOOK_PHOTOS.")
@data_option
def migrate(to_database: str | None, to_photos: str | None, data: Path | None) -> None:
    """Copy everything to another database, another store of photos, or both, and prove it record by record.

    Stop the server first.  What is here stays here; afterwards start the server with the new settings.
    """
    if not to_database and not to_photos:
        raise click.UsageError("Say where to: --to-database, --to-photos, or both.")
    with opened(data) as source:
        place = source.config["DATA_FOLDER"]
        now = source.config["SQLALCHEMY_DATABASE_URI"]
        settings = {"DATA_FOLDER": place, "LOCK_FOLDER": False, "DATABASE_URL": to_database or now}
        settings["PHOTOS_URL"] = to_photos or source.config["PHOTOS_URL"]
        if to_database:
            with app_opened(settings) as target:
                found = copies.move(source, target, _tell)
        else:
            with app_opened(settings) as target:
                found = copies.move_photos(source, state_of(target).photos.place, _tell)
    _report(found, "Everything is there. Start the server with the new settings from now on.")


def _tell(what: str, done: int) -> None:
    if done % _EVERY == 0 and sys.stderr.isatty():
        click.echo(f"{what}: {done:,}", err=True)


def _report(found: copies.Copied, whole: str) -> None:
    rows = ", ".join(f"{name} {count:,}" for name, count in found.rows.items() if count)
    photos = counted(found.photos, "photo")
    click.echo(f"Records: {rows or 'none'}. {photos}, {found.photos_new:,} of them copied now.")
    for fault in found.faults:
        click.echo(f"missing: {fault}", err=True)
    if found.faults:
        raise AppError("backup_incomplete", f"{counted(len(found.faults), 'fault')}, listed above.")
    click.echo(whole)

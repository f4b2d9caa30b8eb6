"""``fallbook backup``, ``fallbook restore`` and ``fallbook migrate``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..errors import AppError
from ..messages import listed, t
from .common import (
    BESIDE,
    TO_READ,
    Folder,
    counted,
    create_option,
    data_option,
    fault_count,
    json_option,
    opened,
    quiet_option,
)
from .output import Progress, note, now_and_then, say, show_json

if TYPE_CHECKING:
    from ..upkeep.backup import Copied


@click.command()
@click.argument("folder", type=Folder())
@json_option
@quiet_option
@data_option
def backup(folder: Path, as_json: bool, quiet: bool, data: Path | None) -> None:
    """Write a backup of everything into FOLDER; the server may go on serving.

    The backup is of one moment, and is proved record by record.  FOLDER is empty, or holds an earlier backup:
    then only photos that are new are copied.

    \b
    Example: fallbook backup /mnt/usb/fallbook
    """
    from ..upkeep import backup as copies

    with opened(data, **TO_READ) as app, Progress(quiet) as tell:
        found = copies.back_up(app, folder.expanduser().resolve(), now_and_then(tell))
    _report(found, t("cli.backup.whole", folder=folder), as_json, quiet)


@click.command()
@click.argument("folder", type=Folder())
@create_option
@json_option
@quiet_option
@data_option
def restore(folder: Path, create: bool, as_json: bool, quiet: bool, data: Path | None) -> None:
    """Put the backup in FOLDER into a data folder (and database) that holds nothing yet.

    Phones notice by themselves that the server is older than what they sent, and send it again.  The data
    folder is made only with --create.

    \b
    Example: fallbook restore /mnt/usb/fallbook --create
    """
    from ..upkeep import backup as copies

    with opened(data, CREATE=create) as app, Progress(quiet) as tell:
        found = copies.restore(folder.expanduser().resolve(), app, now_and_then(tell))
    _report(found, t("cli.restore.whole"), as_json, quiet)
    if quiet or as_json:
        return
    made = copies.made_at(folder.expanduser())
    say(t("cli.restore.let_in", made=made))
    say(t("cli.restore.see_who"))


@click.command()
@click.option("--to-database", metavar="URL", help="The database to move to, as for DATABASE_URL.")
@click.option("--to-photos", metavar="URL", help="Where photos move to, as for FALLBOOK_PHOTOS.")
@json_option
@quiet_option
@data_option
def migrate(
    to_database: str | None, to_photos: str | None, as_json: bool, quiet: bool, data: Path | None
) -> None:
    """Copy everything to another database, another store of photos, or both, and prove it record by record.

    Stop the server first.  What is here stays here; afterwards start the server with the new settings.

    \b
    Example: fallbook migrate --to-database postgresql://fallbook@db/fallbook
    """
    if not to_database and not to_photos:
        raise click.UsageError(t("cli.migrate.where_to"))
    from ..app import opened as app_opened
    from ..upkeep import backup as copies
    from ..web.state import state_of

    with opened(data) as source, Progress(quiet) as tell:
        place = source.config["DATA_FOLDER"]
        now = source.config["SQLALCHEMY_DATABASE_URI"]
        settings = {"DATA_FOLDER": place, **BESIDE, "DATABASE_URL": to_database or now}
        settings["PHOTOS_URL"] = to_photos or source.config["PHOTOS_URL"]
        with app_opened(settings) as target:
            if to_database:
                found = copies.move(source, target, now_and_then(tell))
            else:
                found = copies.move_photos(source, state_of(target).photos.place, now_and_then(tell))
    _report(found, t("cli.migrate.whole"), as_json, quiet)


def _report(found: "Copied", whole: str, as_json: bool, quiet: bool) -> None:
    if as_json:
        show_json({"ok": not found.faults, "rows": found.rows, "photos": found.photos,
                   "photos_new": found.photos_new, "faults": found.faults})  # fmt: skip
    elif not quiet:
        rows = listed(f"{name} {count:,}" for name, count in found.rows.items() if count)
        copied = {"photos": counted(found.photos, "photo"), "new": f"{found.photos_new:,}"}
        say(t("cli.copied", rows=rows, **copied) if rows else t("cli.copied_no_records", **copied))
    if found.faults:
        if not as_json:
            for fault in found.faults:
                note(t("cli.missing", fault=fault))
        raise AppError("backup_incomplete", fault_count(len(found.faults), as_json))
    if not quiet and not as_json:
        say(whole)

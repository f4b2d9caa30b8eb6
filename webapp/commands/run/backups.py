"""``fallbook backup``, ``fallbook restore`` and ``fallbook migrate``."""

from dataclasses import asdict
from pathlib import Path

import click

from ... import app
from ...messages import listed, t
from ...upkeep import backup
from ...web.state import state_of
from ..output import Progress, counted, now_and_then, refuse, say, show_json
from .opening import BESIDE, TO_READ, opened


def make_backup(folder: Path, as_json: bool, quiet: bool, data: Path | None) -> None:
    """Write a backup of everything; the server may go on."""
    with opened(data, **TO_READ) as source, Progress(quiet) as tell:
        found = backup.back_up(source, folder.expanduser().resolve(), now_and_then(tell))
    _report(found, t("cli.backup.whole", folder=folder), as_json, quiet)


def restore_backup(
    folder: Path, create: bool, erasures: Path | None, as_json: bool, quiet: bool, data: Path | None
) -> None:
    """Put a backup into a data folder that holds nothing yet."""
    newer = backup.newer_folder(erasures) if erasures is not None else None
    with opened(data, CREATE=create, NEW_DATABASE=True) as target, Progress(quiet) as tell:
        found = backup.restore(folder.expanduser().resolve(), target, now_and_then(tell))
        if newer is not None:
            found.erasures = backup.erase_again(newer)
    _report(found, t("cli.restore.whole"), as_json, quiet)
    if quiet or as_json:
        return
    made = backup.made_at(folder.expanduser())
    if newer is None:
        say(t("cli.restore.erased_is_back", made=made))
    else:
        say(t("cli.restore.erased_again", n=found.erasures))
    say(t("cli.restore.let_in", made=made))
    say(t("cli.restore.see_who"))


def migrate(
    to_database: str | None, to_photos: str | None, as_json: bool, quiet: bool, data: Path | None
) -> None:
    """Move to another database or store of photos."""
    if not to_database and not to_photos:
        raise click.UsageError(t("cli.migrate.where_to"))

    with opened(data) as source, Progress(quiet) as tell:
        place = source.config["DATA_FOLDER"]
        now = source.config["SQLALCHEMY_DATABASE_URI"]
        settings = {"DATA_FOLDER": place, **BESIDE, "DATABASE_URL": to_database or now}
        settings["PHOTOS_URL"] = to_photos or source.config["PHOTOS_URL"]
        with app.opened(settings) as target:
            if to_database:
                found = backup.move(source, target, now_and_then(tell))
            else:
                found = backup.move_photos(source, state_of(target).photos.place, now_and_then(tell))
    _report(found, t("cli.migrate.whole"), as_json, quiet)


def _report(found: backup.Copied, whole: str, as_json: bool, quiet: bool) -> None:
    if as_json:
        show_json({"ok": not found.faults, **asdict(found)})
    elif not quiet:
        rows = listed(f"{name} {count:,}" for name, count in found.rows.items() if count)
        copied = {"photos": counted(found.photos, "photo"), "new": f"{found.photos_new:,}"}
        say(t("cli.copied", rows=rows, **copied) if rows else t("cli.copied_no_records", **copied))
    refuse("backup_incomplete", found.faults, "cli.missing", as_json)
    if not quiet and not as_json:
        say(whole)

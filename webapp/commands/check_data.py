"""``fallbook check-data``."""

from dataclasses import asdict
from pathlib import Path

import click

from ..errors import AppError
from ..messages import listed, t
from .common import TO_READ, counted, data_option, fault_count, json_option, opened, quiet_option
from .output import Progress, note, now_and_then, say, show_json


@click.command("check-data")
@json_option
@quiet_option
@data_option
def check_data(as_json: bool, quiet: bool, data: Path | None) -> None:
    """Check the data folder: the database, every entry against its hash, every photo against its name.

    Nothing is changed.  Exit code 1 if anything is damaged.

    \b
    Example: fallbook check-data --data /mnt/backup
    """
    from ..upkeep.integrity import check
    from ..web.state import state_of

    with opened(data, **TO_READ) as app, Progress(quiet) as tell:
        found = check(app.config["DATA_FOLDER"], state_of(app).photos.place, now_and_then(tell))
    if as_json:
        show_json({"ok": not found.faults, **asdict(found)})
    elif not quiet:
        parts = ((found.jobs, "job"), (found.entries, "entry"), (found.photos, "photo"))
        say(listed(counted(*part) for part in parts))
        for line in found.notes:
            say(t("cli.note", text=line))
    if found.faults:
        if not as_json:
            for fault in found.faults:
                note(t("cli.damaged", fault=fault))
        raise AppError("data_damaged", fault_count(len(found.faults), as_json))
    if not as_json and not quiet:
        say(t("cli.check_data.whole"))

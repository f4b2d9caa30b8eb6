"""``fallbook check-data``."""

from pathlib import Path

import click

from ..errors import AppError
from ..integrity import check
from ..state import state_of
from .common import counted, data_option, opened


@click.command("check-data")
@data_option
def check_data(data: Path | None) -> None:
    """Check the data folder: the database, every entry against its hash, every photo against its name.

    Nothing is changed.  Exit code 1 if anything is damaged.
    """
    with opened(data, LOCK_FOLDER=False, MIGRATE=False) as app:
        found = check(app.config["DATA_FOLDER"], state_of(app).photos.place)
    click.echo(
        ", ".join(
            counted(*c) for c in ((found.jobs, "job"), (found.entries, "entry"), (found.photos, "photo"))
        )
    )
    for note in found.notes:
        click.echo(f"note: {note}")
    for fault in found.faults:
        click.echo(f"damaged: {fault}", err=True)
    if found.faults:
        raise AppError("data_damaged", f"{counted(len(found.faults), 'fault')}, listed above.")
    click.echo("The data folder is whole.")

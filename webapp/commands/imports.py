"""``fallbook import``."""

from pathlib import Path

import click

from ..importing import open_job
from ..jobs import take_job
from ..state import state_of
from .common import data_option, opened


@click.command("import")
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@data_option
def take(files: tuple[Path, ...], data: Path | None) -> None:
    """Take jobs into the data folder.

    FILE is a job pack, a job file (photos in a folder photos/ beside it), a job that a phone saved as
    .fallbook.zip, or a text file of inspections after EN 13508-2, Annex B: that becomes a new job, and
    every line of it that found no place is told.

    Taking the same file twice changes nothing.  Stop the server first, or send the file on its page /office.
    """
    with opened(data) as app:
        for path in files:
            report: list[str] = []
            with open_job(path, report.extend) as (job, photo_bytes):
                found = take_job(job, photo_bytes, state_of(app).photos)
            for line in report:
                click.echo(f"{path}: {line}")
            click.echo(
                f"{path}: job {found['job_id']}: {found['kept']} entries new, "
                f"{found['kept_already']} here already, {found['set_aside']} set aside, "
                f"{found['photos']} photos new, {found['photos_missing']} photos not here yet"
            )

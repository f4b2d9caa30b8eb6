"""``fallbook import``."""

from pathlib import Path

import click

from .options import create_option, data_option, json_option, quiet_option


@click.command("import")
@click.argument(
    "files", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path, allow_dash=True)
)
@create_option
@json_option
@quiet_option
@data_option
def take() -> None:
    """Take jobs into the data folder.

    FILE is a job pack, a job file (photos in a folder photos/ beside it), a job or everything that a phone
    saved as .fallbook.zip, a text file of inspections after EN 13508-2, Annex B, or - for standard input.  A
    file of inspections becomes a new job, and every line of it that found no place is told.

    Taking the same file twice changes nothing.  Stop the server first, or send the file on its page /office.
    A data folder that holds nothing yet is made only with --create.

    \b
    Example: fallbook import school.fallbook.zip
             fallbook import --create --data ~/surveys job.json
    """

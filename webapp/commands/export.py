"""``fallbook export``."""

from pathlib import Path

import click

from .options import JobOrFile, data_option, quiet_option


@click.command()
@click.argument("job", type=JobOrFile())
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, allow_dash=True),
    default=Path("-"),
    help="The file to write (default: standard output).",
)
@click.option("--zip", "as_zip", is_flag=True, help="Write the zip with the photos, whatever it is called.")
@click.option("--force", is_flag=True, help="Replace the file if it is there.")
@quiet_option
@data_option
def export() -> None:
    """Write a job as a job file, or with its photos as the hand-over file that a phone makes.

    JOB is a job in the data folder (its title, its reference, the beginning of its id), a file or folder that
    holds a job, or - for standard input.  A name that ends in .zip gives the hand-over file.  Phones, servers
    and fallbook import take both.

    \b
    Example: fallbook export "School foul drain" -o school.fallbook.zip
             fallbook export 0190a1b2 | jq .records
    """

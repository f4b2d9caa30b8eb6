"""``fallbook check-data``."""

import click

from .options import data_option, json_option, quiet_option


@click.command("check-data")
@json_option
@quiet_option
@data_option
def check_data() -> None:
    """Check the data folder: the database, every entry against its hash, every photo against its name.

    Nothing is changed.  Exit code 1 if anything is damaged.

    \b
    Example: fallbook check-data --data /mnt/backup
    """

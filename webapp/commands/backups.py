"""``fallbook backup``, ``fallbook restore`` and ``fallbook migrate``."""

import click

from .options import Folder, create_option, data_option, json_option, quiet_option


@click.command()
@click.argument("folder", type=Folder())
@json_option
@quiet_option
@data_option
def make_backup() -> None:
    """Write a backup of everything into FOLDER; the server may go on serving.

    The backup is of one moment, and is proved record by record.  FOLDER is empty, or holds an earlier backup:
    then only photos that are new are copied.

    \b
    Example: fallbook backup /mnt/usb/fallbook
    """


@click.command()
@click.argument("folder", type=Folder())
@create_option
@click.option(
    "--erasures",
    type=Folder(),
    help="A newer data folder or backup, damaged or not: what was erased there is erased here too.",
)
@json_option
@quiet_option
@data_option
def restore_backup() -> None:
    """Put the backup in FOLDER into a data folder (and database) that holds nothing yet.

    Phones notice by themselves that the server is older than what they sent, and send it again.  The data
    folder is made only with --create.

    What was erased after the backup was made is back, until --erasures, a phone that knows of it, or you
    erase it again.

    \b
    Example: fallbook restore /mnt/usb/fallbook --create --erasures ~/surveys-damaged
    """


@click.command()
@click.option("--to-database", metavar="URL", help="The database to move to, as for DATABASE_URL.")
@click.option("--to-photos", metavar="URL", help="Where photos move to, as for FALLBOOK_PHOTOS.")
@json_option
@quiet_option
@data_option
def migrate() -> None:
    """Copy everything to another database, another store of photos, or both, and prove it record by record.

    Stop the server first.  What is here stays here; afterwards start the server with the new settings.

    \b
    Example: fallbook migrate --to-database postgresql://fallbook@db/fallbook
    """

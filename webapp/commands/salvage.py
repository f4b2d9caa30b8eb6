"""``fallbook salvage``."""

import click

from .options import Folder, data_option, json_option, quiet_option


@click.command()
@click.argument("folder", type=Folder())
@click.option("--files", is_flag=True, help="Write one hand-over file for each job instead of a data folder.")
@json_option
@quiet_option
@data_option
def salvage_folder() -> None:
    """Bring everything readable out of a damaged data folder into FOLDER, which holds nothing yet.

    FOLDER becomes a data folder that `fallbook serve` can serve, or with --files holds one hand-over file for
    each job, which `fallbook import` and phones take.  The damaged folder is only read.
    Whoever was let in is listed as ended: invite phones, office browsers and clients again.  Phones send by
    themselves what the new folder lacks.  Exit code 1 and a line for each loss where something could not be
    read.

    \b
    Example: fallbook salvage ~/surveys-salvaged --data ~/surveys
    """

"""``fallbook readings import``."""

from pathlib import Path

import click

from ..intake.readings_profiles import CHOICES
from .options import JobName, data_option

SIGNS = {"semicolon": ";", "tab": "\t", "comma": ",", "bar": "|"}
UNITS = ("deg", "pct", "permille", "one_in", "m_per_m")


@click.command("import-readings")
@click.argument("file", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path, allow_dash=True))
@click.option("--run", "run_ref", required=True, help="The run: its reference or its id.")
@click.option(
    "--job",
    "job_name",
    type=JobName(),
    help="The job, where several have a run of that name: its title or id.",
)
@click.option("--distance", "counter_column", help="Column of the distances: its name, or its number from 1.")
@click.option("--inclination", "inclination_column", help="Column of the inclinations, likewise.")
@click.option("--remark", "remark_column", help="Column of remarks, likewise; - for none.")
@click.option("--distance-unit", "counter_unit", type=click.Choice(CHOICES["counter_unit"]))
@click.option("--inclination-unit", type=click.Choice(list(UNITS)))
@click.option("--plus", type=click.Choice(["rising", "falling"]), help="What a value without a minus means.")
@click.option("--decimal", type=click.Choice([".", ","]), help="Decimal mark (default: found in the file).")
@click.option(
    "--separator", type=click.Choice(list(SIGNS)), help="Between cells (default: found in the file)."
)
@click.option("--zero-m", type=float, help="What the counter shows where the file's distance is zero [m].")
@click.option(
    "--profile",
    type=click.Path(dir_okay=False, path_type=Path),
    help="File of answers kept by the names of the columns (default: one in the data folder).",
)
@click.option("--forget", is_flag=True, help="Do not use what was said for a file with these columns before.")
@click.option(
    "--overwrite", is_flag=True, help="Also change or remove readings of this file that are here otherwise."
)
@click.option("--take", is_flag=True, help="Make the readings; without it they are only shown.")
@data_option
def import_readings() -> None:
    """Take readings of another instrument from a CSV file into a run.

    Shows what would be made, and line by line what would not; --take makes it, all or nothing.  Taking the
    same file twice changes nothing.  What you say of the columns is kept for the next file that has the
    same.  FILE may be - for standard input.  Stop the server first.

    \b
    Example: fallbook readings import log.csv --run R1 --plus rising
    """

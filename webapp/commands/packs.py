"""``fallbook pack`` and ``fallbook verify``."""

from pathlib import Path

import click

from .options import JobOrFile, data_option, json_option, quiet_option


@click.command()
@click.argument("job", type=JobOrFile())
@click.option(
    "-o",
    "--out",
    required=True,
    type=click.Path(path_type=Path, allow_dash=True),
    help="The zip to write; - is standard output.",
)
@click.option("--force", is_flag=True, help="Replace the zip if it is there.")
@quiet_option
@data_option
def pack() -> None:
    """Make a job pack: report, drawings, tables, photos and a manifest in one zip.

    JOB is a job file, a folder that holds job.json and photos/, a pack, - for standard input, or a job in the
    data folder: its title, its reference, the beginning of its id.  The same job gives the same bytes.  What
    is wrong with the records is told in one line; fallbook check tells each.

    \b
    Example: fallbook pack sample_jobs/school_foul_drain -o school.zip
             fallbook pack "School foul drain" -o - | ssh office 'cat > school.zip'
    """


@click.command()
@click.argument("file", metavar="PACK", type=click.Path(path_type=Path, allow_dash=True))
@json_option
@quiet_option
def verify() -> None:
    """Prove that a job pack is whole: every file is there and has the hash that the manifest states.

    PACK may be - for standard input.  Exit code 1 and one line that names the faults if it is not.

    \b
    Example: fallbook verify school.zip
    """

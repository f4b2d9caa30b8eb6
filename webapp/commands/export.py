"""``fallbook export``."""

from pathlib import Path

import click

from ..messages import t
from . import outfile
from .common import counted, data_option, quiet_option
from .job_source import job_source
from .jobs_here import JobOrFile
from .output import Progress, note


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
def export(job: str, out: Path, as_zip: bool, force: bool, quiet: bool, data: Path | None) -> None:
    """Write a job as a job file, or with its photos as the hand-over file that a phone makes.

    JOB is a job in the data folder (its title, its reference, the beginning of its id), a file or folder that
    holds a job, or - for standard input.  A name that ends in .zip gives the hand-over file.  Phones, servers
    and fallbook import take both.

    \b
    Example: fallbook export "School foul drain" -o school.fallbook.zip
             fallbook export 0190a1b2 | jq .records
    """
    from ..intake import handover
    from ..records import job_file

    as_zip = as_zip or out.suffix.lower() == ".zip"
    outfile.check_out(out, force=force, text=not as_zip)
    missing: list[str] = []
    with (
        job_source(job, data) as (found, photo_bytes),
        outfile.written(out, force=force, text=not as_zip) as file,
        Progress(quiet) as tell,
    ):
        if as_zip:
            missing = handover.write(
                found, photo_bytes, file, lambda n, of: tell(t("cli.export.progress", number=n, of=of))
            )
        else:
            file.write(job_file.dumps(found))
    if quiet:
        return
    if not outfile.is_stdout(out):
        note(t("cli.export.holds", out=out, entrys=counted(len(found["entries"]), "entry")))
    for sha256 in missing:
        note(t("cli.export.no_photo", sha256=sha256))

"""``fallbook export``."""

from pathlib import Path

from ...intake import handover
from ...messages import t
from ...records import job_file
from ..output import Progress, counted, note
from . import outfile
from .job_source import job_source


def export(job: str, out: Path, as_zip: bool, force: bool, quiet: bool, data: Path | None) -> None:
    """Write a job as a job file, or with its photos as one file."""
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

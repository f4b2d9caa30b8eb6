"""``fallbook pack`` and ``fallbook verify``."""

import os
from pathlib import Path
from typing import Any

import click

from .. import jobfile
from ..errors import AppError
from ..importing import open_job
from ..jobs import PhotoBytes, job_file
from ..schemas.base import is_uuid
from ..state import state_of
from .common import data_option, opened


@click.command()
@click.argument("job")
@click.option(
    "-o", "--out", required=True, type=click.Path(dir_okay=False, path_type=Path), help="The zip to write."
)
@click.option("--force", is_flag=True, help="Replace the zip if it is there.")
@data_option
def pack(job: str, out: Path, force: bool, data: Path | None) -> None:
    """Make a job pack: report, drawings, tables, photos and a manifest in one zip.

    JOB is a job file, a folder that holds job.json and photos/, a pack, or the id of a job in the data
    folder.  The same job gives the same bytes.

    \b
    Example: fallbook pack sample_jobs/school_foul_drain -o school.zip
    """
    if out.exists() and not force:
        raise AppError("destination_exists", f"({out})")
    if is_uuid(job) and not Path(job).exists():
        # Reading beside a running server is safe; only its folder lock must not be taken.
        with opened(data, LOCK_FOLDER=False, MIGRATE=False) as app:
            _write(job_file(job), state_of(app).photos.bytes_of, out)
        return
    with open_job(Path(job)) as (found, photo_bytes):
        _write(jobfile.build(found.job_id, found.entries, found.aside, found.photos), photo_bytes, out)


def _write(job: dict[str, Any], photo_bytes: PhotoBytes, out: Path) -> None:
    from .. import pack as packing

    part = out.with_name(out.name + ".part")
    try:
        with part.open("wb") as file:
            packing.build(job, photo_bytes, file, _say)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, out)
    except OSError as error:
        raise AppError("output_unwritable", f"({error.strerror}: {out})") from error
    finally:
        part.unlink(missing_ok=True)
    click.echo(f"{out}: {out.stat().st_size:,} bytes")


def _say(done: int, total: int, step: str) -> None:
    click.echo(f"  {done}/{total} {step}", err=True)


@click.command()
@click.argument("file", metavar="PACK", type=click.Path(path_type=Path))
def verify(file: Path) -> None:
    """Prove that a job pack is whole: every file is there and has the hash that the manifest states.

    Exit code 1 and one line that names the faults if it is not.
    """
    from .. import pack as packing

    if not file.is_file():
        raise AppError("file_unreadable", f"({file})")
    manifest = packing.verify(file)
    click.echo(f"{file}: whole, {len(manifest['files'])} files")

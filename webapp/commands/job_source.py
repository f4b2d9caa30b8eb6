"""A job as a job file, from wherever its name says that it is."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from . import infile
from .common import TO_READ, is_file_name, opened
from .jobs_here import job_id_of

if TYPE_CHECKING:
    from ..intake.jobs import PhotoBytes


@contextmanager
def job_source(name: str, data: Path | None) -> Iterator[tuple[dict[str, Any], "PhotoBytes"]]:
    """Return a job as a job file, and a way to its photos; its name is that of a file or of a job here."""
    from ..intake.open_job import open_job
    from ..records import job_file

    if is_file_name(name):
        with infile.as_file(name) as path, open_job(path) as (found, photo_bytes):
            yield job_file.build(found.job_id, found.entries, found.aside, found.photos), photo_bytes
        return
    from ..intake.jobs import stored_job_file
    from ..web.state import state_of

    job_id = job_id_of(data, name)
    with opened(data, **TO_READ) as app:
        yield stored_job_file(job_id), state_of(app).photos.bytes_of

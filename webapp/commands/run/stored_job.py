"""A job of the data folder as a job file; a job in a file needs nothing of this."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ...intake.jobs import PhotoBytes, stored_job_file
from ...records.entry import JobFileJson
from ...web.state import state_of
from .jobs_here import job_id_of
from .opening import TO_READ, opened


@contextmanager
def stored_job(name: str, data: Path | None) -> Iterator[tuple[JobFileJson, PhotoBytes]]:
    """Return the job that is meant as a job file, and a way to its photos."""
    job_id = job_id_of(data, name)
    with opened(data, **TO_READ) as app:
        yield stored_job_file(job_id), state_of(app).photos.bytes_of

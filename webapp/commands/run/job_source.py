"""A job as a job file, from wherever its name says that it is."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from ...intake.open_job import open_job
from ...jobcheck import unsound_records
from ...messages import t
from ...records import job_file
from ...records.entry import JobFileJson
from ...records.job_file import PhotoBytes
from ..loading import loaded
from ..output import counted, note, one_line
from . import infile


@contextmanager
def job_source(name: str, data: Path | None) -> Iterator[tuple[JobFileJson, PhotoBytes]]:
    """Return a job as a job file, and a way to its photos; its name is that of a file or of a job here."""
    if not infile.is_file_name(name):
        with loaded("stored_job:stored_job")(name, data) as found:
            yield found
        return
    with infile.as_file(name) as path, open_job(path) as (job, photo_bytes):
        yield job_file.build(job.job_id, job.entries, job.aside, job.photos), photo_bytes


def note_unsound(job: Mapping[str, object]) -> None:
    """Say in one line that the records of a job are not sound; nothing is stopped by it."""
    if found := unsound_records(job):
        first = f"{found[0].title}: {found[0].message}" if found[0].title else found[0].message
        note(one_line(t("cli.faults_in_records", faults=counted(len(found), "fault"), first=first)))

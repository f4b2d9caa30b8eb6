"""Open whatever a job can come in: a job file, a folder of one, a pack, a job saved by a phone."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from . import jobfile
from .errors import AppError
from .jobfile import JobFile
from .jobs import PhotoBytes
from .sync.photos import MOST_BYTES
from .zipin import SafeZip

MOST_JOB_FILE_BYTES = 200_000_000
JOB_NAME = "job.json"


@contextmanager
def open_job(path: Path) -> Iterator[tuple[JobFile, PhotoBytes]]:
    """Return the job that a file holds, and a way to its photos; a photo that is not there is None."""
    if path.is_dir():
        path = path / JOB_NAME
    try:
        with path.open("rb") as file:
            start = file.read(4)
    except OSError as error:
        raise AppError("file_unreadable", f"({error.strerror}: {path.name})") from error
    if start[:2] == b"PK":
        with SafeZip(path) as archive:
            yield _from_zip(archive)
    else:
        if path.stat().st_size > MOST_JOB_FILE_BYTES:
            raise AppError("file_unreadable", "It is too large for a job file.")
        yield jobfile.read(path.read_bytes()), _beside(path.parent / "photos")


def _from_zip(archive: SafeZip) -> tuple[JobFile, PhotoBytes]:
    if JOB_NAME not in archive.names:
        raise AppError("job_file_kind", "The zip holds no job.json.")
    job = jobfile.read(archive.read(JOB_NAME, MOST_JOB_FILE_BYTES))
    by_hash = {Path(n).name[:64]: n for n in sorted(archive.names) if n.startswith("photos/")}

    def photo_bytes(sha256: str) -> bytes | None:
        return archive.read(by_hash[sha256], MOST_BYTES) if sha256 in by_hash else None

    return job, photo_bytes


def _beside(folder: Path) -> PhotoBytes:
    def photo_bytes(sha256: str) -> bytes | None:
        found = sorted(folder.glob(f"{sha256}*")) if folder.is_dir() else []
        return found[0].read_bytes() if found else None

    return photo_bytes

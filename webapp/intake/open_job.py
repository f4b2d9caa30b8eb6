"""Open whatever a job can come in: a job file, a folder of one, a pack, an exchange file of EN 13508-2."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from .. import exchange
from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t
from ..records import job_file
from ..records.fold import fold
from ..records.job_file import JobFile, PhotoBytes
from ..sync.photos import MAX_BYTES
from . import phone_file
from .read_pack import prove, refuse
from .safe_zip import SafeZip

MAX_JOB_FILE_BYTES = BUDGETS.job_file_bytes
MAX_PHONE_FILE_BYTES = BUDGETS.phone_file_bytes
JOB_NAME = "job.json"
MANIFEST_NAME = "manifest.json"
LOOKED_AT_BYTES = 4096
SIGNS = (
    (b"\xff\xd8\xff", "file.picture"),
    (b"\x89PNG", "file.picture"),
    (b"%PDF", "file.pdf"),
    (b"\x1f\x8b", "file.packed"),
    (b"\xd0\xcf\x11\xe0", "file.old_document"),
)
Tell = Callable[[list[str]], None]


@dataclass(frozen=True)
class Opened:
    """What a file holds: the text of a job file, or the job that an exchange file makes; and its photos."""

    text: bytes
    exchanged: JobFile | None
    photo_bytes: PhotoBytes
    carries_photos: bool
    faults: tuple[str, ...] = ()
    alone: bool = False  # a job file that is in no zip

    def job(self) -> JobFile:
        """Return the job; AppError says what is wrong with it."""
        return self.exchanged or replace(job_file.read(self.text), alone=self.alone)


@contextmanager
def open_job(path: Path, tell: Tell | None = None) -> Iterator[tuple[JobFile, PhotoBytes]]:
    """Return the job that a file holds, and a way to its photos; a photo that is not there is None.

    An exchange file may hold what no record has a place for: ``tell`` is given the report on it, in lines.
    """
    with open_file(path, tell) as found:
        _refuse_damaged(list(found.faults))
        yield found.job(), found.photo_bytes


@contextmanager
def open_jobs(path: Path, tell: Tell | None = None) -> Iterator[list[tuple[JobFile, PhotoBytes]]]:
    """Return every job that a file holds: one, or all that were on a phone whose app did not open.

    Photos of such a file that none of its jobs names come with a job of no entries.
    """
    if not _is_phone_file(path):
        with open_job(path, tell) as one:
            yield [one]
        return
    with SafeZip(path) as archive:
        found = phone_file.read(archive.read(phone_file.NAME, MAX_PHONE_FILE_BYTES))
        if tell:
            tell(found.left_out)
        photo_bytes = _photos_of(archive)
        named = {photo["sha256"] for job in found.jobs for photo in job.photos}
        rest = [photo for photo in found.photos if photo["sha256"] not in named]
        jobs = [*found.jobs, *([JobFile("", [], {}, [], rest)] if rest else [])]
        if not jobs:
            raise AppError("file_kind", t("file.phone_empty"))
        yield [(job, photo_bytes) for job in jobs]


def _is_phone_file(path: Path) -> bool:
    try:
        with SafeZip(path) as archive:
            return phone_file.NAME in archive.names
    except AppError:
        return False  # whatever it is, it is told where it is opened


@contextmanager
def open_file(path: Path, tell: Tell | None = None) -> Iterator[Opened]:
    """Return what a file holds, before the job in it is looked at; of a pack, also what is damaged."""
    if path.is_dir():
        path = path / JOB_NAME
    try:
        with path.open("rb") as file:
            start = file.read(LOOKED_AT_BYTES)
    except OSError as error:
        raise AppError("file_unreadable", f"({error.strerror}: {path.name})") from error
    beside = path.parent / "photos"
    if start[:2] == b"PK":
        faults = _pack_faults(path)
        with SafeZip(path) as archive:
            yield replace(_from_zip(archive), faults=faults)
    elif exchange.looks_like(start):
        yield Opened(b"", _from_exchange(path, tell), _beside(beside), False)
    else:
        _refuse(start)
        if path.stat().st_size > MAX_JOB_FILE_BYTES:
            raise AppError("file_unreadable", t("file.too_large_for_job"))
        yield Opened(path.read_bytes(), None, _beside(beside), beside.is_dir(), alone=True)


def _refuse(start: bytes) -> None:
    """What cannot be JSON is told by what it is, before it is read."""
    for sign, key in SIGNS:
        if start.startswith(sign):
            raise AppError("file_kind", t(key))
    text = start.removeprefix(b"\xef\xbb\xbf").lstrip()
    if not text:
        raise AppError("file_kind", t("file.empty"))
    if text[:1] not in b"{[":
        raise AppError("file_kind", t("file.perhaps_readings"))


def _pack_faults(path: Path) -> tuple[str, ...]:
    """A pack is taken only if it is whole: its manifest is there to be believed or not at all."""
    with SafeZip(path) as archive:
        if MANIFEST_NAME not in archive.names:
            return ()
    return tuple(prove(path)[1])


def _refuse_damaged(faults: list[str]) -> None:
    if faults:
        refuse(faults)


def _from_zip(archive: SafeZip) -> Opened:
    if phone_file.NAME in archive.names:
        raise AppError("job_file_kind", t("file.all_of_a_phone"))
    if JOB_NAME not in archive.names:
        raise AppError("job_file_kind", t("file.zip_without_job"))
    return Opened(archive.read(JOB_NAME, MAX_JOB_FILE_BYTES), None, _photos_of(archive), True)


def _photos_of(archive: SafeZip) -> PhotoBytes:
    by_hash = {Path(n).name[:64]: n for n in sorted(archive.names) if n.startswith("photos/")}

    def photo_bytes(sha256: str) -> bytes | None:
        return archive.read(by_hash[sha256], MAX_BYTES) if sha256 in by_hash else None

    return photo_bytes


def _from_exchange(path: Path, tell: Tell | None) -> JobFile:
    if path.stat().st_size > exchange.MAX_BYTES:
        raise AppError("exchange_too_large", t("file.size", size_mb=f"{path.stat().st_size / 1e6:.0f}"))
    report = exchange.read(path.read_bytes())
    if tell:
        tell(report.lines())
    return JobFile(report.job_id, report.entries, {}, fold(report.entries), [])


def _beside(folder: Path) -> PhotoBytes:
    def photo_bytes(sha256: str) -> bytes | None:
        found = sorted(folder.glob(f"{sha256}*")) if folder.is_dir() else []
        return found[0].read_bytes() if found else None

    return photo_bytes

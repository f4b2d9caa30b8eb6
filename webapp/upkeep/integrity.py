"""Is the data folder whole?  Reads everything, changes nothing."""

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import Connection, inspect, select, text
from sqlalchemy.exc import DatabaseError

from ..errors import AppError
from ..messages import t
from ..store.engine import reading
from ..store.entry_rows import ENTRY, HELD_BACK, heads, job_ids
from ..store.photo_rows import PHOTO
from ..store.photo_storage import PhotoStorage, hash_of
from .copying import Progress


@dataclass
class Findings:
    """What was counted, what is damaged, and what is only worth knowing."""

    jobs: int = 0
    entries: int = 0
    photos: int = 0
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def check(folder: Path, photos: PhotoStorage, tell: Progress | None = None) -> Findings:
    """Check the data of the current application: its database and where its photos lie.

    ``tell`` is given what is looked at and how many of them have been.
    """
    found = Findings()
    try:
        with reading() as connection:
            _check_database(connection, found)
            if found.faults:
                return found
            if not inspect(connection).has_table("entry"):
                raise AppError("data_missing", f"({folder})")
            _check_entries(connection, found, tell or _nobody)
            _check_photos(connection, photos, found, tell or _nobody)
    except DatabaseError as error:
        found.faults.append(f"database: {error.orig}")
    return found


def _check_database(connection: Connection, found: Findings) -> None:
    if connection.dialect.name != "sqlite":
        return
    for row in connection.execute(text("PRAGMA integrity_check")):
        if row[0] != "ok":
            found.faults.append(f"database: {row[0]}")
    for row in connection.execute(text("PRAGMA foreign_key_check")):
        found.faults.append(t("upkeep.database_reference", table=row[0]))


def _nobody(what: str, done: int) -> None:
    return None


def _check_entries(connection: Connection, found: Findings, tell: Progress) -> None:
    seen = 0
    for table, name in ((ENTRY, "entry"), (HELD_BACK, "clash")):
        query = select(table.c.job_id, table.c.writer, table.c.number, table.c.body, table.c.sha256)
        for job_id, writer, number, body, sha256 in connection.execute(query):
            seen += 1
            tell(name, seen)
            if hashlib.sha256(body.encode()).hexdigest() != sha256:
                found.faults.append(
                    t("upkeep.entry_differs", name=name, writer=writer, number=number, job_id=job_id)
                )
    jobs = job_ids(connection)
    found.jobs = len(jobs)
    for job_id in jobs:
        count = text("SELECT writer, count(*) FROM entry WHERE job_id = :job GROUP BY writer")
        held = {row[0]: row[1] for row in connection.execute(count, {"job": job_id})}
        found.entries += sum(held.values())
        for writer, last in heads(connection, job_id).items():
            if held[writer] != last:
                found.faults.append(
                    t("upkeep.entries_missing", writer=writer, job_id=job_id, held=held[writer], last=last)
                )


def _check_photos(connection: Connection, photos: PhotoStorage, found: Findings, tell: Progress) -> None:
    known = set()
    for sha256, size_bytes in connection.execute(select(PHOTO.c.sha256, PHOTO.c.size_bytes)):
        known.add(sha256)
        found.photos += 1
        tell("photo", found.photos)
        if fault := _photo_fault(photos, sha256, size_bytes):
            found.faults.append(fault)
    for name, size_bytes, whole in photos.names():
        if name.endswith(".part"):
            photo = name.removesuffix(".part")
            found.notes.append(t("upkeep.photo_part", photo=photo, size_bytes=f"{size_bytes:,}"))
        elif not whole or name not in known:
            found.notes.append(t("upkeep.photo_unknown", name=name))


def _photo_fault(photos: PhotoStorage, sha256: str, size_bytes: int) -> str | None:
    held = photos.size(sha256)
    if held is None:
        return t("upkeep.photo_gone", sha256=sha256)
    if held == size_bytes:
        with photos.open(sha256) as stream:
            if hash_of(stream) == sha256:
                return None
    return t("upkeep.photo_damaged", sha256=sha256)

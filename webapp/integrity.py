"""Is the data folder whole?  Reads everything, changes nothing."""

import hashlib
import re
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import Connection, inspect, select, text
from sqlalchemy.exc import DatabaseError

from .errors import AppError
from .store.engine import reading
from .store.entries import CLASH, ENTRY, heads, job_ids
from .store.photos import PHOTO, path_of
from .sync.photos import hash_of

AGAIN = "a phone that has it sends it again, and a pack that has it can be imported"


@dataclass
class Findings:
    """What was counted, what is damaged, and what is only worth knowing."""

    jobs: int = 0
    entries: int = 0
    photos: int = 0
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def check(folder: Path) -> Findings:
    """Check the data folder of the current application."""
    found = Findings()
    try:
        with reading() as connection:
            _check_database(connection, found)
            if found.faults:
                return found
            if not inspect(connection).has_table("entry"):
                raise AppError("data_missing", f"({folder})")
            _check_entries(connection, found)
            _check_photos(connection, folder, found)
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
        found.faults.append(f"database: a row of {row[0]} points at nothing")


def _check_entries(connection: Connection, found: Findings) -> None:
    for table, name in ((ENTRY, "entry"), (CLASH, "clash")):
        query = select(table.c.job_id, table.c.writer, table.c.number, table.c.body, table.c.sha256)
        for job_id, writer, number, body, sha256 in connection.execute(query):
            if hashlib.sha256(body.encode()).hexdigest() != sha256:
                found.faults.append(f"{name} {writer}:{number} of job {job_id} differs from its hash")
    jobs = job_ids(connection)
    found.jobs = len(jobs)
    for job_id in jobs:
        count = text("SELECT writer, count(*) FROM entry WHERE job_id = :job GROUP BY writer")
        held = {row[0]: row[1] for row in connection.execute(count, {"job": job_id})}
        found.entries += sum(held.values())
        for writer, last in heads(connection, job_id).items():
            if held[writer] != last:
                found.faults.append(f"writer {writer} of job {job_id}: {held[writer]} of {last} entries")


def _check_photos(connection: Connection, folder: Path, found: Findings) -> None:
    known = set()
    for sha256, size_bytes in connection.execute(select(PHOTO.c.sha256, PHOTO.c.size_bytes)):
        known.add(sha256)
        found.photos += 1
        path = path_of(folder, sha256)
        if not path.exists():
            found.faults.append(f"photo {sha256}: its file is gone; {AGAIN}")
        elif path.stat().st_size != size_bytes or hash_of(path) != sha256:
            found.faults.append(f"photo {sha256}: its file is damaged; once it is moved away, {AGAIN}")
    for path in sorted((folder / "photos").rglob("*")):
        if path.is_dir() or path.name in known:
            continue
        if re.fullmatch(r"[0-9a-f]{64}\.part", path.name):
            found.notes.append(f"photo {path.stem}: {path.stat().st_size:,} bytes so far, not whole yet")
        else:
            found.notes.append(f"{path.relative_to(folder)} is not a photo that the database knows")

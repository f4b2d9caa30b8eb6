"""Is the data folder whole?  Reads everything, changes nothing."""

import hashlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Connection, Table, inspect, select, text
from sqlalchemy.exc import DatabaseError

from ..errors import AppError
from ..messages import t
from ..store import erasure_rows
from ..store.damage import one_job
from ..store.engine import reading
from ..store.entry_rows import ENTRY, jobs_found
from ..store.held_back_rows import HELD_BACK
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
    with reading() as connection:
        _check_database(connection, found)
        try:
            with one_job(connection):
                if not inspect(connection).has_table("entry"):
                    raise AppError("data_missing", f"({folder})")
        except AppError as error:
            if error.code != "data_damaged":
                raise
            found.faults = found.faults or [error.sentence]
            return found
        _check_entries(connection, found, tell or _nobody)
        _check_photos(connection, photos, found, tell or _nobody)
    return found


def _check_database(connection: Connection, found: Findings) -> None:
    if connection.dialect.name != "sqlite":
        return
    try:
        for row in connection.execute(text("PRAGMA integrity_check")):
            if row[0] != "ok":
                found.faults.append(f"database: {row[0]}")
        for row in connection.execute(text("PRAGMA foreign_key_check")):
            found.faults.append(t("upkeep.database_reference", table=row[0]))
    except DatabaseError as error:
        found.faults.append(f"database: {error.orig}")


def _nobody(what: str, done: int) -> None:
    return None


def _check_entries(connection: Connection, found: Findings, tell: Progress) -> None:
    """Check every entry by itself; a job that cannot be read to its end keeps no other from being checked."""
    jobs, _ = jobs_found(connection)
    found.jobs = len(jobs)
    for job_id in jobs:
        try:
            with one_job(connection):
                _check_job(connection, job_id, found, tell)
        except AppError:
            found.faults.append(t("upkeep.check_job_damaged", job_id=job_id))
    try:
        with one_job(connection):
            for row in connection.execute(select(*_checked(HELD_BACK))):
                _check_hash("clash", row, found)
    except AppError:
        found.faults.append(t("upkeep.check_held_back_damaged"))


def _checked(table: Table) -> list[Column[Any]]:
    return [table.c[name] for name in ("job_id", "writer", "number", "body", "sha256")]


def _check_job(connection: Connection, job_id: str, found: Findings, tell: Progress) -> None:
    held: dict[str, list[int]] = {}
    for row in connection.execute(select(*_checked(ENTRY)).where(ENTRY.c.job_id == job_id)):
        found.entries += 1
        tell("entry", found.entries)
        _check_hash("entry", row, found)
        held.setdefault(row.writer, []).append(row.number)
    for writer, numbers in held.items():
        if len(set(numbers)) != max(numbers):
            about = {"held": len(set(numbers)), "last": max(numbers), "writer": writer, "job_id": job_id}
            found.faults.append(t("upkeep.entries_missing", **about))


def _check_hash(name: str, row: Any, found: Findings) -> None:
    body = row.body.encode("utf-8", "replace") if isinstance(row.body, str) else b""
    if hashlib.sha256(body).hexdigest() != row.sha256:
        about = {"writer": row.writer, "number": row.number, "job_id": row.job_id}
        found.faults.append(t("upkeep.entry_differs", name=name, **about))


def _check_photos(connection: Connection, photos: PhotoStorage, found: Findings, tell: Progress) -> None:
    known = set()
    try:
        with one_job(connection):
            rows = connection.execute(select(PHOTO.c.sha256, PHOTO.c.size_bytes))
            held = {sha256: size_bytes for sha256, size_bytes in rows} | erasure_rows.kept_photos(connection)
            for sha256, size_bytes in held.items():
                known.add(sha256)
                found.photos += 1
                tell("photo", found.photos)
                if fault := _photo_fault(photos, sha256, size_bytes):
                    found.faults.append(fault)
    except AppError as error:
        if error.code != "data_damaged":
            raise
        found.faults.append(t("upkeep.check_photos_damaged"))
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
        try:
            with photos.open(sha256) as stream:
                if hash_of(stream) == sha256:
                    return None
        except OSError:  # a disk that cannot read it
            pass
    return t("upkeep.photo_damaged", sha256=sha256)

"""Copies of a whole installation: backup, restore, the move to another database or place of photos.

A backup is a data folder: the database as SQLite, whatever it was, and the photos.  `fallbook check-data`
proves it, `fallbook serve` can serve it.  Photos never change, so a second backup adds only the new ones.
"""

import json
import os
import shutil
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from flask import Flask
from sqlalchemy import URL, Connection, select, update

from ..app import opened
from ..errors import AppError
from ..lan.certificates import CERTIFICATES
from ..messages import t
from ..store import access_rows, erasure_rows
from ..store.access_rows import INVITATION
from ..store.engine import database_url, writing
from ..store.folder import sync_folder
from ..store.folder_lock import lock
from ..store.models import db
from ..store.photo_rows import PHOTO
from ..store.photo_storage import FolderStorage, PhotoStorage, copy_whole
from ..store.private import private_file, private_folder
from ..sync.erasing import apply
from ..sync.exchange import now_text
from ..sync.sender import Sender
from ..web.state import state_of
from .copying import Progress, copy_rows, differences, is_empty, snapshot
from .salvage_erased import acts_in

MARK = "backup.json"
DATABASE = "fallbook.sqlite"


@dataclass
class Copied:
    """What was copied, and what could not be."""

    rows: dict[str, int] = field(default_factory=dict)
    photos: int = 0
    photos_new: int = 0
    erasures: int = 0  # that a newer folder knows and that were done again
    faults: list[str] = field(default_factory=list)


def back_up(source: Flask, folder: Path, tell: Progress) -> Copied:
    """Write a backup of an installation that may be serving meanwhile."""
    _check_place(folder, source.config["DATA_FOLDER"])
    with lock(folder):
        return _back_up(source, folder, tell)


def _back_up(source: Flask, folder: Path, tell: Progress) -> Copied:
    scratch, found = folder / "making", Copied()
    shutil.rmtree(scratch, ignore_errors=True)
    with (
        source.app_context(),
        snapshot(db.engine) as rows,
        opened({"DATA_FOLDER": scratch, "DATABASE_URL": _sqlite(scratch), "PHOTOS_URL": ""}) as target,
    ):
        # The photos first: a row says that its photo is there.
        _copy_photos(rows, state_of(source).photos.place, FolderStorage(folder), found, tell)
        _copy(rows, target, found, tell)
    for old in ("-wal", "-shm"):  # of a server that ran on the earlier backup
        (folder / f"{DATABASE}{old}").unlink(missing_ok=True)
    os.replace(scratch / DATABASE, folder / DATABASE)
    sync_folder(folder)
    shutil.rmtree(scratch)
    keep_certificates(source.config["DATA_FOLDER"], folder)
    about = {"made_at": now_text(), "rows": found.rows, "photos": found.photos, "faults": found.faults}
    (folder / MARK).write_text(json.dumps(about, indent=1) + "\n", encoding="utf-8")
    return found


def restore(folder: Path, target: Flask, tell: Progress) -> Copied:
    """Put a backup into an installation that holds nothing.  Invitations still open end with it."""
    if not (folder / MARK).is_file() or not (folder / DATABASE).is_file():
        raise AppError("backup_missing", f"({folder})")
    with opened({"DATA_FOLDER": folder, "DATABASE_URL": _sqlite(folder), "PHOTOS_URL": ""}) as source:
        found = move(source, target, tell)
    with target.app_context(), db.engine.begin() as connection:
        # Used since the backup or not: nobody can tell any more, so none of them lets anybody in.
        still_open = update(INVITATION).where(INVITATION.c.used_at.is_(None))
        connection.execute(still_open.values(used_at=now_text()))
    keep_certificates(folder, target.config["DATA_FOLDER"])
    return found


def newer_folder(folder: Path) -> Path:
    """Return a folder that may say what was erased; AppError ``data_missing`` where it has no database."""
    if not (folder.expanduser() / DATABASE).is_file():
        raise AppError("data_missing", f"({folder})")
    return folder.expanduser().resolve()


def erase_again(folder: Path) -> int:
    """Do in the restored data what a newer folder, damaged or not, says was erased; return how many acts.

    Only what this server once did itself: an act that its key does not prove is left out.
    """
    acts, done = acts_in(folder / DATABASE), 0
    with writing() as connection:
        key = erasure_rows.known_key(connection)
        for act in acts:
            if key and act.is_proved(key) and apply(connection, act):
                done += 1
                detail = {"erasure": act.id, "state": act.state, "entries": act.count()}
                access_rows.note(connection, at=now_text(), who=Sender().name, address="",
                                 action="erased_again", job_id=act.job_id, detail=detail)  # fmt: skip
    return done


def made_at(folder: Path) -> str:
    """Return when a backup was made, for people."""
    try:
        found = json.loads((folder / MARK).read_text(encoding="utf-8"))["made_at"]
    except (OSError, ValueError, KeyError, TypeError):
        return t("upkeep.day_of_backup")
    return t("upkeep.at_utc", when=str(found)[:16].replace("T", " "))


def move(source: Flask, target: Flask, tell: Progress) -> Copied:
    """Copy everything into an installation that holds nothing, and prove it record by record."""
    found = Copied()
    with target.app_context(), db.engine.connect() as connection:
        if not is_empty(connection):
            raise AppError("target_not_empty")
    with source.app_context(), snapshot(db.engine) as rows:
        _copy_photos(rows, state_of(source).photos.place, state_of(target).photos.place, found, tell)
        _copy(rows, target, found, tell)
    return found


def move_photos(source: Flask, target: PhotoStorage, tell: Progress) -> Copied:
    """Copy all photos to another place."""
    found = Copied()
    with source.app_context(), snapshot(db.engine) as rows:
        _copy_photos(rows, state_of(source).photos.place, target, found, tell)
    return found


def _copy(rows: Connection, target: Flask, found: Copied, tell: Progress) -> None:
    with target.app_context():
        with db.engine.connect() as connection, connection.begin():
            found.rows = copy_rows(rows, connection, tell)
        with snapshot(db.engine) as held:
            found.faults += differences(rows, held)
        db.engine.dispose()


def _copy_photos(
    rows: Connection, source: PhotoStorage, target: PhotoStorage, found: Copied, tell: Progress
) -> None:
    shown = set(rows.execute(select(PHOTO.c.sha256)).scalars())
    for sha256 in sorted(shown | erasure_rows.kept_photos(rows).keys()):
        found.photos += 1
        try:
            found.photos_new += copy_whole(source, target, sha256)
        except OSError as error:
            found.faults.append(t("upkeep.copied_photo", sha256=sha256, why=error.strerror or error))
        tell("photo", found.photos)


def _check_place(folder: Path, data: Path) -> None:
    """A backup goes into a folder of its own, never among other files or into the data folder itself."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        held = {path.name for path in folder.iterdir()}
    except OSError as error:
        raise AppError("backup_place", f"({error.strerror}: {folder})") from error
    unfinished = held <= {"making", "photos", "lock"}
    if folder.resolve() == data or not (unfinished or MARK in held):
        raise AppError("backup_place", f"({folder})")


def keep_certificates(source: Path, target: Path) -> None:
    """Phones trust the authority of this installation; a restored one goes on with it."""
    if (source / CERTIFICATES).is_dir() and (source != target):
        (target / CERTIFICATES).mkdir(mode=0o700, exist_ok=True)
        shutil.copytree(source / CERTIFICATES, target / CERTIFICATES, dirs_exist_ok=True)
        # A medium that knows no owners is as safe as the drawer it lies in; `serve --lan` would not use it.
        with suppress(AppError, OSError):
            private_folder(target / CERTIFICATES)
            for path in (target / CERTIFICATES).glob("*.key"):
                private_file(path)


def _sqlite(folder: Path) -> URL:
    return database_url(None, folder)

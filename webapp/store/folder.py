"""The data folder: where everything lies, and how it is made to last."""

import os
import sys
from contextlib import suppress
from pathlib import Path

from ..errors import AppError
from .user_folders import DATABASE, default_folder

__all__ = [
    "DATABASE",
    "LIMITS_FILE",
    "default_folder",
    "file_uri",
    "holds_photos",
    "prepare",
    "refuse_lost_database",
    "sync_file",
    "sync_folder",
]

LIMITS_FILE = "limits.sqlite"  # how often who asked, where several processes count together


def prepare(folder: Path) -> None:
    """Make the folder and what belongs in it, readable by this user only."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name in ("photos", "packs"):
            (folder / name).mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise AppError("data_unwritable", f"({error.strerror}: {folder})") from error


def refuse_lost_database(folder: Path, *, new: bool = False) -> None:
    """Refuse a folder whose database is gone or empty while what belongs to it is there.

    ``new``: a backup is put back, so that photos alone are in nobody's way.
    """
    database = folder / DATABASE
    try:
        if database.stat().st_size:
            return
    except FileNotFoundError:
        pass
    log = database.with_name(f"{DATABASE}-wal")
    if (log.is_file() and log.stat().st_size) or (not new and holds_photos(folder)):
        raise AppError("database_lost", f"({database})")


def holds_photos(folder: Path) -> bool:
    """Say whether a whole photo lies in a data folder."""
    return any(len(path.name) == 64 for path in (folder / "photos").glob("??/*"))


def file_uri(database: Path, *, writable: bool) -> str:
    """Return the URI by which SQLite opens a file that is there.

    One that cannot be written, and that nobody was writing, is read as it lies: no file is made beside it.
    """
    if writable:
        mode = "mode=rw"
    else:
        mode = "mode=ro" if database.with_name(f"{database.name}-wal").exists() else "immutable=1"
    return f"{database.absolute().as_uri()}?{mode}"


def sync_file(handle: int) -> None:
    """Make the bytes of an open file survive a power cut.

    On macOS ``fsync`` leaves them in the memory of the drive; there is a call of its own that does not.
    """
    if sys.platform == "darwin":
        import fcntl

        with suppress(OSError):  # a disk of another kind does not know it
            fcntl.fcntl(handle, fcntl.F_FULLFSYNC)
            return
    os.fsync(handle)


def sync_folder(folder: Path) -> None:
    """Make the names in ``folder`` survive a power cut (not needed, nor possible, on Windows)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        sync_file(handle)
    finally:
        os.close(handle)

"""The data folder: where everything lies, and how it is made to last."""

import os
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from ..errors import AppError
from .user_folders import DATABASE, default_folder

__all__ = [
    "DATABASE",
    "LIMITS_FILE",
    "default_folder",
    "holds_photos",
    "is_writable",
    "prepare",
    "refuse_lost_database",
    "sync_file",
    "sync_folder",
    "uri_to_read",
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
    except OSError:  # not there, or below something that is no folder, which is told where it is made
        pass
    log = database.with_name(f"{DATABASE}-wal")
    if (log.is_file() and log.stat().st_size) or (not new and holds_photos(folder)):
        raise AppError("database_lost", f"({database})")


def holds_photos(folder: Path) -> bool:
    """Say whether a whole photo lies in a data folder."""
    return any(len(path.name) == 64 for path in (folder / "photos").glob("??/*"))


def is_writable(folder: Path) -> bool:
    """Say whether the database of a data folder can be written, and files be made beside it."""
    database = folder / DATABASE
    return os.access(folder, os.W_OK) and (not database.exists() or os.access(database, os.W_OK))


@contextmanager
def uri_to_read(database: Path) -> Iterator[str]:
    """Yield the URI by which SQLite reads a database on a disk that can only be read.

    Nothing is made beside it.  Where a log lies there that was not folded in, and SQLite cannot read it in
    its place, both are read from a copy: without its log a database lacks what came last.
    """
    log, index = (database.with_name(f"{database.name}{end}") for end in ("-wal", "-shm"))
    as_it_lies = f"{database.absolute().as_uri()}?immutable=1"
    with_log = f"{database.absolute().as_uri()}?mode=ro"
    unfolded = log.is_file() and log.stat().st_size > 0
    if (unfolded or index.exists()) and _opens(with_log):
        yield with_log
    elif not unfolded:
        yield as_it_lies
    else:
        with tempfile.TemporaryDirectory(prefix="fallbook-") as scratch:
            for path in (database, log):
                shutil.copyfile(path, Path(scratch) / path.name)
            yield f"{(Path(scratch) / database.name).as_uri()}?mode=rw"


def _opens(uri: str) -> bool:
    try:
        with closing(sqlite3.connect(uri, uri=True, timeout=10)) as connection:
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:
        return False
    except sqlite3.Error:  # it opens; what is in it is told where it is read
        return True
    return True


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

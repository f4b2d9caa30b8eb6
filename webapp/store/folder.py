"""The data folder: where everything lies, and the lock that keeps a second server out."""

import os
import shutil
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import IO

from .. import timesource
from ..errors import AppError
from .filelock import try_lock
from .user_folders import DATABASE, default_folder

__all__ = [
    "DATABASE",
    "LIMITS_FILE",
    "default_folder",
    "file_uri",
    "lock",
    "prepare",
    "sync_file",
    "sync_folder",
]

LIMITS_FILE = "limits.sqlite"  # how often who asked, where several processes count together
SHARED_WITHIN_S = 2.0


def prepare(folder: Path) -> None:
    """Make the folder and what belongs in it, readable by this user only."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name in ("photos", "packs"):
            (folder / name).mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise AppError("data_unwritable", f"({error.strerror}: {folder})") from error


def file_uri(database: Path, *, writable: bool) -> str:
    """Return the URI by which SQLite opens a file that is there.

    One that cannot be written, and that nobody was writing, is read as it lies: no file is made beside it.
    """
    if writable:
        mode = "mode=rw"
    else:
        mode = "mode=ro" if database.with_name(f"{database.name}-wal").exists() else "immutable=1"
    return f"{database.absolute().as_uri()}?{mode}"


def lock(folder: Path, *, shared: bool = False) -> IO[bytes]:
    """Take the folder for this process until the file is closed or the process ends.

    ``shared``: other processes that share it may have it too; the first of them clears it up.
    """
    try:
        handle = (folder / "lock").open("ab")
    except OSError as error:
        raise AppError("data_unwritable", f"({error.strerror}: {folder})") from error
    if try_lock(handle.fileno()):
        clear_scratch(folder)
        if shared:
            try_lock(handle.fileno(), shared=True)  # what was for one alone is now for several
        return handle
    if shared and try_lock_within(handle.fileno(), SHARED_WITHIN_S):
        return handle
    handle.close()
    raise AppError("folder_in_use", f"({folder})")


def try_lock_within(handle: int, within_s: float) -> bool:
    """Take a shared lock; the process that came first holds it alone for a moment."""
    end_s = timesource.monotonic_s() + within_s
    while not try_lock(handle, shared=True):
        if timesource.monotonic_s() > end_s:
            return False
        time.sleep(0.02)
    return True


def clear_scratch(folder: Path) -> None:
    """Throw away what an earlier run left: packs, which can be made again, half-taken files, limits."""
    for path in (*(folder / "packs").glob("*"), *folder.glob(f"{LIMITS_FILE}*")):
        path.unlink(missing_ok=True)
    for path in folder.glob("incoming-*"):
        shutil.rmtree(path, ignore_errors=True)


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

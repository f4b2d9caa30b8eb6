"""The lock that keeps a second server out of a data folder, or lets in those that share it."""

import shutil
import time
from pathlib import Path
from typing import IO

from .. import timesource
from ..errors import AppError
from .filelock import LockException, try_lock
from .folder import LIMITS_FILE

SHARED_WITHIN_S = 2.0


def lock(folder: Path, *, shared: bool = False) -> IO[bytes]:
    """Take the folder for this process until the file is closed or the process ends.

    ``shared``: other processes that share it may have it too; the first of them clears it up.
    """
    try:
        handle = (folder / "lock").open("ab")
    except OSError as error:
        raise AppError("data_unwritable", f"({error.strerror}: {folder})") from error
    try:
        taken = _taken(handle.fileno(), folder, shared=shared)
    except LockException as error:  # some network shares take no locks
        handle.close()
        why = getattr(error.__cause__, "strerror", error)
        raise AppError("data_unwritable", f"({why}: {folder})") from error
    if not taken:
        handle.close()
        raise AppError("folder_in_use", f"({folder})")
    return handle


def _taken(handle: int, folder: Path, *, shared: bool) -> bool:
    if try_lock(handle):
        clear_scratch(folder)
        if shared:
            try_lock(handle, shared=True)  # what was for one alone is now for several
        return True
    return shared and try_lock_within(handle, SHARED_WITHIN_S)


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
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)
    for path in folder.glob("incoming-*"):
        shutil.rmtree(path, ignore_errors=True)

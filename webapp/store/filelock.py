"""Locks between processes, on an open file: they go when the file is closed or the process ends."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import portalocker
from portalocker import LockException, LockFlags, unlock

__all__ = ["LockException", "alone", "open_lock", "try_lock", "unlock", "wait_lock"]

_ASK_AGAIN_S = 0.005


def open_lock(path: Path) -> int:
    """Return a file to lock, open; it is made where it is not there, and stays."""
    return os.open(path, os.O_RDWR | os.O_CREAT, 0o600)


def try_lock(handle: int, *, shared: bool = False) -> bool:
    """Take the lock of an open file if it is free; ``shared`` ones keep out only those that are not.

    LockException where the file system takes no locks.  Windows shares locks with pywin32 only: nothing here
    asks it to (setting FALLBOOK_SHARED).
    """
    kind = LockFlags.SHARED if shared else LockFlags.EXCLUSIVE
    try:
        portalocker.lock(handle, kind | LockFlags.NON_BLOCKING)
    except portalocker.AlreadyLocked:
        return False
    return True


def wait_lock(handle: int) -> None:
    """Take the lock of an open file, when it is free."""
    if os.name != "nt":
        portalocker.lock(handle, LockFlags.EXCLUSIVE)
        return
    while not try_lock(handle):  # Windows itself would look once a second, and give up after ten
        time.sleep(_ASK_AGAIN_S)


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Be the only one among all processes in here; the file that stands for it stays."""
    handle = open_lock(path)
    try:
        wait_lock(handle)
        yield
    finally:
        os.close(handle)

"""Locks between processes, on an open file: they go when the file is closed or the process ends."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_ASK_AGAIN_S = 0.005


def open_lock(path: Path) -> int:
    """Return a file to lock, open; it is made where it is not there, and stays."""
    return os.open(path, os.O_RDWR | os.O_CREAT, 0o600)


def try_lock(handle: int, *, shared: bool = False) -> bool:
    """Take the lock of an open file if it is free; ``shared`` ones keep out only those that are not.

    Windows knows no shared locks here: there every lock keeps out every other.
    """
    try:
        if os.name == "nt":
            import msvcrt

            os.lseek(handle, 0, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(handle, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def wait_lock(handle: int) -> None:
    """Take the lock of an open file, when it is free."""
    if os.name != "nt":
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX)
        return
    while not try_lock(handle):
        time.sleep(_ASK_AGAIN_S)


def unlock(handle: int) -> None:
    """Give the lock of an open file free."""
    if os.name == "nt":
        import msvcrt

        os.lseek(handle, 0, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)  # type: ignore[attr-defined,unused-ignore]
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_UN)


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Be the only one among all processes in here; the file that stands for it stays."""
    handle = open_lock(path)
    try:
        wait_lock(handle)
        yield
    finally:
        os.close(handle)

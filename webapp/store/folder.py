"""The data folder: where everything lies, and the lock that keeps a second server out."""

import os
import shutil
import sys
from pathlib import Path
from typing import IO

from ..errors import AppError


def default_folder() -> Path:
    """Return the data folder of this user on this platform."""
    home = Path.home()
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "Fallbook"
    if os.name == "nt":
        return home / "AppData" / "Local" / "Fallbook"
    return home / ".local" / "share" / "fallbook"


def prepare(folder: Path) -> None:
    """Make the folder and what belongs in it, readable by this user only."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name in ("photos", "packs"):
            (folder / name).mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise AppError("data_unwritable", f"({error.strerror}: {folder})") from error


def lock(folder: Path) -> IO[bytes]:
    """Take the folder for this process until the file is closed or the process ends."""
    try:
        handle = (folder / "lock").open("ab")
    except OSError as error:
        raise AppError("data_unwritable", f"({error.strerror}: {folder})") from error
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        handle.close()
        raise AppError("folder_in_use", f"({folder})") from error
    return handle


def clear_scratch(folder: Path) -> None:
    """Throw away what an earlier run left behind: packs, which can be made again, and half-taken files."""
    for path in (folder / "packs").glob("*"):
        path.unlink(missing_ok=True)
    for path in folder.glob("incoming-*"):
        shutil.rmtree(path, ignore_errors=True)


def sync_folder(folder: Path) -> None:
    """Make the names in ``folder`` survive a power cut (not needed, nor possible, on Windows)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

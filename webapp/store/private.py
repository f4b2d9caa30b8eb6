"""Files that nobody but this user may read: the keys of certificates.

POSIX systems: the mode, looked at again afterwards, for some disks know no owners.  Windows: an access list
for this user and the system, by ``icacls``; where that cannot be set, only a folder inside the user's own
profile will do, which Windows keeps from other users by itself.
"""

import os
import stat
import subprocess
from pathlib import Path

from ..errors import AppError

FOLDER_MODE, FILE_MODE = 0o700, 0o600
_SYSTEM = "*S-1-5-18"
_WITHIN_S = 20
_done: set[Path] = set()


def private_folder(folder: Path) -> None:
    """Make a folder that only this user may look into; AppError ``key_unprotected`` where it cannot be."""
    folder.mkdir(mode=FOLDER_MODE, exist_ok=True)
    if os.name == "nt":
        if folder not in _done and not _limit_on_windows(folder) and not _in_profile(folder):
            raise AppError("key_unprotected", f"({folder})")
        _done.add(folder)
    else:
        _limit(folder, FOLDER_MODE)


def private_file(path: Path) -> None:
    """See that only this user may read a file; on Windows it has the access list of its folder."""
    if os.name != "nt":
        _limit(path, FILE_MODE)


def _limit(path: Path, mode: int) -> None:
    if stat.S_IMODE(path.stat().st_mode) != mode:
        path.chmod(mode)
    if stat.S_IMODE(path.stat().st_mode) & 0o077:
        raise AppError("key_unprotected", f"({path})")


def _limit_on_windows(folder: Path) -> bool:
    """Give a folder, and what will lie in it, an access list of this user and the system alone."""
    user = _user_sid()
    if user is None:
        return False
    grants = [f"*{user}:(OI)(CI)F", f"{_SYSTEM}:(OI)(CI)F"]
    done = _run("icacls", str(folder), "/inheritance:r", "/grant:r", *grants)
    return done is not None


def _user_sid() -> str | None:
    """Return the security identifier of this user."""
    found = _run("whoami", "/user", "/fo", "csv", "/nh")
    sid = (found or "").strip().rpartition(",")[2].strip('"')
    return sid if sid.startswith("S-1-") else None


def _run(name: str, *words: str) -> str | None:
    """Return what one of Windows' own programs says; None where it fails."""
    program = Path(os.environ.get("SystemRoot", r"C:\Windows")) / "System32" / f"{name}.exe"
    try:
        done = subprocess.run(  # noqa: S603  a program of the system, by its whole path
            [str(program), *words], capture_output=True, timeout=_WITHIN_S, check=True
        )
    except (OSError, subprocess.SubprocessError):
        return None
    return done.stdout.decode("utf-8", "replace")


def _in_profile(folder: Path) -> bool:
    try:
        return folder.resolve().is_relative_to(Path.home().resolve())
    except (OSError, RuntimeError):
        return False

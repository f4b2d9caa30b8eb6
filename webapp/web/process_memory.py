"""How much memory a process and those that it started hold now."""

import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

_PS_WITHIN_S = 5


def resident_bytes(pid: int) -> int | None:
    """Return what a process group's leader and its children hold in memory; None where nobody can tell."""
    if sys.platform == "linux":
        return _linux(pid)
    return None if os.name == "nt" else _by_ps(pid)


def _linux(pid: int) -> int | None:
    if os.name == "nt":
        return None
    total, page = None, os.sysconf("SC_PAGE_SIZE")
    waiting = [pid]
    while waiting:
        one = Path(f"/proc/{waiting.pop()}")
        with suppress(OSError, ValueError, IndexError):  # it may end while it is looked at
            total = (total or 0) + int((one / "statm").read_text(encoding="ascii").split()[1]) * page
            for task in (one / "task").iterdir():
                waiting += (task / "children").read_text(encoding="ascii").split()  # type: ignore[arg-type]
    return total


def _by_ps(pid: int) -> int | None:
    try:
        words = ["ps", "-A", "-o", "pgid=,rss="]
        done = subprocess.run(words, capture_output=True, timeout=_PS_WITHIN_S, check=True, text=True)  # noqa: S603
    except (OSError, subprocess.SubprocessError):
        return None
    rows = (line.split() for line in done.stdout.splitlines())
    found = [int(row[1]) * 1024 for row in rows if len(row) == 2 and row[0] == str(pid) and row[1].isdigit()]
    return sum(found) if found else None

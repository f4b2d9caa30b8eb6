"""The process that makes a pack (pack_maker.py): started, fed, watched, and ended whatever happens.

Whoever kills the server kills it too: its standard input closes, and on Linux the kernel ends it.
"""

import dataclasses
import json
import os
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import IO, Any, Protocol, TypedDict, cast

from .. import paths, timesource
from ..environment import OWN_TABLES
from ..errors import AppError
from ..messages import t
from ..process_limits import Budget
from .log import LOG
from .process_memory import resident_bytes

MODULE = "webapp.pack_maker"
LOOK_S = 0.1
DISK_LOOK = 10  # at every so many looks
TERM_S = 2.0  # from SIGTERM to SIGKILL
LEFT_FREE_BYTES = 200 * 1024 * 1024  # of the disk, for what phones send
_LINE_BYTES = 16 * 1024 * 1024
_PRINTED_BYTES = 2000
_PASSED_ON = ("PATH", "HOME", "USERPROFILE", "LANG", "LC_ALL", "LC_CTYPE", "TZ", "SYSTEMROOT", "SYSTEMDRIVE",
              "WINDIR", "LD_LIBRARY_PATH", "PYTHONHOME", *OWN_TABLES.values())  # fmt: skip
_NO_MEMORY = (b"memory allocation of", b"bad_alloc", b"MemoryError", b"out of memory")


class LastWord(TypedDict, total=False):
    """The last that the process said: that the pack is made, or the code and detail of what failed."""

    done: bool
    failed: str
    detail: str


class Source(Protocol):
    """What the process asks for."""

    def entries(self) -> Iterator[tuple[str, str | None]]:
        """Yield the text of each entry of the job, and of the reasons why it stands aside."""

    def photo_rows(self, hashes: Iterable[str]) -> list[dict[str, object]]:
        """Return the rows of those photos that are here."""

    def photo_file(self, sha256: str, folder: Path) -> Path | None:
        """Return a file that holds a photo; one that had to be fetched lies in ``folder``."""


@dataclasses.dataclass(frozen=True)
class Task:
    """A pack to be made: of what, where, and whom to tell.  ``closing``: the server is about to end."""

    job_id: str
    part: Path
    folder: Path
    progress: Callable[[int, int, str], None]
    closing: threading.Event


class Watch(threading.Thread):
    """Ends a process that passes its budget, and remembers which part of it."""

    def __init__(self, process: "subprocess.Popen[bytes]", task: Task, budget: Budget) -> None:
        super().__init__(name="pack-watch", daemon=True)
        self._process, self._task, self._budget = process, task, budget
        self._over = threading.Event()
        self.fault: str | None = None

    def run(self) -> None:
        """Look now and then until the process is gone."""
        end_s, looks = timesource.monotonic_s() + self._budget.seconds, 0
        while not self._over.wait(LOOK_S):
            looks += 1
            self.fault = self._fault(end_s) or (self._fault_on_disk() if looks % DISK_LOOK == 0 else None)
            if self.fault:
                end(self._process)
                return

    def stop(self) -> None:
        """Look no more."""
        self._over.set()
        self.join()

    def _fault(self, end_s: float) -> str | None:
        if self._task.closing.is_set():
            return "busy"
        if timesource.monotonic_s() > end_s:
            return "pack_time"
        if (resident_bytes(self._process.pid) or 0) > self._budget.memory_bytes:
            return "pack_memory"
        return None

    def _fault_on_disk(self) -> str | None:
        with suppress(OSError):
            if _size_of(self._task) > self._budget.size_bytes:
                return "pack_size"
            if shutil.disk_usage(self._task.folder).free < LEFT_FREE_BYTES:
                return "pack_disk_full"
        return None


def make(task: Task, source: Source, budget: Budget) -> None:
    """Make a pack in a process of its own; AppError with what was in its way."""
    errors = task.folder / "errors.txt"
    with errors.open("wb") as errors_out:
        process = _start(task.folder, errors_out)
    watch = Watch(process, task, budget)
    last: LastWord = {}
    try:
        watch.start()
        _feed(process, task, source, budget)
        last = _talk(process, task, source)
    finally:
        watch.stop()
        end(process)
    if last.get("done"):
        return
    if task.closing.is_set():
        raise AppError("busy")
    raise _fault(watch.fault, last, process.returncode, _end_of(errors), budget)


def end(process: "subprocess.Popen[bytes]") -> None:
    """End a process and all that it started, kindly first."""
    _signal(process, getattr(signal, "SIGTERM", None))
    with suppress(subprocess.TimeoutExpired):
        process.wait(TERM_S if process.poll() is None else 0)
    _signal(process, getattr(signal, "SIGKILL", None))
    process.wait()
    for pipe in (process.stdin, process.stdout):
        with suppress(OSError, ValueError):
            if pipe:
                pipe.close()


def _signal(process: "subprocess.Popen[bytes]", number: int | None) -> None:
    if os.name == "nt" or number is None:
        process.kill()
        return
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(process.pid, number)


def _start(folder: Path, errors_out: IO[bytes]) -> "subprocess.Popen[bytes]":
    env = {name: os.environ[name] for name in _PASSED_ON if name in os.environ}
    here = [str(paths.PACKAGE.parent), *filter(None, [os.environ.get("PYTHONPATH")])]
    env |= {"PYTHONPATH": os.pathsep.join(here), "PYTHONIOENCODING": "utf-8", "PYTHONUTF8": "1"}
    env |= dict.fromkeys(("TMPDIR", "TEMP", "TMP"), str(folder))
    return subprocess.Popen(  # noqa: S603
        [sys.executable, "-P", "-m", MODULE],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=errors_out,
        cwd=folder,
        env=env,
        start_new_session=True,
    )


def _feed(process: "subprocess.Popen[bytes]", task: Task, source: Source, budget: Budget) -> None:
    words = {"job_id": task.job_id, "part": str(task.part), "parent": os.getpid()}
    with suppress(BrokenPipeError):  # it has ended; what it printed says why
        _send(process, words | dataclasses.asdict(budget))
        for entry in source.entries():
            _send(process, entry)
        if process.stdin:
            process.stdin.write(b"\n")
            process.stdin.flush()


def _send(process: "subprocess.Popen[bytes]", value: Any) -> None:
    if process.stdin:
        process.stdin.write(json.dumps(value).encode() + b"\n")


def _talk(process: "subprocess.Popen[bytes]", task: Task, source: Source) -> LastWord:
    """Answer the process and return the last that it said; nothing where it ended without a word."""
    while process.stdout and (line := process.stdout.readline(_LINE_BYTES)):
        message = json.loads(line)
        if "done" in message or "failed" in message:
            return cast(LastWord, message)
        if "progress" in message:
            task.progress(*message["progress"])
            continue
        if "photo_rows" in message:
            answer: Any = source.photo_rows(message["photo_rows"])
        else:
            found = source.photo_file(message["photo"], task.folder)
            answer = None if found is None else str(found)
        with suppress(BrokenPipeError):
            _send(process, answer)
            if process.stdin:
                process.stdin.flush()
    return {}


def _fault(seen: str | None, last: LastWord, returned: int, printed: bytes, budget: Budget) -> AppError:
    code, detail = seen or last.get("failed"), "" if seen else str(last.get("detail", ""))
    if code is None:
        code = "pack_memory" if any(words in printed for words in _NO_MEMORY) else "pack_ended"
        if returned == -getattr(signal, "SIGXCPU", 0):
            code = "pack_time"
    if printed:
        parts = {"code": code, "returned": returned, "printed": printed.decode(errors="replace")}
        LOG.error("pack failed", extra={"parts": parts})
    most = {
        "pack_memory": ("FALLBOOK_PACK_MEMORY_MB", f"{budget.memory_bytes // 1024**2:,} MB"),
        "pack_time": ("FALLBOOK_PACK_SECONDS", f"{budget.seconds:,.0f} s"),
        "pack_size": ("FALLBOOK_PACK_SIZE_MB", f"{budget.size_bytes // 1024**2:,} MB"),
    }
    if code in most:
        detail = t("api.pack_limit", setting=most[code][0], limit=most[code][1])
    return AppError(code, detail)


def _size_of(task: Task) -> int:
    scratch = sum(f.stat().st_size for f in task.folder.rglob("*") if f.is_file())
    return max(scratch, task.part.stat().st_size if task.part.exists() else 0)


def _end_of(path: Path) -> bytes:
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - _PRINTED_BYTES))
        return file.read()

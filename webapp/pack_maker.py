"""The process that makes one pack for the server: ``python -m webapp.pack_maker``.

It is told everything through its standard input and knows nothing else: no database, no credentials. One
JSON text a line.

    in   the task (Task), a line for each entry: [body, why it stands aside or null], an empty line
    out  {"photo_rows": [sha256]}, {"photo": sha256}: questions; the answer is the next line in
         {"progress": [done, total, step]}
         {"done": true} or {"failed": code, "detail": text}: the last line
"""

import errno
import json
import os
import queue
import sys
import threading
import traceback
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from . import job_pack
from .errors import AppError
from .process_limits import Budget, end_group, end_with, limit
from .records import job_file as job_files
from .records.collector import paused

FULL = (errno.ENOSPC, errno.EDQUOT)
_AHEAD = 1000
# What stands in many entries, held once: a tenth of their memory.
_REPEATED = {"job_id", "writer", "device_id", "kind", "recorded_at"}
Build = Callable[..., Any]


@dataclass(frozen=True)
class Task:
    """What is to be made, where it is written, and within which limits."""

    job_id: str
    part: str
    parent: int
    memory_bytes: int
    seconds: float
    size_bytes: int


class Parent:
    """The server at the other end of the pipes.  When it is gone, so is this process."""

    def __init__(self, lines_in: BinaryIO, lines_out: BinaryIO) -> None:
        self._in, self._out = lines_in, lines_out
        self._lines: queue.Queue[bytes] = queue.Queue(_AHEAD)
        threading.Thread(target=self._read, name="parent", daemon=True).start()

    def _read(self) -> None:
        for line in self._in:
            self._lines.put(line)
        end_group()

    def line(self) -> bytes:
        """Return the next line, without its end."""
        return self._lines.get().rstrip(b"\n")

    def tell(self, **what: Any) -> None:
        """Send one line."""
        self._out.write(json.dumps(what).encode() + b"\n")
        self._out.flush()

    def ask(self, **what: Any) -> Any:
        """Send a question and return its answer."""
        self.tell(**what)
        return json.loads(self.line())

    def photo_bytes(self, sha256: str) -> bytes | None:
        """Return a photo's bytes, or None if the server has it not."""
        where = self.ask(photo=sha256)
        try:
            return None if where is None else Path(where).read_bytes()
        except FileNotFoundError:
            return None


def main(build: Build = job_pack.build_stored) -> None:
    """Make one pack and say how it went."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints is no line of ours
    parent = Parent(sys.stdin.buffer, out)
    task = Task(**json.loads(parent.line()))
    end_with(task.parent)
    limit(Budget(task.memory_bytes, task.seconds, task.size_bytes))
    try:
        _make(task, parent, build)
        last: dict[str, Any] = {"done": True}
    except AppError as error:
        last = {"failed": error.code, "detail": error.detail}
    except MemoryError:
        last = {"failed": "pack_memory", "detail": ""}
    except OSError as error:
        last = {"failed": _code_of(error), "detail": ""}
        traceback.print_exc()
    except Exception:
        last = {"failed": "report_failed", "detail": ""}
        traceback.print_exc()
    with suppress(OSError):
        parent.tell(**last)
    sys.stderr.flush()
    os._exit(0)  # nothing is left to tidy up: what was written is told, and the folder is the server's


def _make(task: Task, parent: Parent, build: Build) -> None:
    with open(task.part, "wb") as file:
        # Nobody but ``build`` holds the job, so that it can let go of it.
        build(_stored_job(task, parent), parent.photo_bytes, file, lambda *at: parent.tell(progress=at))


def _stored_job(task: Task, parent: Parent) -> job_files.StoredJob:
    entries, aside = [], {}
    one_each: dict[str, str] = {}

    def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
        return {n: one_each.setdefault(v, v) if n in _REPEATED and type(v) is str else v for n, v in found}

    with paused():
        while line := parent.line():
            body, reasons = json.loads(line)
            entry = json.loads(body, object_pairs_hook=pairs)
            entries.append(entry)
            if reasons is not None:
                aside[f"{entry['writer']}:{entry['number']}"] = json.loads(reasons)
    if not entries:
        raise AppError("job_not_found")
    rows = parent.ask(photo_rows=job_files.photo_hashes(entries, aside))
    return job_files.StoredJob(task.job_id, entries, aside, rows)


def _code_of(error: OSError) -> str:
    if error.errno in FULL:
        return "pack_disk_full"
    if error.errno == errno.ENOMEM:
        return "pack_memory"
    return "pack_size" if error.errno == errno.EFBIG else "report_failed"


if __name__ == "__main__":
    main()

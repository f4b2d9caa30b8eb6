"""Packs are made one after another in one background thread, so that a request never waits for one."""

import contextlib
import os
import re
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, BinaryIO

from . import timesource
from .errors import AppError
from .log import LOG

KEPT_PACKS = 20
PACK_ID = re.compile(r"[0-9a-f-]{36}")
Progress = Callable[[int, int, str], None]
Make = Callable[[BinaryIO, Progress], Any]


@dataclass
class PackState:
    """How far a pack is: waiting, making, done or failed."""

    pack_id: str
    job_id: str
    state: str = "waiting"
    done: int = 0
    total: int = 1
    step: str = "Waiting"
    message: str = ""
    code: str | None = None

    def as_json(self) -> dict[str, Any]:
        """Return what the API says of it."""
        return {"ok": True, **asdict(self)}


class Packing:
    """The packs of one data folder.  Those of an earlier run of the server are thrown away."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "packs"
        self._packs: dict[str, PackState] = {}
        self._guard = threading.Lock()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="packing")
        self._closing = False

    def start(self, job_id: str, make: Make) -> PackState:
        """Put a pack in the queue."""
        state = PackState(timesource.new_id(), job_id)
        with self._guard:
            self._packs[state.pack_id] = state
            for old in list(self._packs)[:-KEPT_PACKS]:
                if self._packs[old].state in ("done", "failed"):
                    del self._packs[old]
                    self.path(old).unlink(missing_ok=True)
        self._thread.submit(self._run, state, make)
        return state

    def find(self, pack_id: str) -> PackState:
        """Return the state of a pack."""
        with self._guard:
            if pack_id not in self._packs:
                raise AppError("pack_not_found")
            return self._packs[pack_id]

    def path(self, pack_id: str) -> Path:
        """Return where a pack's file lies."""
        if not PACK_ID.fullmatch(pack_id):
            raise AppError("pack_not_found")
        return self._folder / f"{pack_id}.zip"

    def close(self) -> None:
        """Stop after the pack that is being made."""
        self._closing = True
        self._thread.shutdown(wait=True, cancel_futures=True)

    def _run(self, state: PackState, make: Make) -> None:
        path, part = self.path(state.pack_id), self._folder / f"{state.pack_id}.part"

        def progress(done: int, total: int, step: str) -> None:
            if self._closing:
                raise AppError("busy")
            state.done, state.total, state.step = done, total, step

        state.state, state.step = "making", "Reading the job"
        try:
            with part.open("wb") as out:
                make(out, progress)
            os.replace(part, path)
            state.done, state.step, state.state = state.total, "Ready", "done"
        except AppError as error:
            state.code, state.message, state.state = error.code, error.sentence, "failed"
        except Exception:
            LOG.exception("pack failed", extra={"parts": {"job_id": state.job_id}})
            fault = AppError("report_failed")
            state.code, state.message, state.state = fault.code, fault.sentence, "failed"
        finally:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)

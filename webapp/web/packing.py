"""Packs are made one after another, each in a process of its own, so that no request waits for one."""

import contextlib
import errno
import os
import re
import shutil
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from .. import timesource
from ..errors import AppError
from ..messages import t
from . import pack_states
from .log import LOG
from .pack_process import Task
from .pack_states import PackState

KEPT_PACKS = 20
USED = ".used"  # what the file beside a pack ends in whose time says when it was last fetched
PACK_ID = re.compile(r"[0-9a-f-]{36}")
Make = Callable[[Task], None]


class Packing:
    """The packs of one data folder.  Those of an earlier run of the server are thrown away."""

    def __init__(self, folder: Path, *, shared: bool = False) -> None:
        """``shared``: other processes are asked about the packs of this one."""
        self._folder, self._shared = folder / "packs", shared
        self._packs: dict[str, PackState] = {}
        self._guard = threading.Lock()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="packing")
        self._closing = threading.Event()

    def start(self, job_id: str, make: Make) -> PackState:
        """Put a pack in the queue."""
        state = PackState(timesource.new_id(), job_id)
        with self._guard:
            self._packs[state.pack_id] = state
            for old in list(self._packs)[:-KEPT_PACKS]:
                if self._packs[old].state in ("done", "failed"):
                    del self._packs[old]
                    self.path(old).unlink(missing_ok=True)
                    self._state_path(old).unlink(missing_ok=True)
                    self.path(old).with_suffix(USED).unlink(missing_ok=True)
        self._tell(state)
        self._thread.submit(self._run, state, make)
        return state

    def find(self, pack_id: str) -> PackState:
        """Return the state of a pack."""
        with self._guard:
            if pack_id in self._packs:
                return self._packs[pack_id]
        return pack_states.read(self._state_path(pack_id))

    def path(self, pack_id: str) -> Path:
        """Return where a pack's file lies."""
        if not PACK_ID.fullmatch(pack_id):
            raise AppError("pack_not_found")
        return self._folder / f"{pack_id}.zip"

    def note_use(self, pack_id: str) -> None:
        """Note that a pack is being fetched, for its age counts from then."""
        used, now_s = self.path(pack_id).with_suffix(USED), timesource.now_utc().timestamp()
        with contextlib.suppress(OSError):  # a full disk keeps nobody from fetching
            used.touch(mode=0o600)
            os.utime(used, (now_s, now_s))

    def _state_path(self, pack_id: str) -> Path:
        return self.path(pack_id).with_suffix(".state")

    def _tell(self, state: PackState) -> None:
        if self._shared:
            pack_states.write(self._state_path(state.pack_id), state)

    def close(self) -> None:
        """Stop the pack that is being made, and make none after it."""
        self._closing.set()
        self._thread.shutdown(wait=True, cancel_futures=True)

    def _run(self, state: PackState, make: Make) -> None:
        path = self.path(state.pack_id)
        part, folder = path.with_suffix(".part"), path.with_suffix(".work")

        def progress(done: int, total: int, step: str) -> None:
            if self._closing.is_set():
                raise AppError("busy")
            state.done, state.total, state.step = done, total, step
            self._tell(state)

        state.state, state.step = "making", t("pack.step_reading")
        self._tell(state)
        fault = None
        try:
            folder.mkdir(mode=0o700)
            make(Task(state.job_id, part, folder, progress, self._closing))
            os.replace(part, path)
        except AppError as error:
            fault = error
        except Exception as error:
            full = isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT)
            LOG.exception("pack failed", extra={"parts": {"job_id": state.job_id}})
            fault = AppError("pack_disk_full" if full else "report_failed")
        finally:
            with contextlib.suppress(OSError):  # before anybody is told how it went
                shutil.rmtree(folder, ignore_errors=True)
                part.unlink(missing_ok=True)
        if fault is None:
            state.done, state.step, state.state = state.total, t("pack.step_ready"), "done"
        else:
            state.code, state.message, state.state = fault.code, fault.sentence, "failed"
        self._tell(state)

"""One request at a time for each photo, among the processes of a server too."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ..store.filelock import alone


class PhotoTurns:
    """The turns of requests that bring, prove or drop photos."""

    def __init__(self, folder: Path, shared: bool) -> None:
        """``shared``: other processes take pieces of photos too."""
        self._folder, self._shared = folder, shared
        self._guard = threading.Lock()
        self._locks: dict[str, tuple[threading.Lock, int]] = {}

    @contextmanager
    def one(self, sha256: str) -> Iterator[None]:
        """Wait for the turn at a photo; the lock goes when nobody waits for it."""
        with self._guard:
            lock, users = self._locks.get(sha256, (threading.Lock(), 0))
            self._locks[sha256] = (lock, users + 1)
        try:
            with lock, self._among_processes(sha256):
                yield
        finally:
            with self._guard:
                users = self._locks[sha256][1] - 1
                if users:
                    self._locks[sha256] = (lock, users)
                else:
                    del self._locks[sha256]

    @contextmanager
    def _among_processes(self, sha256: str) -> Iterator[None]:
        if not self._shared:
            yield
            return
        turns = self._folder / "turns"
        turns.mkdir(mode=0o700, exist_ok=True)
        with alone(turns / sha256[:2]):
            yield

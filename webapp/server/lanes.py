"""Threads in lanes: what phones send has threads of its own, and no sender fills a lane.

A request waits in the queue of its lane until a thread is free and its sender has fewer than ``of_one`` under
way.  Senders are told apart by what they show (cookie or token), good or not.  Who shows nothing is not held
up: nothing much is done for him, unless this machine is open to itself.
"""

import re
from collections import Counter, deque
from dataclasses import dataclass
from typing import Any

from waitress.task import ThreadedTaskDispatcher  # type: ignore[import-untyped]

from ..access.who import CLIENT_COOKIE, DEVICE_COOKIE


@dataclass(frozen=True)
class Lane:
    """So many threads, and so many requests of one sender at once."""

    threads: int
    of_one: int


LANES = {
    "phones": Lane(8, 3),  # entries and photos
    "app": Lane(4, 4),  # the app itself, which every phone loads first
    "office": Lane(3, 2),  # pages, job files, imports
    "guests": Lane(2, 1),  # the same for clients and scripts
}
_PHONES = re.compile(r"/(api/(sync|photos|declination)|media/photos)(/|\Z)")
_APP = re.compile(r"/(\Z|static/|tables/|healthz|api/(me|join|client-links/open|openapi\.json)|[a-z.-]+\Z)")


def lane_of(path: str, sender: str) -> str:
    """Return the lane of a request."""
    guest = sender.startswith(("client ", "bearer "))
    if _PHONES.match(path) and not sender.startswith("client "):
        return "phones"
    if _APP.match(path) and not path.startswith("/office"):
        return "app"
    return "guests" if guest else "office"


def sender_of(headers: dict[str, str]) -> str:
    """Return what tells the sender of a request from others; empty where it shows nothing."""
    if token := headers.get("AUTHORIZATION", ""):
        return f"bearer {token}"
    for name, kind in ((DEVICE_COOKIE, "device"), (CLIENT_COOKIE, "client")):
        if found := re.search(rf"(?:^|[;\s]){name}=([^;]*)", headers.get("COOKIE", "")):
            return f"{kind} {found[1]}"
    return ""


class _Queue(ThreadedTaskDispatcher):  # type: ignore[misc]
    """The threads of one lane."""

    def __init__(self, lane: Lane) -> None:
        super().__init__()
        self._lane = lane
        self._busy: Counter[str] = Counter()
        self.queue: deque[tuple[str, Any]] = deque()
        self.set_thread_count(lane.threads)

    def put(self, sender: str, task: Any) -> None:
        """Queue a request."""
        with self.lock:
            self.queue.append((sender, task))
            self.queue_cv.notify()

    def handler_thread(self, thread_no: int) -> None:
        """Serve whoever is next and has not enough under way, until told to stop."""
        while True:
            with self.lock:
                while (found := self._next()) is None and self.stop_count == 0:
                    self.active_count -= 1
                    self.queue_cv.wait()
                    self.active_count += 1
                if found is None:
                    self.active_count -= 1
                    self.stop_count -= 1
                    self.threads.discard(thread_no)
                    self.thread_exit_cv.notify()
                    return
                sender, task = found
                self._busy[sender] += 1
            try:
                task.service()
            except BaseException:
                self.logger.exception("Exception when servicing %r", task)
            finally:
                with self.lock:
                    self._busy -= Counter([sender])
                    self.queue_cv.notify()

    def _next(self) -> tuple[str, Any] | None:
        if self.stop_count:
            return None
        for index, (sender, _) in enumerate(self.queue):
            if not sender or self._busy[sender] < self._lane.of_one:
                found = self.queue[index]
                del self.queue[index]
                return found
        return None


class Lanes:
    """All lanes of a server, in place of waitress's one queue."""

    def __init__(self) -> None:
        self._queues = {name: _Queue(lane) for name, lane in LANES.items()}

    def add_task(self, channel: Any) -> None:
        """Queue the request that is first in a connection."""
        request = channel.requests[0]
        sender = sender_of(request.headers)
        path = getattr(request, "path", "")
        self._queues[lane_of(path, sender)].put(sender, channel)

    @property
    def queue(self) -> int:
        """Return how many requests wait."""
        return sum(len(one.queue) for one in self._queues.values())

    @property
    def active_count(self) -> int:
        """Return how many are served."""
        return sum(one.active_count for one in self._queues.values())

    def shutdown(self, cancel_pending: bool = True, timeout: float = 5) -> bool:
        """End all threads."""
        for one in self._queues.values():
            with one.lock:
                waiting = [task for _, task in one.queue]
                one.queue.clear()
            for task in waiting if cancel_pending else ():
                task.cancel()
        ended = [one.shutdown(cancel_pending, timeout) for one in self._queues.values()]
        return all(ended)

"""Connections that are slow or idle, and bodies that nobody may send, kept from those who work.

A connection that has not sent a whole head, or that sends a body ever more slowly, is closed.  Where there
are many, those that say nothing are closed sooner, and for a new one the one goes that was silent longest.  A
body that is too long, or for which no credential was shown, is refused as soon as its head is there.
"""

import contextlib
import functools
import io
import json
import socket
from typing import Any

from waitress.channel import HTTPChannel  # type: ignore[import-untyped]
from waitress.parser import HTTPRequestParser  # type: ignore[import-untyped]
from waitress.server import TcpWSGIServer  # type: ignore[import-untyped]
from waitress.task import ErrorTask, WSGITask  # type: ignore[import-untyped]

from .. import timesource
from ..errors import AppError
from ..web.admission import KEY, Admission
from ..web.headers import ALWAYS

HEAD_S = 15.0  # for a whole head
BODY_IDLE_S = 30.0
BODY_EASY_S = 60.0  # from then on a body comes at least this fast
BODY_BYTES_S = 200.0
IDLE_S = 120.0
CROWD = 150  # connections from which on silence is short
CROWD_S = 5.0
MAX_CONNECTIONS = 600
PAUSE_S = 10.0  # without a look at them: this process stood still, and nobody is closed for that
FILES = 4096
ASKED_FROM_BYTES = 256 * 1024  # a shorter body stays in memory until the application refuses it
DRAINED_BYTES = 64_000_000  # of a refused body: read and forgotten, so that its sender can read why


def allow_many_files() -> None:
    """Let this process open as many connections as it may have: behind TLS each is two more."""
    try:
        import resource  # not on Windows, where there is no such limit
    except ImportError:
        return
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    most = FILES if hard == resource.RLIM_INFINITY else min(FILES, hard)
    if soft != resource.RLIM_INFINITY and soft < most:
        resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))


class _Nothing:
    """Where a refused body goes: a phone that is sending reads its answer only afterwards."""

    def append(self, data: bytes) -> None:
        """Forget the bytes."""

    def __len__(self) -> int:
        return 0

    def getfile(self) -> io.BytesIO:
        """Return an empty body."""
        return io.BytesIO()

    def close(self) -> None:
        """Nothing is open."""


class Request(HTTPRequestParser):  # type: ignore[misc]
    """One request as it arrives."""

    refusal: AppError | None = None
    chunked: bool
    content_length: int
    body_rcv: Any

    def __init__(self, adj: Any, channel: Any = None) -> None:
        super().__init__(adj)
        self._channel, self.begun_s = channel, timesource.monotonic_s()
        self._most = int(adj.max_request_body_size)

    def parse_header(self, header_plus: bytes) -> None:
        """Read the head, and ask at once whether its body may come."""
        super().parse_header(header_plus)
        if self._channel is None or not (self.chunked or self.content_length > ASKED_FROM_BYTES):
            return
        admission = self._ask()
        self._most = admission.most_bytes
        if admission.refusal is None and self.content_length > self._most:
            admission.refusal = AppError("body_too_large")
        if admission.refusal is not None:
            self._refuse(admission.refusal)

    def received(self, data: bytes) -> int:
        """Take bytes; a body of unknown length is refused where it gets too long."""
        taken: int = super().received(data)
        if self.chunked and self.refusal is None and self.body_bytes_received > self._most:
            self._refuse(AppError("body_too_large"), drain=False)
            self.completed = True
        return taken

    def _ask(self) -> Admission:
        environ = WSGITask(self._channel, self).get_environment()
        environ[KEY] = admission = Admission(self.adj.max_request_body_size)
        ended = self._channel.server.application(environ, lambda *_: None)
        if hasattr(ended, "close"):
            ended.close()
        return admission

    def _refuse(self, error: AppError, *, drain: bool = True) -> None:
        self.refusal, self.error = error, Refused(error.kind.status)
        self.connection_close, self.expect_continue = True, False
        if drain and not self.chunked and self.content_length <= DRAINED_BYTES:
            self.body_rcv.buf = _Nothing()
        else:
            self.body_rcv, self.content_length, self.chunked = None, 0, False


UNKNOWN_ENCODING = 501  # what waitress says of a transfer encoding that is none of its own


class Refused:
    """What waitress asks of an error."""

    def __init__(self, code: int) -> None:
        self.code = code


class RefusalTask(ErrorTask):  # type: ignore[misc]
    """A request that is refused before the application sees it gets the one error shape too."""

    def execute(self) -> None:
        """Write the answer."""
        code = "body_too_large" if self.request.error.code == 413 else "request_malformed"
        error = getattr(self.request, "refusal", None)
        of_the_sender = self.request.error.code < 500 or self.request.error.code == UNKNOWN_ENCODING
        error = error or AppError(code if of_the_sender else "server_fault")
        body = json.dumps(error.as_json()).encode()
        self.status = f"{error.kind.status} Refused"
        self.response_headers.extend([*ALWAYS.items(), ("Content-Type", "application/json")])
        self.response_headers.extend([("Content-Length", str(len(body))), ("Connection", "close")])
        self.close_on_finish = True
        self.content_length = len(body)
        self.write(body)


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection whose refusals are JSON, and which knows when it is too slow."""

    error_task_class = RefusalTask

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.parser_class = functools.partial(Request, channel=self)
        self.moved_s = timesource.monotonic_s()

    def handle_read(self) -> None:
        """Take what came."""
        self.moved_s = timesource.monotonic_s()
        super().handle_read()

    def _flush_some(self, do_close: bool = True) -> bool:
        # The thread that answers sends too, not only the loop.
        moved: bool = super()._flush_some(do_close)
        if moved:
            self.moved_s = timesource.monotonic_s()
        return moved

    @property
    def silent_s(self) -> float:
        """Return for how long nothing came or went."""
        return timesource.monotonic_s() - self.moved_s

    @property
    def at_work(self) -> bool:
        """Say whether a request is served or an answer is on its way."""
        return bool(self.requests or self.total_outbufs_len)

    def is_too_slow(self, crowded: bool) -> bool:
        """Say whether the connection is to be closed."""
        if self.requests:
            return False
        request = self.request
        if self.total_outbufs_len or request is None:
            idle_s = CROWD_S if crowded and not self.total_outbufs_len else IDLE_S
            return self.silent_s > idle_s
        since_s = timesource.monotonic_s() - request.begun_s
        if not request.headers_finished:
            return bool(since_s > (CROWD_S if crowded else HEAD_S))
        owed_bytes = (since_s - BODY_EASY_S) * BODY_BYTES_S
        return bool(self.silent_s > BODY_IDLE_S or request.body_bytes_received < owed_bytes)

    def end(self) -> None:
        """Let the loop close the connection, also where nothing of an answer is taken any more."""
        self.will_close = True
        if self.total_outbufs_len:  # the loop would wait until there is room for it
            with contextlib.suppress(OSError):
                self.socket.shutdown(socket.SHUT_RDWR)


class Server(TcpWSGIServer):  # type: ignore[misc]
    """The listener."""

    channel_class = Channel
    looked_s = 0.0

    def maintenance(self, now: float) -> None:
        """Close what is too slow; called every other second."""
        before_s, self.looked_s = self.looked_s, timesource.monotonic_s()
        if self.looked_s - before_s > PAUSE_S:
            return
        channels = list(self.active_channels.values())
        for channel in channels:
            if channel.is_too_slow(len(channels) > CROWD):
                channel.end()

    def handle_accept(self) -> None:
        """Let somebody in; where it is full, the one goes who was silent longest."""
        channels = self.active_channels
        if len(channels) >= MAX_CONNECTIONS:
            idle = [channel for channel in channels.values() if not channel.at_work]
            if idle:
                min(idle, key=lambda channel: channel.moved_s).handle_close()
        super().handle_accept()

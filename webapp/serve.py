"""The server: waitress, stopped without cutting off a request."""

import gc
import ipaddress
import json
import signal
import socket
import threading
import time
from collections.abc import Callable
from typing import Any

from waitress.channel import HTTPChannel  # type: ignore[import-untyped]
from waitress.server import create_server  # type: ignore[import-untyped]
from waitress.task import ErrorTask  # type: ignore[import-untyped]

from . import addresses
from .errors import AppError
from .lan.listening import not_listening
from .lan.relay import Relay
from .messages import t
from .web import shell
from .web.headers import ALWAYS

THREADS = 8
GRACE_S = 15.0
TICK_S = 30.0
# Above anything a route takes: the routes refuse by their own limits, in the one error shape.
_MAX_BODY_BYTES = 2 * 1024 * 1024 * 1024


class JsonErrorTask(ErrorTask):  # type: ignore[misc]
    """A request that waitress refuses before the application sees it gets the one error shape too."""

    def execute(self) -> None:
        """Write the answer."""
        code = "body_too_large" if self.request.error.code == 413 else "request_malformed"
        error = AppError(code if self.request.error.code < 500 else "server_fault")
        body = json.dumps(error.as_json()).encode()
        self.status = f"{error.kind.status} Refused"
        self.response_headers.extend([*ALWAYS.items(), ("Content-Type", "application/json")])
        self.response_headers.extend([("Content-Length", str(len(body))), ("Connection", "close")])
        self.close_on_finish = True
        self.content_length = len(body)
        self.write(body)


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection whose refusals are JSON."""

    error_task_class = JsonErrorTask


def check_host(host: str, access: bool = False) -> str:
    """Return the host if only this machine can reach it, or if whoever comes needs a credential."""
    if host == "localhost":
        return "127.0.0.1"
    try:
        if access or ipaddress.ip_address(host).is_loopback:
            return _name_to_listen_at(host)
    except ValueError:
        pass
    raise AppError("address_open", t("setting.host_loopback", host=host))


def _name_to_listen_at(host: str) -> str:
    try:
        return str(ipaddress.ip_address(host))
    except ValueError:
        pass
    try:
        return addresses.host_name(host).strip("[]")
    except addresses.NoAddress as why:
        raise AppError("address_unusable", t("setting.host_option", why=why)) from why


def make(app: Any, host: str, port: int, *, scheme: str = "http", forwarded: bool = False) -> Any:
    """Return the listening server; AppError ``address_taken`` where something else listens there.

    ``forwarded``: the application sees what a proxy says of itself: to believe it (setting FALLBOOK_PROXIES),
    or, where it is open to this machine, to turn it away.
    """
    listener = _listen(host, port)
    # What is loaded by now stays: no collection of garbage needs to look through it during a request.
    gc.collect()
    gc.freeze()
    try:
        server: Any = create_server(
            app,
            sockets=[listener],
            threads=THREADS,
            ident=None,
            url_scheme=scheme,
            channel_timeout=120,
            recv_bytes=128 * 1024,  # a piece of a photo in few reads; 8 kB at a time is the default
            max_request_body_size=_MAX_BODY_BYTES,
            asyncore_use_poll=True,
            clear_untrusted_proxy_headers=not forwarded,
        )
    except BaseException:
        listener.close()
        raise
    server.channel_class = Channel
    return server


def _listen(host: str, port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    try:
        # A port of a dead server may be taken again; on Windows it may anyway, by two at once if not told.
        alone = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR if alone is None else alone, 1)
        listener.bind((host, port))
    except (OSError, OverflowError) as error:
        listener.close()
        raise not_listening(error, host, port) from error
    return listener


def run(servers: list[Any], relay: Relay | None = None, tick: Callable[[], None] | None = None) -> None:
    """Serve until SIGTERM or SIGINT, then finish what is under way.  ``tick`` is called now and then."""
    stop = threading.Event()
    for name in ("SIGINT", "SIGTERM", "SIGBREAK"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), lambda *_: stop.set())
    runners = [threading.Thread(target=s.run, name="waitress", daemon=True) for s in servers]
    for runner in (*runners, threading.Thread(target=shell.pack, name="pack", daemon=True)):
        runner.start()
    next_s = time.monotonic() + TICK_S
    while all(r.is_alive() for r in runners) and not stop.wait(0.5):  # a timed wait: Ctrl-C works on Windows
        if tick and time.monotonic() > next_s:
            tick()
            next_s = time.monotonic() + TICK_S
    end_s = time.monotonic() + GRACE_S
    if relay:
        relay.no_more()
    for server in servers:
        _drain(server, end_s)
    if relay:
        relay.finish(end_s - time.monotonic())
    for server in servers:
        server.close()


def _drain(server: Any, end_s: float) -> None:
    tasks = server.task_dispatcher
    while time.monotonic() < end_s and (tasks.active_count or tasks.queue or _under_way(server)):
        time.sleep(0.02)
    for channel in list(server.active_channels.values()):
        channel.will_close = True  # idle keep-alive connections
    server.pull_trigger()


def _under_way(server: Any) -> bool:
    """Say whether a request is still arriving, waits for its turn, or has an answer that is not out yet."""
    channels = list(server.active_channels.values())
    return any(c.request is not None or c.requests or c.total_outbufs_len for c in channels)


def address(server: Any) -> str:
    """Return where the server can be opened."""
    host = str(server.effective_host)
    return f"http://{f'[{host}]' if ':' in host else host}:{server.effective_port}/"

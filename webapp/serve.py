"""The server: waitress, stopped without cutting off a request."""

import gc
import ipaddress
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

from waitress.adjustments import Adjustments  # type: ignore[import-untyped]

from . import addresses
from .budgets import BUDGETS
from .errors import AppError
from .lan.listening import not_listening
from .lan.relay import Relay
from .messages import t
from .server.connections import MAX_CONNECTIONS, Server, allow_many_files
from .server.lanes import Lanes
from .web import shell

GRACE_S = 15.0
TICK_S = 30.0
SWITCH_S = 0.001  # a phone's short request comes between the steps of a long one


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
        adjustments = Adjustments(
            sockets=[listener],
            ident=None,
            url_scheme=scheme,
            recv_bytes=128 * 1024,  # a piece of a photo in few reads; 8 kB at a time is the default
            max_request_body_size=BUDGETS.import_bytes + 1,
            inbuf_overflow=2
            * BUDGETS.other_request_bytes,  # no file is made for a body that nobody asked about
            asyncore_use_poll=True,
            connection_limit=2 * MAX_CONNECTIONS,  # never reached: somebody silent goes before
            cleanup_interval=2,
            clear_untrusted_proxy_headers=not forwarded,
        )
        # What waitress's create_server does, with threads in lanes.
        server = Server(
            app,
            {},
            dispatcher=Lanes(),
            adj=adjustments,
            sockinfo=(listener.family, listener.type, listener.proto, listener.getsockname()),
            _sock=listener,
            bind_socket=False,
        )
    except BaseException:
        listener.close()
        raise
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
    sys.setswitchinterval(SWITCH_S)
    allow_many_files()
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

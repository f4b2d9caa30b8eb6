"""TLS in, plain HTTP on to the server in the same process.

waitress reads a whole request in its own loop before a thread sees it, so that a phone which stalls half-way
through an upload holds no thread; but it has no TLS.  asyncio has TLS, with a handshake that times out and
never holds up the others.  The relay copies bytes and does not look at HTTP.  The server sees every
connection come from the relay: ``peers`` says whose it is, by the port that the relay speaks from.

A connection that says nothing costs the server nothing: it is handed on with its first byte, and given up
where none comes.  Where it is full, the one goes that was silent longest.
"""

import asyncio
import contextlib
import ssl
import threading
from collections import Counter
from collections.abc import Callable
from typing import Any

from .. import timesource
from .listening import not_listening

MAX_CONNECTIONS = 400
MAX_OF_ONE = 60
AT_WORK_S = 2.0  # bytes went as lately as this: nobody takes its place
IDLE_S = 180.0
FIRST_BYTE_S = 30.0
HANDSHAKE_S = 10.0
_BLOCK_BYTES = 1 << 18


class Relay:
    """A listener with TLS in a thread of its own."""

    def __init__(
        self,
        host: str,
        port: int,
        context: ssl.SSLContext,
        upstream: tuple[str, int],
        peers: dict[int, str],
    ) -> None:
        self.host, self.port, self.context, self._upstream = host, port, context, upstream
        self.peers = peers
        self._ready = threading.Event()
        self._error: OSError | None = None
        self._clients: set[asyncio.Task[Any]] = set()
        self._answers: set[asyncio.Task[Any]] = set()
        self._silent_since_s: dict[asyncio.Task[Any], float] = {}
        self._address_of: dict[asyncio.Task[Any], str] = {}
        self._by_address: Counter[str] = Counter()
        self._drain_s = 1.0
        self._thread = threading.Thread(target=self._run, name="tls-relay", daemon=True)

    def start(self) -> "Relay":
        """Listen; AppError ``address_taken`` where something else does."""
        self._thread.start()
        self._ready.wait()
        if self._error:
            raise not_listening(self._error, self.host, self.port) from self._error
        return self

    def no_more(self) -> None:
        """Take no new connections; those that there are go on."""
        self._loop.call_soon_threadsafe(self._closing.set)

    def finish(self, within_s: float) -> None:
        """Let the answers under way go out, then end."""
        self._drain_s = max(1.0, within_s)
        self._loop.call_soon_threadsafe(self._over.set)
        self._thread.join(self._drain_s + 8)

    def end(self) -> None:
        """End at once: nobody has come yet."""
        self.no_more()
        self.finish(0)

    def _run(self) -> None:
        asyncio.run(self._main())

    async def _main(self) -> None:
        self._loop = asyncio.get_running_loop()
        self._closing, self._over = asyncio.Event(), asyncio.Event()
        self._loop.set_exception_handler(lambda _loop, _context: None)  # handshakes that fail are no news
        try:
            server = await asyncio.start_server(
                self._client,
                self.host,
                self.port,
                ssl=self.context,
                ssl_handshake_timeout=HANDSHAKE_S,
                ssl_shutdown_timeout=3,
                limit=_BLOCK_BYTES,
            )
        except OSError as error:
            self._error = error
            self._ready.set()
            return
        self.port = server.sockets[0].getsockname()[1]
        self._ready.set()
        await self._closing.wait()
        server.close()
        await self._over.wait()
        if self._answers:
            await asyncio.wait(self._answers, timeout=self._drain_s)
        for task in list(self._clients):
            task.cancel()
        if self._clients:
            await asyncio.wait(list(self._clients), timeout=1)

    async def _client(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        address = str((writer.get_extra_info("peername") or ("",))[0])
        me = asyncio.current_task()
        if me is None or not self._has_room(address):
            writer.close()
            return
        self._clients.add(me)
        self._address_of[me] = address
        self._silent_since_s[me] = timesource.monotonic_s()
        self._by_address[address] += 1
        try:
            await self._join(address, reader, writer)
        finally:
            self._forget(me)

    def _forget(self, task: asyncio.Task[Any]) -> None:
        self._clients.discard(task)
        self._silent_since_s.pop(task, None)
        if (address := self._address_of.pop(task, None)) is not None:
            self._by_address -= Counter([address])

    def _has_room(self, address: str) -> bool:
        """Make room for one more where somebody is silent; of one address only for its own."""
        if self._by_address[address] >= MAX_OF_ONE:
            return self._give_up(lambda task: self._address_of[task] == address)
        return len(self._clients) < MAX_CONNECTIONS or self._give_up(lambda task: True)

    def _give_up(self, may_go: Callable[[asyncio.Task[Any]], bool]) -> bool:
        """Close the connection that was silent longest; False where all are at work."""
        now_s = timesource.monotonic_s()
        silent = {t: s for t, s in self._silent_since_s.items() if now_s - s > AT_WORK_S and may_go(t)}
        if not silent:
            return False
        longest = min(silent, key=silent.__getitem__)
        longest.cancel()
        self._clients.discard(longest)  # counted out at once; its task ends a moment later
        self._silent_since_s.pop(longest)
        self._by_address -= Counter([self._address_of.pop(longest)])
        return True

    async def _join(self, address: str, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        onward: asyncio.StreamWriter | None = None
        port = 0
        try:
            first = await asyncio.wait_for(reader.read(_BLOCK_BYTES), FIRST_BYTE_S)
            if not first:
                return
            back, onward = await asyncio.open_connection(*self._upstream, limit=_BLOCK_BYTES)
            port = int(onward.get_extra_info("sockname")[1])
            self.peers[port] = address
            onward.write(first)
            moved = self._moved_of(asyncio.current_task())
            moved()
            async with asyncio.TaskGroup() as group:
                group.create_task(self._copy(reader, onward, moved))
                answer = group.create_task(self._copy(back, writer, moved))
                self._answers.add(answer)
                answer.add_done_callback(self._answers.discard)
        except (TimeoutError, OSError, asyncio.CancelledError, ExceptionGroup):
            pass
        finally:
            for side in (onward, writer):
                if side:
                    side.close()
            for side in (onward, writer):
                if side:
                    with contextlib.suppress(OSError, asyncio.TimeoutError, asyncio.CancelledError):
                        await asyncio.wait_for(side.wait_closed(), 3)
            self.peers.pop(port, None)

    def _moved_of(self, task: asyncio.Task[Any] | None) -> Callable[[], None]:
        def moved() -> None:
            if task in self._silent_since_s:
                self._silent_since_s[task] = timesource.monotonic_s()

        return moved

    @staticmethod
    async def _copy(
        reader: asyncio.StreamReader, writer: asyncio.StreamWriter, moved: Callable[[], None]
    ) -> None:
        with contextlib.suppress(OSError, asyncio.TimeoutError):
            while data := await asyncio.wait_for(reader.read(_BLOCK_BYTES), IDLE_S):
                moved()
                writer.write(data)
                await writer.drain()
        writer.close()  # either side ending ends both: HTTP/1.1 needs no half-open connections

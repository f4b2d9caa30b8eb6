"""A TCP relay in front of a loopback server: it counts, slows, kills or loses on demand.

Used for counting (bytes, requests) and for faults that a browser's own offline switch does not
simulate. It understands just enough HTTP/1.1 to count requests and to act on a chosen one; TLS
passes through uncounted except for its bytes.

    with Relay(target_port) as r:
        page.goto(r.url)
        r.up, r.down, r.requests          # bytes to / from the server, [(method, path), ...]
        r.refuse(); r.restore()           # server dead: connection refused
        r.mode = "reset"                  # server dead: connections accepted, then reset
        r.mode = "hang"                   # black hole: connections accepted, nothing answered
        r.mode = "pass"
        r.slow(latency_s=2.0, bytes_per_s=6250)   # a shared slow link, both directions
        r.lose_answer("POST", "/sync")    # forwards the next such request, drops the answer
        r.cut_request("PUT", "/photos", 300_000)  # the next such request breaks off in its body
        r.dropped                         # [(method, path), ...] whose answer was lost, or that broke off
"""

import asyncio
import contextlib
import socket
import struct
import threading
import time
from collections import Counter

import ended
from request_lines import Requests

ON_THE_WAY_S = 0.1


class Relay:
    def __init__(self, target_port: int, host: str = "127.0.0.1", port: int = 0):
        self.target = (host, target_port)
        self.mode = "pass"
        self.latency_s = 0.0
        self.bytes_per_s = 0.0
        self.handshake_s = 0.0
        self.outage_s = 1.5
        self.rules: list[dict] = []
        self._due = {"up": 0.0, "down": 0.0}
        self._writers: set[asyncio.StreamWriter] = set()
        self._serving: set[asyncio.Task] = set()
        self.reset_counts()
        self.loop = asyncio.new_event_loop()
        ready = threading.Event()
        self.port = port

        def main():
            asyncio.set_event_loop(self.loop)
            self.loop.run_until_complete(self._listen())
            ready.set()
            self.loop.run_forever()

        self.thread = threading.Thread(target=main, daemon=True)
        self.thread.start()
        if not ready.wait(10):
            raise RuntimeError("relay did not start")
        ended.stands_before(self.port, target_port)

    # ------------------------------------------------------------ control, from any thread

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def reset_counts(self):
        self.up = self.down = self.connections = 0
        self.requests: list[tuple[str, str]] = []
        self.dropped: list[tuple[str, str]] = []

    def count(self, method: str | None = None) -> int:
        return sum(1 for m, _ in self.requests if method in (None, m))

    def by_path(self) -> Counter:
        return Counter(f"{m} {p.split('?')[0]}" for m, p in self.requests)

    def slow(self, latency_s: float, bytes_per_s: float, handshake_s: float = 0.0):
        """`handshake_s`: what each new connection waits before its first byte is taken."""
        self.latency_s, self.bytes_per_s, self.handshake_s = latency_s, bytes_per_s, handshake_s

    def lose_answer(self, method: str, path_start: str, times: int = 1, how: str = "reset"):
        """Forward the next matching request(s) whole; when the server has begun to answer (so it
        has committed), keep the answer back and end the client's connection. `how`: "reset"
        (RST), "close" (clean FIN), "hang" (the answer never comes), "half" (the head and half the
        body are passed on, then RST) or "outage" (every connection is reset, new ones too, for
        `outage_s` seconds: the radio went away). A space at the end of `path_start` ends the path.
        Mind that Chromium silently resends a request, POST included, whose kept-alive connection
        ends before any answer: script then sees success and the server has the request twice.
        "outage" and "half" are seen by script."""
        self.rules.append({"method": method, "path": path_start, "left": times, "how": how})

    def cut_request(self, method: str, path_start: str, after_bytes: int):
        """Let the next matching request's first `after_bytes` or somewhat more through, then be away
        for `outage_s` seconds."""
        rule = {"method": method, "path": path_start, "left": 1, "how": "middle", "after": after_bytes}
        self.rules.append(rule)

    def refuse(self):
        """Close the listener and every connection: the next connect is refused."""
        self._call(self._refuse())

    def restore(self):
        self.mode = "pass"
        self._call(self._listen())

    def cut(self):
        """Reset every open connection now; new ones are still taken."""
        self._call(self._cut())

    def close(self):
        with contextlib.suppress(Exception):
            self._call(self._end())
        self.loop.call_soon_threadsafe(self.loop.stop)
        self.thread.join(5)
        if not self.thread.is_alive():
            self.loop.close()

    def __enter__(self):
        return self

    def __exit__(self, *exc):
        self.close()

    def _call(self, coro):
        return asyncio.run_coroutine_threadsafe(coro, self.loop).result(10)

    # ------------------------------------------------------------ inside the loop

    async def _listen(self):
        self.server = await asyncio.start_server(self._serve, "127.0.0.1", self.port)
        self.port = self.server.sockets[0].getsockname()[1]

    async def _refuse(self):
        # Nothing new is taken, and what was just taken begins: a server closed meanwhile drops its socket.
        for sock in self.server.sockets:
            self.loop.remove_reader(sock.fileno())
        for _ in range(4):
            await asyncio.sleep(0)
        self.server.close()
        await self._cut()

    async def _end(self):
        """Leave no task and no socket: what was just taken begins first, for only its own task closes it."""
        self.mode = "reset"
        await self._refuse()
        for _ in range(100):
            for task in list(self._serving):
                task.cancel()
            await asyncio.sleep(0)
            if len(asyncio.all_tasks()) == 1:
                break
        await asyncio.sleep(0)

    async def _cut(self):
        for w in list(self._writers):
            self._abort(w)

    async def _outage(self):
        self.mode = "reset"
        self.loop.call_later(self.outage_s, setattr, self, "mode", "pass")
        await self._cut()

    @staticmethod
    def _abort(writer: asyncio.StreamWriter):
        sock = writer.get_extra_info("socket")
        with contextlib.suppress(Exception):  # SO_LINGER 0 makes close() send RST
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        writer.transport.abort()

    async def _serve(self, cr: asyncio.StreamReader, cw: asyncio.StreamWriter):
        self.connections += 1
        self._writers.add(cw)
        task = asyncio.current_task()
        self._serving.add(task)
        uw, tasks = None, []
        try:
            if self.mode == "reset":
                self._abort(cw)
                return
            if self.mode == "hang":
                while await cr.read(65536):
                    pass
                return
            await asyncio.sleep(self.handshake_s)
            try:
                ur, uw = await asyncio.open_connection(*self.target)
            except OSError:
                self._abort(cw)
                return
            state = {"rule": None}
            tasks = [
                asyncio.ensure_future(self._pump(cr, uw, "up", state, cw)),
                asyncio.ensure_future(self._pump(ur, cw, "down", state, cw)),
            ]
            await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
            # one side ended: let the other finish what it holds, briefly
            await asyncio.wait(tasks, timeout=max(1.0, 4 * self.latency_s))
        except asyncio.CancelledError:  # the relay ends
            for w in (cw, uw):
                if w is not None:
                    w.transport.abort()
        finally:
            self._serving.discard(task)
            for t in tasks:
                t.cancel()
            for w in (cw, uw):
                if w is not None:
                    with contextlib.suppress(Exception):
                        w.close()
            self._writers.discard(cw)

    async def _pump(self, reader, writer, way: str, state: dict, client):
        parser = Requests() if way == "up" else None
        line: asyncio.Queue = asyncio.Queue()
        sender = asyncio.ensure_future(self._deliver(line, writer, way))
        try:
            while True:
                # on a slow link the connections take turns, a little at a time
                data = await reader.read(4096 if self.bytes_per_s else 262144)
                if not data:
                    break
                if way == "up":
                    self.up += len(data)
                    for method, path in parser.feed(data):
                        self._note(method, path, state)
                    if "through" in state:
                        state["through"] -= len(data)
                        if state["through"] <= 0:
                            writer.write(data[: len(data) // 2])
                            await writer.drain()
                            await self._outage()
                            return
                elif state["rule"]:
                    await self._lose(data, reader, writer, state, client)
                    return
                await self._queue(line, data, way)
            await line.put((0.0, None))
            await sender
            with contextlib.suppress(Exception):
                writer.write_eof()
        except (ConnectionError, OSError):
            pass
        finally:
            sender.cancel()

    async def _deliver(self, line: asyncio.Queue, writer, way: str):
        """Write what is on the way when it is due."""
        while True:
            due, data = await line.get()
            if data is None:
                break
            wait = due - time.monotonic()
            if wait > 0:
                await asyncio.sleep(wait)
            if way == "down":
                self.down += len(data)
            writer.write(data)
            await writer.drain()

    def _note(self, method: str, path: str, state: dict):
        """Count a request, and keep the rule that it meets for its connection."""
        self.requests.append((method, path))
        for rule in self.rules:
            if rule["left"] and rule["method"] == method and f"{path} ".startswith(rule["path"]):
                rule["left"] -= 1
                if rule["how"] == "middle":
                    self.dropped.append((method, path))
                    state["through"] = rule["after"]
                else:
                    state["rule"] = (rule["how"], method, path)
                return

    async def _lose(self, data: bytes, reader, writer, state: dict, client):
        """Keep an answer back, or all but its first half, and end the client's connection."""
        how, method, path = state["rule"]
        self.dropped.append((method, path))
        state["rule"] = None
        if how == "hang":
            await asyncio.sleep(3600)
        if how == "half":
            while b"\r\n\r\n" not in data or data.endswith(b"\r\n\r\n"):
                more = await reader.read(262144)
                if not more:
                    break
                data += more
            head = data.find(b"\r\n\r\n") + 4
            writer.write(data[: head + (len(data) - head) // 2])
            await writer.drain()
            await asyncio.sleep(0.05)
        if how == "outage":
            await self._outage()
        elif how == "close":
            client.close()
        else:
            self._abort(client)

    async def _queue(self, line: asyncio.Queue, data: bytes, way: str):
        """Put bytes on the way: on a slow link packet by packet, each with the moment it is due."""
        if not (self.latency_s or self.bytes_per_s):
            await line.put((0.0, data))
            return
        for i in range(0, len(data), 1460):
            part = data[i : i + 1460]
            spent = len(part) / self.bytes_per_s if self.bytes_per_s else 0.0
            self._due[way] = max(time.monotonic(), self._due[way]) + spent
            await line.put((self._due[way] + self.latency_s, part))
        # Little waits on the way: the rest stays with its sender, and a cut loses none of it.
        await asyncio.sleep(max(0.0, self._due[way] - time.monotonic() - ON_THE_WAY_S))

"""What one entry costs that is pushed into a server that holds much, against an empty one.

    python3 tests/bench/growth_exchange.py [--quick]

5,000 writers, 200,000 entries, 10,000 photos that are here, as many that are not, 2,000 jobs: processor time
of the server, and bytes each way as a phone sends and gets them.  The phone agreed with the server before.
Exits 1 where the time is more than 1.5 times that of the empty server, or either way takes more than 2 kB.
"""

import argparse
import gc
import gzip
import hashlib
import json
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

from flask.testing import FlaskClient
from servers import Server, entry

from webapp.records import canonical
from webapp.store import entry_rows, photo_rows
from webapp.store.engine import writing
from webapp.sync.apply import columns_of
from webapp.web.state import state_of

JOB = "019abcde-0000-7000-8000-000000000000"
SLOWER, MAX_BYTES = 1.5, 2000
PUSHES, WARM = 40, 5
GZIP_FROM = 1024  # as static/js/sync/transport.js
Rows = Iterator[dict[str, Any]]


def row(one: dict[str, Any]) -> dict[str, Any]:
    """Return an entry as it is stored."""
    body = canonical.dumps(one)
    sha256 = hashlib.sha256(body.encode()).hexdigest()
    return columns_of(one, body, sha256, None, "2026-11-30T00:00:00.000+00:00")


def uuid(number: int) -> str:
    """Return an id that is always the same."""
    return f"019abcde-0000-7000-8001-{number:012d}"


def writers(count: int) -> Rows:
    """One entry by each of many openings of the app."""
    return (row(entry(JOB, f"writer-{n:06d}", 1, record_id=uuid(n))) for n in range(count))


def readings(count: int) -> Rows:
    """As many entries by ten openings."""
    return (row(entry(JOB, f"writer-{n % 10}-of-10", n // 10 + 1, record_id=uuid(n))) for n in range(count))


def photos(count: int) -> Rows:
    """As many records of photos."""
    return (
        row(entry(JOB, "writer-of-photos", n + 1, "photo", {"sha256": f"{n:064x}"}, uuid(n)))
        for n in range(count)
    )


def jobs(count: int) -> Rows:
    """As many other jobs, each with its title."""
    return (
        row(entry(uuid(n), "writer-of-jobs", 1, "job", {"title": f"Job {n}", "site": "A lane"}))
        for n in range(count)
    )


def keep_photos(server: Server, count: int) -> None:
    """Let the files of photos be whole."""
    storage = state_of(server.app).photos.place
    for n in range(count):
        path = storage.path(f"{n:064x}")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")
    about = {"size_bytes": 1, "media_type": "image/jpeg", "received_at": "2026-11-30T00:00:00.000+00:00"}
    with server.app.app_context(), writing() as connection:
        photo_rows.add(connection, [{"sha256": f"{n:064x}", **about} for n in range(count)])


class Phone:
    """A sender that keeps what the server gave it, as a phone does."""

    def __init__(self, server: Server) -> None:
        server.app.test_client_class = FlaskClient
        self.client = server.app.test_client()
        self.state: dict[str, Any] = {"have": {}}
        self.lists: dict[str, str] = {}
        self.number = 0

    def agree(self) -> None:
        """Take everything, as far as the stamp of the moment: it is as if it had been pulled."""
        self.hear(self.send(self.state, [], pull=0)[0])

    def push(self) -> tuple[float, int, int]:
        """Send one entry; return the seconds of the processor and the bytes each way."""
        self.number += 1
        one = entry(JOB, "writer-that-pushes", self.number)
        found, *costs = self.send(self.state | {"have": {"writer-that-pushes": self.number}}, [one])
        assert found["fates"] == [[f"writer-that-pushes:{self.number}", "kept"]] and not found["entries"]
        assert set(found["jobs"][JOB]["have"]) == {"writer-that-pushes"}
        self.hear(found)
        return costs[0], costs[1], costs[2]

    def hear(self, answer: dict[str, Any]) -> None:
        """Keep the stamps."""
        self.lists = answer["lists"]
        if stamp := answer["jobs"][JOB].get("stamp"):
            self.state = {"since": stamp, "have": {}}

    def send(
        self, state: dict[str, Any], sent: list[dict[str, Any]], **more: int
    ) -> tuple[dict[str, Any], float, int, int]:
        """Return the answer, the seconds, and the bytes each way."""
        value = {"protocol": 1, "device_id": "test phone", "jobs": {JOB: state}, "entries": sent} | more
        value["photo_differences"] = True
        body = json.dumps(value | {"lists": self.lists}, separators=(",", ":")).encode()
        headers = {"Content-Type": "application/json", "Accept-Encoding": "gzip"}
        if len(body) >= GZIP_FROM:
            body, headers = gzip.compress(body), headers | {"Content-Encoding": "gzip"}
        gc.collect()
        begun = time.process_time()
        answer = self.client.post("/api/sync", data=body, headers=headers)
        data = answer.data
        took = time.process_time() - begun
        assert answer.status_code == 200, data
        text = gzip.decompress(data) if answer.headers.get("Content-Encoding") == "gzip" else data
        return json.loads(text), took, len(body), len(data)


def cost(rows: Rows, after: Callable[[Server], None] | None = None) -> tuple[float, int, int]:
    """Return the least seconds and the most bytes each way of a push into a server that holds some rows."""
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder))
        try:
            with server.app.app_context(), writing() as connection:
                entry_rows.add(connection, list(rows))
            if after:
                after(server)
            phone = Phone(server)
            phone.agree()
            found = [phone.push() for _ in range(PUSHES)][WARM:]
        finally:
            server.close()
    times, up, down = zip(*found, strict=True)
    return min(times), max(up), max(down)


def main() -> int:
    """Measure, print, and tell whether all limits held."""
    options = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    options.add_argument("--quick", action="store_true", help="A tenth of everything.")
    share = 10 if options.parse_args().quick else 1
    worlds: dict[str, tuple[Rows, Callable[[Server], None] | None]] = {
        "an empty server": (iter(()), None),
        f"{5_000 // share:,} writers": (writers(5_000 // share), None),
        f"{200_000 // share:,} entries": (readings(200_000 // share), None),
        f"{10_000 // share:,} photos": (photos(10_000 // share), lambda s: keep_photos(s, 10_000 // share)),
        f"{10_000 // share:,} photos not sent yet": (photos(10_000 // share), None),
        f"{2_000 // share:,} jobs": (jobs(2_000 // share), None),
    }
    empty, missed = 0.0, 0
    for name, (rows, after) in worlds.items():
        seconds, up, down = cost(rows, after)
        empty = empty or seconds
        missed += seconds > SLOWER * empty or max(up, down) > MAX_BYTES
        print(
            f"{name:28} {seconds * 1000:7.2f} ms {seconds / empty:5.2f} times  {up:5} B up {down:5} B down",
            flush=True,
        )
    print(f"one entry pushed; limits {SLOWER} times, {MAX_BYTES:,} B each way; in {ROOT.name}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

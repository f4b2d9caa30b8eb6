"""A server with jobs whose database file is overwritten in places, as a bad disk does."""

import random
import sqlite3
from contextlib import closing

from servers import Server, entries, entry

from webapp.store.models import db
from webapp.timesource import new_id

JOBS = 24
LONG = "The lining hangs down from the crown. " * 260  # goes into overflow pages
COLUMNS = "writer, number, body, sha256, aside"


def fill(server):
    """Send jobs of several sizes: some share a page, some take many, some have entries too long for one."""
    jobs = {}
    for n in range(JOBS):
        job_id = new_id()
        sent = [entry(job_id, "writer-a", 1, "job", {"title": f"Job {n}"})]
        sent += entries(job_id, "writer-a", 2, 3 + 9 * (n % 5))
        sent += entries(job_id, f"writer-{n}", 1, 1 + n % 3)
        sent.append(
            entry(job_id, "writer-z", 1, "remark", {"counter_m": 1, "text": LONG[: 40 * (n % 3) ** 8]})
        )
        server.fates(sent)
        jobs[job_id] = None
    return jobs


class Book:
    """A server with jobs, the file of its database, and what it answered before anything was damaged."""

    def __init__(self, folder):
        self.server = Server(folder)
        self.jobs = fill(self.server)
        self.path = folder / "fallbook.sqlite"
        self.let_go()
        with closing(sqlite3.connect(self.path)) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            self.rows = {job: self.read(connection, job) for job in self.jobs}
        self.bytes = self.path.read_bytes()
        self.jobs = {job: self.get(job).json for job in self.jobs}
        self.pages = len(self.bytes) // 4096

    @staticmethod
    def read(connection, job):
        query = f"SELECT {COLUMNS} FROM entry NOT INDEXED WHERE job_id = ? ORDER BY writer, number"
        return connection.execute(query, [job]).fetchall()

    def get(self, job):
        return self.server.client.get(f"/api/jobs/{job}")

    def let_go(self):
        with self.server.app.app_context():
            db.engine.dispose()

    def put(self, damaged: bytes):
        """Write over the file, as a bad disk does: below SQLite, in the same place."""
        self.let_go()
        for more in ("-wal", "-shm"):
            self.path.with_name(self.path.name + more).unlink(missing_ok=True)
        with self.path.open("r+b") as file:
            file.write(damaged)
            file.truncate(len(damaged))
        self.server.app.extensions["fallbook"].summaries.damaged.clear()

    def whole(self):
        """Return the jobs whose rows plain SQL reads as they were."""
        found = set()
        with closing(sqlite3.connect(f"{self.path.as_uri()}?immutable=1", uri=True)) as connection:
            for job, rows in self.rows.items():
                try:
                    if [row for row in self.read(connection, job) if row[0] != "writer-new"] == rows:
                        found.add(job)
                except sqlite3.Error:
                    pass
        return found


def noise(page: bytes, chance: random.Random) -> bytes:
    return chance.randbytes(len(page))


def zeros(page: bytes, chance: random.Random) -> bytes:
    return bytes(len(page))


def scratch(page: bytes, chance: random.Random) -> bytes:
    start, length = chance.randrange(len(page)), chance.choice([1, 4, 40, 400])
    return (page[:start] + chance.randbytes(length) + page[start + length :])[: len(page)]


def head_of_page(page: bytes, chance: random.Random) -> bytes:
    return chance.randbytes(chance.randrange(1, 24)).ljust(24, b"\0") + page[24:]


def other_page(page: bytes, chance: random.Random) -> bytes:
    return page[2048:] + page[:2048]


DAMAGE = [noise, zeros, scratch, head_of_page, other_page]


def spoil(whole: bytes, chance: random.Random, lowest: int = 1) -> bytes:
    pages = [whole[n : n + 4096] for n in range(0, len(whole), 4096)]
    for n in chance.sample(range(lowest, len(pages)), chance.choice([1, 1, 1, 2, 5])):
        pages[n] = chance.choice(DAMAGE)(pages[n], chance)
    return b"".join(pages)

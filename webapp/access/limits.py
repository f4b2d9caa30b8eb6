"""How often: one bucket of tokens for each sender and kind of request.

The buckets are rows of SQLite, in the memory of this process, or in a file where several processes share a
data folder: a limit holds for all of them together.  They keep guessing and runaway clients down; they are no
quota.
"""

import contextlib
import os
import sqlite3
import threading
from dataclasses import asdict, dataclass
from pathlib import Path

from .. import timesource
from ..errors import AppError

MAX_BUCKETS = 10_000
FORGET_EVERY = 1_000  # how many takes lie between two searches for buckets that say nothing


@dataclass(frozen=True)
class Limit:
    """So many at once, and so many more each minute."""

    burst: float
    a_minute: float


LIMITS = {
    "redeem": Limit(10, 10),  # invitations and client links tried, for each address
    "refused": Limit(60, 60),  # requests without a good credential, for each address
    "pack": Limit(10, 6),  # packs asked for, for each credential
    "any": Limit(6000, 6000),  # all requests of one credential: many small photos on a fast network are fine
}
_TABLE = """
    CREATE TABLE IF NOT EXISTS bucket
    (kind TEXT, sender TEXT, tokens REAL, at_s REAL, PRIMARY KEY (kind, sender)) WITHOUT ROWID"""
# One statement, so that no other process comes between looking and taking.  What is kept is what was there
# before the token was taken; the clock counts from the start of the machine, alike for all processes.
_TAKE = """
    INSERT INTO bucket VALUES (:kind, :sender, :burst, :now_s)
    ON CONFLICT DO UPDATE SET at_s = :now_s,
    tokens = min(:burst, max(0, tokens - 1) + max(0, :now_s - at_s) * :a_minute / 60)
    RETURNING tokens"""
_FORGET_FULL = "DELETE FROM bucket WHERE at_s <= ?"
_FORGET_OLDEST = """
    DELETE FROM bucket WHERE (kind, sender) IN
    (SELECT kind, sender FROM bucket ORDER BY at_s DESC LIMIT -1 OFFSET ?)"""


class Buckets:
    """The buckets of one server."""

    def __init__(self, shared: Path | None = None) -> None:
        """``shared``: the file of all processes; it is made when the first token is taken."""
        self._guard = threading.Lock()
        self._shared = shared
        self._open: dict[Path | None, sqlite3.Connection] = {}
        self._takes = 0

    def take(self, kind: str, sender: str) -> None:
        """Take one token; AppError ``too_many_requests`` where none is left."""
        limit = LIMITS[kind]
        request: dict[str, str | float] = {"kind": kind, "sender": sender, **asdict(limit)}
        with self._guard:
            tokens = self._take(request | {"now_s": timesource.monotonic_s()})
        if tokens < 1:
            raise TooMany(max(1, round((1 - tokens) * 60 / limit.a_minute)))

    def count(self) -> int:
        """Return how many buckets there are."""
        with self._guard:
            found: int = self._database(self._shared).execute("SELECT count(*) FROM bucket").fetchone()[0]
        return found

    def close(self) -> None:
        """Close what is open; the next token opens it anew."""
        with self._guard:
            while self._open:
                self._open.popitem()[1].close()

    def _take(self, request: dict[str, str | float]) -> float:
        if self._shared:
            # A disk that is full must not stop somebody who reads: then this process counts for itself.
            with contextlib.suppress(OSError, sqlite3.Error):
                return self._take_from(self._database(self._shared), request)
        return self._take_from(self._database(None), request)

    def _take_from(self, database: sqlite3.Connection, request: dict[str, str | float]) -> float:
        found: float = database.execute(_TAKE, request).fetchone()[0]
        self._takes += 1
        if self._takes % FORGET_EVERY == 0:
            full_after_s = max(limit.burst * 60 / limit.a_minute for limit in LIMITS.values())
            database.execute(_FORGET_FULL, (float(request["now_s"]) - full_after_s,))
            database.execute(_FORGET_OLDEST, (MAX_BUCKETS,))
        return found

    def _database(self, file: Path | None) -> sqlite3.Connection:
        if file not in self._open:
            self._open[file] = _opened(file)
        return self._open[file]


def _opened(file: Path | None) -> sqlite3.Connection:
    if file:
        os.close(os.open(file, os.O_RDWR | os.O_CREAT, 0o600))
    database = sqlite3.connect(file or ":memory:", isolation_level=None, check_same_thread=False)
    try:
        database.execute("PRAGMA journal_mode=WAL")
        database.execute("PRAGMA synchronous=OFF")  # what it holds need not outlive the machine
        database.execute(_TABLE)
    except sqlite3.Error:
        database.close()
        raise
    return database


class TooMany(AppError):
    """Too often; says when to come again."""

    def __init__(self, after_s: int) -> None:
        super().__init__("too_many_requests")
        self.after_s = after_s

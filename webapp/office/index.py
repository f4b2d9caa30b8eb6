"""Where every record of one job stands on its pages: an index in memory, and nothing of what was recorded.

It holds which entries tell of a record and what puts the record in its place, so that a page reads only the
entries that it shows.  It is made from all entries once and then takes those that came since; the vector of
what it has taken is what it stands for.
"""

import sqlite3
from collections.abc import Callable, Iterable
from typing import NamedTuple
from uuid import UUID

from ..records.entry import Entry
from ..records.fold import AnyRecord, fold
from ..schemas import KINDS, describe
from ..schemas.base import is_uuid
from ..store.entry_some import Identity

# What belongs to a run is shown under it, in this order; what belongs to none after all runs.
UNDER_RUN = ("stretch", "reading", "observation", "level_tie", "remark", "check")
FREE = ("node", "check", "remark", *(k for k in UNDER_RUN if k not in ("check", "remark")))
OF_RUNS, REST, PHOTOS, NOWHERE = 0, 1, 2, 3  # the parts of a job's pages

_TABLES = """
CREATE TABLE writer (no INTEGER PRIMARY KEY, name TEXT UNIQUE);
CREATE TABLE told (record INTEGER, writer INTEGER, number INTEGER, PRIMARY KEY (record, writer, number))
  WITHOUT ROWID;
CREATE TABLE aside (writer INTEGER, number INTEGER, PRIMARY KEY (writer, number)) WITHOUT ROWID;
CREATE TABLE record (no INTEGER PRIMARY KEY, id BLOB, kind INTEGER, part INTEGER, run BLOB, place INTEGER,
  along REAL, own_run BLOB, removed INTEGER, conflicts INTEGER);
CREATE UNIQUE INDEX by_id ON record (id, kind);
CREATE INDEX in_order ON record (part, run, place, along, id);
CREATE INDEX of_removed ON record (removed) WHERE removed;
CREATE INDEX of_conflicts ON record (kind, id) WHERE conflicts;
"""
_KINDS = tuple(sorted(KINDS))
_FIELDS = {
    kind: {f["name"] for f in describe(schema)["fields"]} | {"removed"} for kind, schema in KINDS.items()
}
_ADD = """
INSERT INTO record (part, run, place, along, own_run, removed, conflicts, id, kind)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
"""
_CHANGE = """
UPDATE record SET part = ?, run = ?, place = ?, along = ?, own_run = ?, removed = ?, conflicts = ?
WHERE id = ? AND kind = ?"""
_HANG_UNDER = f"""
UPDATE record SET part = {OF_RUNS}, run = ?, place = ?
WHERE part = {REST} AND run = x'' AND own_run = ? AND kind = ?"""  # noqa: S608
_HANG_FREE = f"""
UPDATE record SET part = {REST}, run = x'', place = ?
WHERE part = {OF_RUNS} AND run = ? AND kind = ?"""  # noqa: S608
_ORDER = "ORDER BY part, run, place, along, id"
_ODD = b"~" * 17  # before an id of another form
Read = Callable[[Iterable[Identity]], Iterable[Entry]]


class Row(NamedTuple):
    """A record in its place: in which part of the pages, under which run, and which entries tell of it."""

    kind: str
    record_id: str
    part: int
    run_id: str
    told: tuple[Identity, ...]


class Span(NamedTuple):
    """Where a record stands in its table: how many before it, of how many."""

    before: int
    total: int


class Begins(NamedTuple):
    """A run, and how many rows of the pages come before it."""

    run_id: str
    before: int


class Index:
    """The index of one job.  Whoever uses it takes turns."""

    def __init__(self) -> None:
        self.heads: dict[str, int] = {}  # the vector that it stands for
        self._writers: dict[str, int] = {}
        self._touched: set[int] = set()  # records that more than one entry tells of, to be folded anew
        self._runs: set[bytes] = set()  # runs that came, went, or got something
        self._begins: list[Begins] | None = None
        self._db = sqlite3.connect(":memory:", check_same_thread=False, isolation_level=None)
        self._db.executescript(_TABLES)

    def close(self) -> None:
        """Give the memory back."""
        self._db.close()

    @property
    def entries(self) -> int:
        """Return how many entries it stands for."""
        return sum(self.heads.values())

    # -- taking

    def take(self, entry: Entry, writer: str, number: int, *, aside: bool) -> None:
        """Take one entry that follows the last one of its writer; `settle` comes after the last."""
        self.heads[writer] = number
        no = self._writers.get(writer)
        if no is None:
            no = self._writers[writer] = len(self._writers) + 1
            self._db.execute("INSERT INTO writer VALUES (?, ?)", (no, writer))
        if aside:
            self._db.execute("INSERT INTO aside VALUES (?, ?)", (no, number))
            return
        key = (_packed(entry["record_id"]), _KINDS.index(entry["kind"]))
        known = self._db.execute("SELECT no FROM record WHERE id = ? AND kind = ?", key).fetchone()
        if known is None:
            (record,) = fold([entry])
            known = (self._db.execute(_ADD, (*self._columns(record), *key)).lastrowid,)
        else:
            self._touched.add(known[0])
        self._db.execute("INSERT INTO told VALUES (?, ?, ?)", (known[0], no, number))

    def settle(self, read: Read) -> None:
        """Put every record in its place that was told of; ``read`` returns entries by their identities."""
        touched = sorted(self._touched)
        for start in range(0, len(touched), 200):
            few = touched[start : start + 200]
            told = self._told(few)
            for record in fold(read(identity for own in told.values() for identity in own)):
                key = (_packed(record.id), _KINDS.index(record.kind))
                self._db.execute(_CHANGE, (*self._columns(record), *key))
        self._touched.clear()
        for run in self._runs:
            self._hang(run)
        self._runs.clear()
        self._begins = None

    def _columns(self, record: AnyRecord) -> tuple[object, ...]:
        """Return where a record stands, as if the run that it names stood, and what is to be said of it."""
        own_run = _packed(named) if isinstance(named := record.fields.get("run_id"), str) else b""
        if record.kind == "run":
            self._runs.add(_packed(record.id))
        part, run, place = _place(record, own_run)
        if part == OF_RUNS:
            self._runs.add(run)
        contested = sum(name in _FIELDS[record.kind] for name in record.conflicts)
        return part, run, place, _along(record), own_run, record.removed, contested

    def _hang(self, run: bytes) -> None:
        """Put what names a run under it, or where it does not stand among the rest."""
        key = (run, _KINDS.index("run"), OF_RUNS)
        stands = self._one("SELECT count(*) FROM record WHERE id = ? AND kind = ? AND part = ?", *key)
        for place, kind in enumerate(UNDER_RUN if stands else FREE, stands):
            if stands:
                self._db.execute(_HANG_UNDER, (run, place, run, _KINDS.index(kind)))
            else:
                self._db.execute(_HANG_FREE, (place, run, _KINDS.index(kind)))

    # -- looking

    @property
    def removed(self) -> int:
        """Return how many records were removed."""
        return self._one("SELECT count(*) FROM record WHERE removed")

    @property
    def conflicts(self) -> int:
        """Return on how many values phones disagree."""
        return self._one("SELECT total(conflicts) FROM record WHERE conflicts")

    @property
    def set_aside(self) -> int:
        """Return how many entries stand outside the records."""
        return self._one("SELECT count(*) FROM aside")

    @property
    def rows(self) -> int:
        """Return how many rows all pages have."""
        return self._one(f"SELECT count(*) FROM record WHERE part < {NOWHERE}")  # noqa: S608

    @property
    def records(self) -> int:
        """Return how many records there are, removed ones too."""
        return self._one("SELECT count(*) FROM record")

    def every(self, first: int, most: int) -> list[Row]:
        """Return rows as `page` does, then those of the job itself and of what was removed."""
        return self._rows(f"{_ORDER} LIMIT ? OFFSET ?", (most, first))

    def page(self, first: int, most: int) -> list[Row]:
        """Return the rows of a page, from the ``first`` on, 0 the first of all."""
        return self._rows(f"WHERE part < {NOWHERE} {_ORDER} LIMIT ? OFFSET ?", (most, first))

    def contested(self, most: int) -> list[Row]:
        """Return the first records that hold values on which phones disagree."""
        return self._rows("WHERE conflicts ORDER BY kind, id LIMIT ?", (most,))

    def of_id(self, record_id: str) -> list[Row]:
        """Return the records of an id; two kinds of it are two."""
        return self._rows("WHERE id = ?", (_packed(record_id),))

    def aside(self, most: int) -> list[Identity]:
        """Return the first entries that are set aside."""
        query = "SELECT name, number FROM aside JOIN writer ON no = writer ORDER BY name, number LIMIT ?"
        return list(self._db.execute(query, (most,)))

    def span(self, row: Row) -> Span:
        """Return where a row stands among those of its kind in its place."""
        key = (_packed(row.record_id), _KINDS.index(row.kind))
        part, run, place, along, own = self._db.execute(
            "SELECT part, run, place, along, id FROM record WHERE id = ? AND kind = ?", key
        ).fetchone()
        table = "SELECT count(*) FROM record WHERE part = ? AND run = ? AND place = ?"
        before = self._one(f"{table} AND (along, id) < (?, ?)", part, run, place, along, own)
        return Span(before, self._one(table, part, run, place))

    def begins(self) -> list[Begins]:
        """Return every run that stands, in order, with how many rows come before it."""
        if self._begins is None:
            found, before = [], 0
            query = f"SELECT run, count(*) FROM record WHERE part = {OF_RUNS} GROUP BY run ORDER BY run"  # noqa: S608
            for run, rows in self._db.execute(query):
                found.append(Begins(_unpacked(run), before))
                before += rows
            self._begins = found
        return self._begins

    def _one(self, query: str, *values: object) -> int:
        return int(self._db.execute(query, values).fetchone()[0])

    def _rows(self, where: str, values: tuple[object, ...]) -> list[Row]:
        found = self._db.execute(f"SELECT no, kind, id, part, run FROM record {where}", values).fetchall()  # noqa: S608
        told = self._told([row[0] for row in found])
        return [
            Row(_KINDS[kind], _unpacked(own), part, _unpacked(run), told[no])
            for no, kind, own, part, run in found
        ]

    def _told(self, numbers: list[int]) -> dict[int, tuple[Identity, ...]]:
        query = "SELECT name, number FROM told JOIN writer ON no = writer WHERE record = ?"
        return {no: tuple(self._db.execute(query, (no,))) for no in numbers}


def _place(record: AnyRecord, own_run: bytes) -> tuple[int, bytes, int]:
    """Return part, run and place in it."""
    if record.removed or record.kind == "job":
        return NOWHERE, b"", 0
    if record.kind == "run":
        return OF_RUNS, _packed(record.id), 0
    if record.kind == "photo":
        return PHOTOS, b"", 0
    if own_run and record.kind in UNDER_RUN:
        return OF_RUNS, own_run, 1 + UNDER_RUN.index(record.kind)
    return REST, b"", FREE.index(record.kind)


def _along(record: AnyRecord) -> float:
    """Return where along its run a record lies, on the counter [m]; -1 where it does not say."""
    counter_m = record.fields.get("counter_m", record.fields.get("from_counter_m"))
    return float(counter_m) if isinstance(counter_m, int | float) and record.kind in UNDER_RUN else -1.0


def _packed(record_id: str) -> bytes:
    """Return an id in the bytes that it takes; in the order of the ids."""
    return bytes.fromhex(record_id.replace("-", "")) if is_uuid(record_id) else _ODD + record_id.encode()


def _unpacked(key: bytes) -> str:
    """Return the id of its bytes."""
    return str(UUID(bytes=key)) if len(key) == 16 else key.removeprefix(_ODD).decode()

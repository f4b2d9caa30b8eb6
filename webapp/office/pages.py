"""One page of a job's records: which rows are on it, and the records themselves, read by their entries."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import groupby
from typing import NamedTuple

from sqlalchemy import Connection

from ..records.fold import AnyRecord, fold
from ..schemas.base import is_uuid
from .index import OF_RUNS, Index, Row
from .kept import read_some

ROWS_A_PAGE = 500
RUNS_LISTED = 100
LISTED = 100  # of what phones disagree on, or of what was set aside


@dataclass(frozen=True)
class Slice:
    """Records of one kind in one place that follow one another on a page; the ``first`` of all is 1."""

    part: int
    kind: str
    run: AnyRecord | None
    records: list[AnyRecord]
    first: int
    total: int


class RunAt(NamedTuple):
    """A run that stands, and the page on which it begins."""

    run: AnyRecord
    page: int


@dataclass(frozen=True)
class Place:
    """A page among all of them, and the runs around it."""

    number: int
    last: int
    runs: list[RunAt] = field(default_factory=list)
    runs_before: int = 0
    runs_after: int = 0


class Reader:
    """Reads the records of one job in one transaction, each once."""

    def __init__(self, connection: Connection, job_id: str, index: Index) -> None:
        self.connection, self.job_id, self.index = connection, job_id, index
        self._known: dict[tuple[str, str], AnyRecord] = {}

    def record(self, kind: str, record_id: str) -> AnyRecord | None:
        """Return a record; None if nothing tells of it."""
        self._read(row for row in self.index.of_id(record_id) if row.kind == kind)
        return self._known.get((kind, record_id))

    def named(self, record_id: str) -> AnyRecord | None:
        """Return the record of an id, of whatever kind."""
        rows = self.index.of_id(record_id)
        self._read(rows)
        return self._known[rows[-1].kind, record_id] if rows else None

    def records(self, rows: list[Row]) -> list[AnyRecord]:
        """Return the records of some rows, and read those that they point at."""
        self._read(rows)
        found = [self._known[row.kind, row.record_id] for row in rows]
        ids = {value for record in found for value in _values(record) if is_uuid(value)}
        self._read(row for record_id in ids for row in self.index.of_id(str(record_id)))
        return found

    def _read(self, rows: Iterable[Row]) -> None:
        new = [row for row in rows if (row.kind, row.record_id) not in self._known]
        told = {identity for row in new for identity in row.told}
        for record in fold(read_some(self.connection, self.job_id, told)):
            self._known[record.kind, record.id] = record

    def slices(self, number: int) -> list[Slice]:
        """Return what is on a page, 1 the first."""
        rows = self.index.page((number - 1) * ROWS_A_PAGE, ROWS_A_PAGE)
        self.records(rows)
        tables = [list(own) for _, own in groupby(rows, lambda row: (row.part, row.run_id, row.kind))]
        return [self._slice(own, is_cut=n in (0, len(tables) - 1)) for n, own in enumerate(tables)]

    def _slice(self, rows: list[Row], *, is_cut: bool) -> Slice:
        part, kind, run_id = rows[0].part, rows[0].kind, rows[0].run_id
        run = self.record("run", run_id) if part == OF_RUNS else None
        span = self.index.span(rows[0]) if is_cut else None
        first, total = (span.before + 1, span.total) if span else (1, len(rows))
        return Slice(part, kind, run, self.records(rows), first, total)

    def place(self, number: int) -> Place:
        """Return the page of a number, or the last one, and the runs from the one with which it begins."""
        last = max(1, -(-self.index.rows // ROWS_A_PAGE))
        number = min(max(number, 1), last)
        if last == 1:
            return Place(1, 1)
        begins = self.index.begins()
        before = sum(one.before <= (number - 1) * ROWS_A_PAGE for one in begins)
        start = max(before - 1, 0) // RUNS_LISTED * RUNS_LISTED
        listed = begins[start : start + RUNS_LISTED]
        self._read(row for one in listed for row in self.index.of_id(one.run_id) if row.kind == "run")
        runs = [RunAt(self._known["run", one.run_id], one.before // ROWS_A_PAGE + 1) for one in listed]
        return Place(number, last, runs, start, len(begins) - start - len(listed))


def _values(record: AnyRecord) -> Iterable[object]:
    fields: Mapping[str, object] = record.fields
    yield from fields.values()
    for rivals in record.conflicts.values():
        yield from (value for _, value in rivals)

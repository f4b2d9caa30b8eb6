"""One page of what the office may erase of a job: its records, removed ones too, and its writers."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from ..records.fold import AnyRecord
from ..store import entry_some, erasure_rows
from . import pages
from .pages import Reader

WRITERS_A_PAGE = 100

Span = tuple[int, int]  # first and last number


class Wrote(NamedTuple):
    """What of one writer is not erased: how many entries, and between when."""

    writer: str
    entries: int
    first: str
    last: str


@dataclass(frozen=True)
class Erasable:
    """A page of so many: the record that was asked for, if any, comes before those of the page."""

    number: int
    last: int
    records: list[AnyRecord]
    writers: list[Wrote]


def erasable(reader: Reader, number: int, target: str) -> Erasable:
    """Return a page, 1 the first, or the last one there is; ``target`` is the id of a record, or nothing."""
    gone = _erased(reader)
    heads = reader.index.heads
    names = sorted(name for name, head in heads.items() if head > _length(gone.get(name, ())))
    last = max(1, -(-reader.index.records // pages.ROWS_A_PAGE), -(-len(names) // WRITERS_A_PAGE))
    number = min(max(number, 1), last)
    rows = reader.index.every((number - 1) * pages.ROWS_A_PAGE, pages.ROWS_A_PAGE)
    asked_for = [row for row in reader.index.of_id(target) if row not in rows] if target else []
    records = [one for one in reader.records(asked_for + rows) if one.kind != "job"]
    few = names[(number - 1) * WRITERS_A_PAGE : number * WRITERS_A_PAGE]
    return Erasable(number, last, records, _wrote(reader, {name: gone.get(name, []) for name in few}))


def _erased(reader: Reader) -> dict[str, list[Span]]:
    """Return which entries acts hide, by writer."""
    found: dict[str, list[Span]] = {}
    for act in erasure_rows.acts(reader.connection, [reader.job_id]):
        if act.stands:
            for writer, spans in act.spans.items():
                found.setdefault(writer, []).extend((first, last) for first, last in spans)
    return found


def _length(spans: Iterable[Span]) -> int:
    return sum(last - first + 1 for first, last in spans)


def _wrote(reader: Reader, writers: dict[str, list[Span]]) -> list[Wrote]:
    heads = reader.index.heads
    ends = {name: _ends(heads[name], spans) for name, spans in writers.items()}
    identities = {(name, number) for name, pair in ends.items() for number in pair}
    found = entry_some.some(reader.connection, reader.job_id, identities, framed=True)
    stamps = {one: str(whole.entry.get("recorded_at") or "") for one, whole in found.items()}
    return [
        Wrote(name, heads[name] - _length(writers[name]), *sorted(stamps[name, number] for number in pair))
        for name, pair in ends.items()
    ]


def _ends(head: int, spans: Iterable[Span]) -> Span:
    """Return the first and the last number up to ``head`` that lie in no span."""
    in_order = sorted(spans)
    first, last = 1, head
    for start, end in in_order:
        if start <= first <= end:
            first = end + 1
    for start, end in reversed(in_order):
        if start <= last <= end:
            last = start - 1
    return first, last

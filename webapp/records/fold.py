"""The fold: entries in, records out.  Twin of static/js/records/fold.js.

Each field of a record is a multi-value register (Shapiro, Preguica, Baquero, Zawirski: "A
comprehensive study of convergent and commutative replicated data types", INRIA RR-7506, 2011).
Of all values ever set, those that no other entry has seen and replaced are the standing ones.
The result does not depend on the order in which entries arrive, nor on how often.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from . import canonical
from .entry import Entry

F = TypeVar("F")
EVERYTHING = "*"  # in `seen` of a removal: the entries whose values stood when it was removed


def entry_id(entry: Entry) -> str:
    """Return the identity of an entry within its job, ``writer:number``."""
    return f"{entry['writer']}:{entry['number']}"


def rank(identity: str) -> tuple[int, str]:
    """Return the sort key of the fixed rule: of several standing values the greatest is shown."""
    writer, _, number = identity.rpartition(":")
    return int(number), writer


@dataclass(slots=True)
class Record(Generic[F]):
    """One record as it stands: what is shown, and everything that competes with it."""

    id: str
    kind: str
    fields: F
    conflicts: dict[str, list[tuple[str, Any]]] = field(default_factory=dict)
    standing: dict[str, list[str]] = field(default_factory=dict)
    removed: bool = False
    unusable: Sequence[str] = ()  # fields taken out because their value is not whole


AnyRecord = Record[Any]  # of any kind: `kind` says which fields it has


@dataclass(slots=True)
class _Register:
    standing: dict[str, Any] = field(default_factory=dict)
    replaced: set[str] | None = None  # most have none, and an empty set takes 216 bytes


class Fold:
    """Takes entries in any order, any number of times; gives records."""

    def __init__(self, entries: Iterable[Entry] = ()) -> None:
        self._registers: dict[tuple[str, str], dict[str, _Register]] = {}
        self._removals: dict[tuple[str, str], dict[str, set[str]]] = {}
        for entry in entries:
            self.add(entry)

    def add(self, entry: Entry) -> None:
        """Take one entry."""
        key = (entry["kind"], entry["record_id"])
        identity = entry_id(entry)
        registers = self._registers.setdefault(key, {})
        seen = entry.get("seen") or {}
        for name, value in entry["fields"].items():
            register = registers.setdefault(name, _Register())
            for old in seen.get(name, ()):
                register.standing.pop(old, None)
                if register.replaced is None:
                    register.replaced = set()
                register.replaced.add(old)
            if register.replaced is None or identity not in register.replaced:
                register.standing[identity] = value
        if entry["fields"].get("removed"):
            self._removals.setdefault(key, {})[identity] = set(seen.get(EVERYTHING, ()))

    def records(self) -> list[AnyRecord]:
        """Return all records, removed ones too, ordered by kind and id."""
        return [self._record(*key) for key in sorted(self._registers)]

    def _record(self, kind: str, record_id: str) -> AnyRecord:
        record: AnyRecord = Record(record_id, kind, {})
        for name, register in sorted(self._registers[kind, record_id].items()):
            ids = sorted(register.standing, key=rank)
            if not ids:
                continue
            record.standing[name] = ids
            record.fields[name] = register.standing[ids[-1]]
            if len(ids) > 1 and len({canonical.dumps(register.standing[i]) for i in ids}) > 1:
                record.conflicts[name] = [(i, register.standing[i]) for i in ids]
        self._settle_removal(record)
        return record

    def _settle_removal(self, record: AnyRecord) -> None:
        """A removal that had not seen a standing change is a conflict, and the record stays."""
        removed = record.fields.pop("removed", False)
        record.removed = bool(removed) and "removed" not in record.conflicts
        if not record.removed:
            return
        removals = self._removals[record.kind, record.id]
        known = set().union(*(removals.get(i, set()) for i in record.standing["removed"]))
        unseen = {i for name, ids in record.standing.items() if name != "removed" for i in ids} - known
        own = set(record.standing["removed"])
        if unseen - own:
            last = record.standing["removed"][-1]
            record.removed = False
            record.conflicts["removed"] = [
                (last, True),
                *((i, False) for i in sorted(unseen - own, key=rank)),
            ]


def fold(entries: Iterable[Entry]) -> list[AnyRecord]:
    """Return the records that ``entries`` of one job make, removed ones too."""
    return Fold(entries).records()

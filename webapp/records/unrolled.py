"""The records of a job as they are used: composites whole, counters running on through every reset."""

import copy
from collections.abc import Iterable, Sequence
from typing import Any, Protocol, TypeVar, cast

from ..survey.composites import usable
from ..survey.instruments.counter_resets import as_if_never_reset
from ..survey.records import RecordsByKind, RunFields


class Recorded(Protocol):
    """A folded record, as far as its place and what was taken out of it are concerned."""

    id: str
    kind: str
    fields: dict[str, Any]
    conflicts: Any
    removed: bool
    unusable: Sequence[str]


R = TypeVar("R", bound=Recorded)


def running_records(records: Iterable[R]) -> list[R]:
    """Return the records, copies of those that ``usable`` or ``as_if_never_reset`` changes."""
    listed = [_usable(record) for record in records]
    reset_runs = {
        r.fields.get("run_id")
        for r in listed
        if r.kind == "reading" and r.fields.get("counter_reset") and not r.removed
    }
    if not reset_runs:
        return listed
    moved: dict[str, dict[str, Any]] = {}
    for run_id in reset_runs:
        run = next((r for r in listed if r.kind == "run" and r.id == run_id), None)
        mine = sorted((r for r in listed if r.fields.get("run_id") == run_id), key=lambda r: r.id)
        kinds: dict[str, list[dict[str, Any]]] = {"reading": []}
        for one in mine:
            if not one.removed:
                kinds.setdefault(one.kind, []).append({"id": one.id, "fields": one.fields})
        recorded: RunFields = cast(RunFields, run.fields) if run else {}
        fields, found, _ = as_if_never_reset(recorded, cast(RecordsByKind, kinds))
        moved.update(
            {
                one["id"]: dict(one["fields"])
                for group in cast(dict[str, list[dict[str, Any]]], found).values()
                for one in group
            }
        )
        if run is not None:
            moved[run.id] = dict(fields)
    return [_with(r, moved[r.id]) if r.id in moved and not r.removed else r for r in listed]


def _usable(record: R) -> R:
    plain: dict[str, Any] = {"fields": record.fields, "conflicts": record.conflicts}
    found = usable(plain)
    if found is plain:
        return record
    twin = _with(record, found["fields"])
    twin.conflicts, twin.unusable = found["conflicts"], found.get("unusable", ())
    return twin


def _with(record: R, fields: dict[str, Any]) -> R:
    twin = copy.copy(record)
    twin.fields = fields
    return twin

"""The entries of a job file: each sound, none twice or missing, and the records what they make."""

from collections.abc import Iterator, Mapping
from typing import Any, Literal

from ..messages import t
from ..records import canonical, job_file, job_file_parts
from ..records.entry import Entry, RecordJson
from ..records.fold import fold
from ..schemas import check_entry, envelope_faults
from .faults import NOTE, Fault, fault, pointer
from .form import sound_records

Value = Mapping[str, object]
Placed = list[tuple[int, Entry]]
PARTS_OF_RECORD: tuple[Literal["fields", "conflicts"], ...] = ("fields", "conflicts")


def check_entries(value: Value) -> Iterator[Fault]:
    """Tell of the entries, where the file has any."""
    entries = value.get("entries")
    if not isinstance(entries, list):
        return
    aside = value.get("aside", {})
    placed: Placed = []
    for index, entry in enumerate(entries):
        place = pointer("entries", index)
        whys = envelope_faults(entry)
        for why in whys:
            yield fault("entry_unsound", place, why=why)
        if not whys and entry["job_id"] != value.get("job_id"):
            yield fault("entry_of_other_job", f"{place}/job_id")
        elif not whys:
            placed.append((index, entry))
    yield from _check_numbers(placed)
    if not isinstance(aside, dict):
        return
    yield from _check_aside(aside, {_name(entry) for _, entry in placed})
    foldable: Placed = []
    for index, entry in placed:
        if _name(entry) in aside:
            yield _kept_out(index, entry, aside[_name(entry)])
        elif not job_file_parts.folds(entry):
            why = t("jobcheck.entry_parts", entry=_name(entry))
            yield fault("entry_unsound", pointer("entries", index), why=why)
        else:
            foldable.append((index, entry))
            yield from _check_values(index, entry)
    yield from _check_seen(foldable, {_name(entry) for _, entry in placed})
    yield from _check_made(value, [entry for _, entry in foldable])


def _name(entry: Entry) -> str:
    return f"{entry['writer']}:{entry['number']}"


def _check_numbers(placed: Placed) -> Iterator[Fault]:
    before: tuple[str, int] = ("", 0)
    for index, entry in sorted(placed, key=lambda one: (one[1]["writer"], one[1]["number"])):
        writer, number = entry["writer"], entry["number"]
        expected = before[1] + 1 if writer == before[0] else 1
        place = pointer("entries", index, "number")
        if number < expected:
            yield fault("entry_twice", place, entry=_name(entry))
        elif number > expected:
            yield fault("entry_missing", place, expected=f"{writer}:{expected}", found=_name(entry))
        before = (writer, number)


def _check_aside(aside: Mapping[str, object], known: set[str]) -> Iterator[Fault]:
    for name, reason in aside.items():
        if not job_file_parts.is_reason(reason):
            yield fault("part_malformed", pointer("aside", name), why=t("jobcheck.reason_parts"))
        if name not in known:
            yield fault("aside_stray", pointer("aside", name))


def _kept_out(index: int, entry: Entry, reason: Any) -> Fault:
    reasons = reason.get("reasons", {}) if isinstance(reason, dict) else {}
    sentences = (
        [str(s) for r in reasons.values() if isinstance(r, list) for s in r]
        if isinstance(reasons, dict)
        else []
    )
    why = " ".join(sentences) or str(reason.get("code", "") if isinstance(reason, dict) else "")
    record = {"kind": entry.get("kind"), "id": entry.get("record_id"), "fields": entry.get("fields")}
    return fault("entry_kept_out", pointer("entries", index), record, NOTE, why=why)


def _check_values(index: int, entry: Entry) -> Iterator[Fault]:
    record = {"kind": entry["kind"], "id": entry["record_id"], "fields": entry["fields"]}
    for name, sentences in check_entry(entry).items():
        first, *rest = name.split(".")
        inside = ("fields", first, *rest) if first in entry["fields"] else (first,) if first in entry else ()
        for why in sentences:
            yield fault("value_refused", pointer("entries", index, *inside), record, why=why)


def _check_seen(placed: Placed, known: set[str]) -> Iterator[Fault]:
    for index, entry in placed:
        for name, ids in (entry.get("seen") or {}).items():
            for number, one in enumerate(ids):
                if one not in known:
                    place = pointer("entries", index, "seen", name, number)
                    yield fault("seen_unknown", place, None, NOTE, entry=one)


def _check_made(value: Value, entries: list[Entry]) -> Iterator[Fault]:
    """The records must be what the entries make, field by field."""
    try:
        made = {(r.kind, r.id): job_file.record_json(r) for r in fold(entries)}
    except (KeyError, TypeError, ValueError):
        return  # entries that cannot be put together have been told one by one
    for index, record in sound_records(value):
        place = pointer("records", index)
        other = made.pop((record["kind"], record["id"]), None)
        if other is None:
            yield fault("record_not_made", place, record)
            continue
        for part, name in _differences(record, other):
            yield fault("record_differs", f"{place}{part}", record, field=name)
    for other in made.values():
        yield fault("record_left_out", "/records", other)


def _differences(record: RecordJson, made: RecordJson) -> Iterator[tuple[str, str]]:
    for part in PARTS_OF_RECORD:
        stated, found = record.get(part) or {}, made.get(part) or {}
        for name in sorted(set(stated) | set(found)):
            if name not in stated or name not in found or not _same(stated[name], found[name]):
                yield pointer(part, name), name
    if bool(record.get("removed")) != bool(made.get("removed")):
        yield "/removed", "removed"


def _same(one: Any, other: Any) -> bool:
    return canonical.dumps(one) == canonical.dumps(other)

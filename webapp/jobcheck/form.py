"""The form of a job file, of its records and of its list of photos."""

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from typing import Any

from marshmallow import ValidationError

from ..messages import t
from ..records import canonical, job_file, job_file_parts
from ..records.entry import RecordJson
from ..schemas import KINDS, schema_for
from ..schemas.base import is_uuid
from ..schemas.entry import flatten
from .faults import Fault, fault, pointer, title_of

Value = Mapping[str, object]


def check_parts(value: Value) -> Iterator[Fault]:
    """Tell of the parts of the file: their names, and whether each is of its kind."""
    for name in sorted(set(value) - set(job_file.PARTS)):
        yield fault("part_unknown", pointer(name), name=name)
    if not is_uuid(value.get("job_id")):
        yield fault("part_malformed", "/job_id", why=t("jobcheck.job_id"))
    for name in ("records", "photos", "entries"):
        if (name in value or name == "records") and not isinstance(value.get(name), list):
            yield fault("part_malformed", pointer(name), why=t("jobcheck.part_list", name=name))
    if not isinstance(value.get("aside", {}), dict):
        yield fault("part_malformed", "/aside", why=t("jobcheck.aside_object"))


def check_records(value: Value) -> Iterator[Fault]:
    """Tell of the form of each record and of the values of its fields; a removed one may hold anything."""
    first: dict[tuple[str, str], int] = {}
    for index, record in enumerate(records_of(value)):
        place = pointer("records", index)
        if why := job_file_parts.record_fault(record):
            yield fault("record_malformed", place, record if isinstance(record, dict) else None, why=why)
            continue
        key = record["kind"], record["id"]
        if key in first:
            yield fault("record_twice", place, record, first=first[key] + 1)
        first.setdefault(key, index)
        if record["kind"] not in KINDS:
            yield fault("kind_unknown", f"{place}/kind", record, kind=record["kind"])
        elif (record["kind"] == "job") != (record["id"] == value.get("job_id")):
            yield fault("id_of_job", f"{place}/id", record)
        elif "entries" not in value:
            yield from _check_values(record, place)
    yield from _shared_ids(value, first)


def records_of(value: Value) -> list[Any]:
    """Return the list of records; empty where it is none."""
    found = value.get("records")
    return found if isinstance(found, list) else []


def sound_records(value: Value) -> list[tuple[int, RecordJson]]:
    """Return the records whose form is right and whose kind is known, with their places in the list."""
    return [
        (index, record)
        for index, record in enumerate(records_of(value))
        if not job_file_parts.record_fault(record) and record["kind"] in KINDS
    ]


def _check_values(record: RecordJson, place: str) -> Iterator[Fault]:
    """A file without entries is made into entries, so each value of it has to pass."""
    if not record["fields"] and not record.get("removed") and not record.get("conflicts"):
        yield fault("record_empty", place, record)
    yield from _refused(record, record["fields"], pointer_of=lambda name: f"{place}/fields{name}")
    for name, standing in record.get("conflicts", {}).items():
        if name == "removed":
            continue
        under = f"{place}/conflicts{pointer(name)}"
        for number, (_, one) in enumerate(standing):
            below = f"{under}/{number}/1"
            yield from _refused(record, {name: one}, pointer_of=partial(_always, below))
        shown = record["fields"].get(name)
        if not standing or canonical.dumps(standing[-1][1]) != canonical.dumps(shown):
            yield fault("conflict_shown", under, record)


def _always(place: str, name: str) -> str:
    return place


def _refused(
    record: RecordJson, fields: Mapping[str, object], pointer_of: Callable[[str], str]
) -> Iterator[Fault]:
    if not fields:
        return
    try:
        schema_for(record["kind"]).load(fields)
    except ValidationError as error:
        for name, sentences in flatten(error.messages).items():
            for why in sentences:
                yield fault("value_refused", pointer_of(pointer(*name.split("."))), record, why=why)


def _shared_ids(value: Value, first: dict[tuple[str, str], int]) -> Iterator[Fault]:
    seen: dict[str, int] = {}
    for (_, record_id), index in first.items():
        if record_id in seen:
            other = title_of(records_of(value)[seen[record_id]])
            yield fault("id_shared", pointer("records", index, "id"), records_of(value)[index], other=other)
        seen.setdefault(record_id, index)


def check_photo_list(value: Value) -> Iterator[Fault]:
    """Tell of the form of the list of photos."""
    seen: set[str] = set()
    photos = value.get("photos", [])
    for index, photo in enumerate(photos if isinstance(photos, list) else []):
        place = pointer("photos", index)
        if not job_file_parts.is_photo(photo):
            yield fault("photo_malformed", place)
            continue
        if photo["sha256"] in seen:
            yield fault("photo_twice", place)
        seen.add(photo["sha256"])

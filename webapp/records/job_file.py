"""The job file: a whole job as one JSON text.  Pure: bytes and plain values in, plain values out.

build(job_id, entries, aside, photos) -> dict       dumps(dict) -> bytes
read(bytes) -> JobFile                              job_file_schema() -> JSON Schema
"""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from ..errors import AppError
from ..messages import t
from ..schemas import check_entry, envelope_faults
from ..schemas.base import is_uuid
from ..schemas.wire import JOB_FILE_FORMAT, JOB_FILE_VERSION, job_file_schema
from ..survey.composites import FORMS
from . import canonical
from .collector import paused
from .entry import Aside, Entry, JobFileJson, ListedPhoto, RecordJson
from .fold import AnyRecord, entry_id, fold, rank
from .job_file_parts import folds, is_photo, is_reason, record_fault
from .json_text import loads_counted

PARTS = ("format", "version", "job_id", "records", "entries", "aside", "photos")
_UNDATED = "1970-01-01"

__all__ = [
    "JobFile", "build", "check", "dumps", "job_file_schema", "photo_hashes",
    "read",
]  # fmt: skip

PhotoBytes = Callable[[str], bytes | None]


@dataclass(frozen=True)
class JobFile:
    """A job file as read: its entries (made from the records where it had none) and what they fold to.

    ``alone``: it came by itself, not in a zip, and is taken whole or not at all (D54).
    """

    job_id: str
    entries: list[Entry]
    aside: Aside
    records: list[AnyRecord]
    photos: list[ListedPhoto]
    alone: bool = False


@dataclass(frozen=True)
class StoredJob:
    """A job as the database holds it."""

    job_id: str
    entries: list[Entry]
    aside: Aside
    photos: list[ListedPhoto]


def build(job_id: str, entries: Iterable[Entry], aside: Aside, photos: Iterable[ListedPhoto]) -> JobFileJson:
    """Return the job file of a job: records folded, entries in order, photos by hash."""
    ordered = sorted(entries, key=lambda e: (e["writer"], e["number"]))
    known = {entry_id(e) for e in ordered}
    left_out = {i: aside[i] for i in sorted(aside, key=rank) if i in known}
    standing = fold(e for e in ordered if entry_id(e) not in left_out)
    return {
        "format": JOB_FILE_FORMAT,
        "version": JOB_FILE_VERSION,
        "job_id": job_id,
        "records": [record_json(r) for r in standing],
        "entries": ordered,
        "aside": left_out,
        "photos": _listed(photos),
    }


def photo_hashes(entries: Iterable[Entry], aside: Aside) -> list[str]:
    """Return the hashes that the job's photo records name, removed ones too."""
    kept = (e for e in entries if e.get("kind") == "photo" and entry_id(e) not in aside)
    named = {r.fields.get("sha256") for r in fold(kept)}
    return sorted(h for h in named if isinstance(h, str))


def check_stored(stored: StoredJob) -> JobFile:
    """Return what a stored job's file would be read as: its entries were checked when they came.

    Those that break a rule of today are set aside, as when the file itself is read, but for composites that
    are not whole: a phone uses the rest of such an entry, and so does this.
    """
    ordered = sorted(stored.entries, key=lambda e: (e["writer"], e["number"]))
    known = {entry_id(e) for e in ordered}
    whole = {i: stored.aside[i] for i in sorted(stored.aside, key=rank) if i in known}
    for entry in ordered:
        if entry_id(entry) not in whole and (reasons := _faults(entry)):
            whole[entry_id(entry)] = {"code": "entry_refused", "reasons": reasons}
    standing = fold(e for e in ordered if entry_id(e) not in whole)
    return JobFile(stored.job_id, ordered, whole, standing, _listed(stored.photos))


def _listed(photos: Iterable[ListedPhoto]) -> list[ListedPhoto]:
    return [
        {"sha256": p["sha256"], "size_bytes": p["size_bytes"], "media_type": p["media_type"]}
        for p in sorted(photos, key=lambda p: str(p["sha256"]))
    ]


def record_json(record: AnyRecord) -> RecordJson:
    """Return a record as the job file writes it."""
    found: RecordJson = {"kind": record.kind, "id": record.id, "fields": record.fields}
    if record.removed:
        found["removed"] = True
    if record.conflicts:
        found["conflicts"] = {n: [[i, v] for i, v in vs] for n, vs in record.conflicts.items()}
    return found


def dumps(job_file: Mapping[str, object]) -> bytes:
    """Return the bytes of a job file: the same job, the same bytes; one record or entry a line."""
    lines = []
    for part in (p for p in PARTS if p in job_file):
        value = job_file[part]
        if isinstance(value, list) and value:
            text = "[\n" + ",\n".join("  " + text_of(v) for v in value) + "\n ]"
        elif isinstance(value, Mapping) and value:
            rows = (f"  {json.dumps(k)}:{text_of(value[k])}" for k in sorted(value))
            text = "{\n" + ",\n".join(rows) + "\n }"
        else:
            text = text_of(value)
        lines.append(f' "{part}": {text}')
    return ("{\n" + ",\n".join(lines) + "\n}\n").encode()


def text_of(value: Any) -> str:
    """Return canonical JSON text that any UTF-8 store can hold: lone surrogates are escaped."""
    return canonical.escape_surrogates(canonical.dumps(value))


def read(data: bytes) -> JobFile:
    """Return the job file that ``data`` holds, checked; AppError says what is wrong with it."""
    with paused():
        try:
            value = loads_counted(data)
        except ValueError as error:
            raise AppError("file_not_json") from error
        return check(value)


def check(value: Any) -> JobFile:
    """Return the job file that a parsed value is, checked."""
    check_kind(value)
    if extra := sorted(set(value) - set(PARTS)):
        raise _invalid(t("jobcheck.part_odd", part=extra[0]), extra[0])
    job_id: Any = value.get("job_id")
    if not is_uuid(job_id):
        raise _invalid(t("jobcheck.job_id"), "job_id")
    records: Any = value.get("records")
    photos = value.get("photos", [])
    _check_records(records)
    _check_photos(photos)
    try:
        if "entries" in value:
            return _from_entries(job_id, records, value["entries"], value.get("aside", {}), photos)
        if value.get("aside", {}) != {}:
            raise _invalid(t("jobcheck.aside_without_entries"), "aside")
        return _from_records(job_id, records, photos)
    except RecursionError as error:
        raise _invalid(t("jobcheck.nested_too_deeply"), None) from error


def check_kind(value: Any) -> None:
    """Refuse what is no job file, or one of a later version."""
    if not isinstance(value, dict) or value.get("format") != JOB_FILE_FORMAT:
        raise AppError("job_file_kind")
    version = value.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise _invalid(t("jobcheck.version_number"), "version")
    if version > JOB_FILE_VERSION:
        raise AppError(
            "job_file_newer", t("jobcheck.version_newer", version=str(version)[:20], known=JOB_FILE_VERSION)
        )


def _invalid(detail: str, field: str | None, index: int | None = None) -> AppError:
    return AppError("job_file_invalid", detail, field=field, index=index)


def _check_records(records: Any) -> None:
    if not isinstance(records, list):
        raise _invalid(t("jobcheck.records_list"), "records")
    seen: set[tuple[str, str]] = set()
    for index, record in enumerate(records):
        fault = record_fault(record)
        if not fault and (record["kind"], record["id"]) in seen:
            fault = t("jobcheck.record_in_list_twice")
        if fault:
            raise _invalid(t("jobcheck.in_record", number=index + 1, fault=fault), "records", index)
        seen.add((record["kind"], record["id"]))


def _check_photos(photos: Any) -> None:
    if not isinstance(photos, list):
        raise _invalid(t("jobcheck.photos_list"), "photos")
    for index, photo in enumerate(photos):
        if not is_photo(photo):
            raise _invalid(t("jobcheck.photo_parts", number=index + 1), "photos", index)


def _from_entries(job_id: str, records: list[Any], entries: Any, aside: Any, photos: list[Any]) -> JobFile:
    if not isinstance(entries, list):
        raise _invalid(t("jobcheck.entries_list"), "entries")
    if not isinstance(aside, dict) or not all(is_reason(v) for v in aside.values()):
        raise _invalid(t("jobcheck.aside_object"), "aside")
    for index, entry in enumerate(entries):
        if fault := _entry_fault(entry, job_id):
            raise _invalid(t("jobcheck.in_entry", number=index + 1, fault=fault), "entries", index)
    ordered = sorted(entries, key=lambda e: (e["writer"], e["number"]))
    _check_numbers(ordered)
    known = {entry_id(e) for e in ordered}
    if stray := sorted(set(aside) - known):
        raise _invalid(t("jobcheck.aside_names", entry=stray[0]), "aside")
    foldable = [e for e in ordered if entry_id(e) not in aside]
    for index, entry in enumerate(foldable):
        if not folds(entry):
            raise _invalid(t("jobcheck.entry_parts", entry=entry_id(entry)), "entries", index)
    stated = sorted(records, key=lambda r: (r["kind"], r["id"]))
    made = [record_json(r) for r in fold(foldable)]
    if canonical.dumps([_bare(r) for r in stated]) != canonical.dumps([_bare(r) for r in made]):
        raise AppError("job_file_inconsistent")
    whole = dict(aside)
    for entry in foldable:
        if reasons := _faults(entry):
            whole[entry_id(entry)] = {"code": "entry_refused", "reasons": reasons}
    return JobFile(job_id, ordered, whole, fold(e for e in ordered if entry_id(e) not in whole), photos)


def _faults(entry: Entry) -> dict[str, list[str]]:
    """What a stored entry is set aside for.  A composite that cannot be used leaves its other fields good."""
    faults = check_entry(entry)
    only_composites = all(name.partition(".")[0] in FORMS for name in faults)
    return {} if only_composites else faults


def _bare(record: Mapping[str, object]) -> dict[str, object]:
    """A part that says nothing (removed false, no conflicts) is the same as no such part."""
    return {k: v for k, v in record.items() if not (k in ("removed", "conflicts") and not v)}


def _entry_fault(entry: Any, job_id: str) -> str | None:
    if faults := envelope_faults(entry):
        return faults[0]
    return None if entry["job_id"] == job_id else t("jobcheck.belongs_to_other_job")


def _check_numbers(ordered: list[Entry]) -> None:
    before: tuple[str, int] = ("", 0)
    for entry in ordered:
        writer, number = entry["writer"], entry["number"]
        expected = before[1] + 1 if writer == before[0] else 1
        if number != expected:
            raise _invalid(t("jobcheck.numbers", writer=writer, expected=expected, found=number), "entries")
        before = (writer, number)


def _from_records(job_id: str, records: list[Any], photos: list[Any]) -> JobFile:
    """Make entries from records.  The writer's name is their hash: the same file twice doubles nothing."""
    writer = "file-" + canonical.digest(records)[:24]
    day = next((r["fields"].get("surveyed_on") for r in records if r["kind"] == "job"), None)
    stamp = f"{day if isinstance(day, str) else _UNDATED}T12:00:00+00:00"
    entries: list[Entry] = []
    for index, record in enumerate(records):
        for fields in _changes(record):
            entry: Entry = {
                "job_id": job_id,
                "writer": writer,
                "number": len(entries) + 1,
                "device_id": "job file",
                "record_id": record["id"],
                "kind": record["kind"],
                "fields": fields,
                "recorded_at": stamp,
            }
            if faults := check_entry(entry):
                name, sentences = next(iter(faults.items()))
                raise _invalid(
                    t("jobcheck.in_record_field", number=index + 1, name=name, why=sentences[0]), name, index
                )
            entries.append(entry)
    return JobFile(job_id, entries, {}, fold(entries), photos)


def _changes(record: RecordJson) -> list[dict[str, object]]:
    """Return the changes that make a record again.  What is shown comes last, for the greatest is shown."""
    others: list[dict[str, object]] = []
    for name, values in record.get("conflicts", {}).items():
        if name == "removed":
            others.append({"removed": True})
        else:
            others += [{name: value} for _, value in values[:-1]]
    shown = {**record["fields"], **({"removed": True} if record.get("removed") else {})}
    return [*others, shown] if shown else others

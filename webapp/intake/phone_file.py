"""The file that a phone saves when the app does not open: its database as it lies there.  Pure.

read(bytes) -> PhoneFile
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ..errors import AppError
from ..messages import t
from ..records.entry import Aside, Entry, ListedPhoto, Rejection
from ..records.fold import entry_id, fold
from ..records.job_file import JobFile
from ..records.job_file_parts import folds, is_photo
from ..records.json_text import loads_counted
from ..schemas import envelope_faults

NAME = "phone.json"
FORMAT = "fallbook-phone"
VERSION = 1


@dataclass
class PhoneFile:
    """What a phone held: its jobs, the photos in this file, and lines on what could not be taken."""

    jobs: list[JobFile] = field(default_factory=list)
    photos: list[ListedPhoto] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)


def read(data: bytes) -> PhoneFile:
    """Return what the phone held.  A row that makes no sense is told and keeps no other from being taken."""
    try:
        value = loads_counted(data)
    except ValueError as error:
        raise AppError("file_not_json") from error
    if not isinstance(value, dict) or value.get("format") != FORMAT:
        raise AppError("job_file_kind")
    if value.get("version") != VERSION:
        raise AppError("job_file_newer", t("file.of_version", version=str(value.get("version"))[:20]))
    found = PhoneFile()
    listed = value.get("photos")
    found.photos = [p for p in listed if is_photo(p)] if isinstance(listed, list) else []
    entries = _entries(value, found.left_out)
    aside = _aside(value)
    for job_id in sorted(entries):
        found.jobs.append(_job(job_id, entries[job_id], aside.get(job_id, {}), found.photos))
    return found


def _rows(value: dict[str, Any], store: str) -> Iterator[Any]:
    stores = value.get("stores")
    rows = stores.get(store) if isinstance(stores, dict) else None
    for row in rows if isinstance(rows, list) else []:
        yield row[1] if isinstance(row, list) and len(row) == 2 else None


def _entries(value: dict[str, Any], left_out: list[str]) -> dict[str, list[Entry]]:
    found: dict[str, list[Entry]] = defaultdict(list)
    for number, entry in enumerate(_rows(value, "entries"), start=1):
        if faults := envelope_faults(entry):
            left_out.append(t("file.entry_not_taken", number=number, why=faults[0]))
        else:
            found[entry["job_id"]].append(entry)
    return found


def _aside(value: dict[str, Any]) -> dict[str, Aside]:
    found: dict[str, Aside] = defaultdict(dict)
    for row in _rows(value, "aside"):
        if not envelope_faults(row) and isinstance(row.get("code"), str):
            reasons = row.get("reasons")
            why: Rejection = {"code": row["code"], "reasons": reasons if isinstance(reasons, dict) else {}}
            found[row["job_id"]][entry_id(row)] = why
    return found


def _job(job_id: str, entries: list[Entry], aside: Aside, photos: list[ListedPhoto]) -> JobFile:
    ordered = sorted(entries, key=lambda e: (e["writer"], e["number"]))
    here = {entry_id(e) for e in ordered}
    known = {i: why for i, why in aside.items() if i in here}
    foldable = [e for e in ordered if entry_id(e) not in known and folds(e)]
    records = fold(foldable)
    named = {r.fields.get("sha256") for r in records if r.kind == "photo"}
    return JobFile(job_id, ordered, known, records, [p for p in photos if p["sha256"] in named])

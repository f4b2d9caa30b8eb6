"""Readings of other instruments from a CSV file into a run: what would be made, then all of it or nothing."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NotRequired, TypedDict, cast

from .. import tables
from ..errors import AppError
from ..messages import t
from ..records import canonical
from ..records.entry import Entry
from ..records.fold import EVERYTHING, AnyRecord, fold
from ..records.job_file import JobFile
from ..store import entry_rows, kept_rows
from ..store.engine import reading
from ..survey.errors import SurveyError
from ..survey.readings_file.csv_choices import CsvChoices
from ..survey.readings_file.csv_columns import csv_sentence, find_columns
from ..survey.readings_file.csv_profile import header_signature
from ..survey.readings_file.csv_table import MAX_BYTES, CsvTable, decode_text, split_table
from ..survey.readings_file.readings_csv import CsvResult, read_readings
from ..survey.readings_file.readings_taken import BesideStanding, beside_standing
from ..survey.table_types.codes import ReadingsCsv
from ..sync.exchange import now_text
from .readings_profiles import Profiles

SAMPLES = 3  # rows
WRITER, DEVICE = "csv-", "readings file"
Choices = Mapping[str, Any]


@dataclass(frozen=True)
class Preview:
    """What a file holds and what would become of it in a run; ``samples`` are its first rows of data."""

    result: CsvResult
    beside: BesideStanding
    charset: str
    separator: str
    samples: list[list[str]]

    def lines(self) -> list[str]:
        """Return what is not taken, or only in part, line by line."""
        rows = sorted([*self.result["left"], *self.result["notes"]], key=lambda row: int(row["line"]))
        return [
            t("file.at_line", line=row["line"], sentence=sentence(row["code"], row["values"])) for row in rows
        ]


def sentence(code: str, values: Mapping[str, Any]) -> str:
    """Return the sentence of a code of the reader."""
    return csv_sentence(tables.load("readings_csv"), code, values)


def find_run(reference: str, job_id: str | None) -> tuple[str, AnyRecord, list[AnyRecord]]:
    """Return job, run and its readings, those removed among them; ``reference`` is its id or its name."""
    with reading() as connection:
        found = []
        for one in [job_id] if job_id else entry_rows.job_ids(connection):
            for run in fold(kept_rows.kept(connection, one, "run")):
                if reference in (run.id, run.fields.get("run_ref")) and not run.removed:
                    found.append((one, run))
        if len(found) != 1:
            text = t("file.several_runs") if found else ""
            raise AppError("run_not_found", text or f"({reference[:60]})")
        job, run = found[0]
        records = fold(kept_rows.kept(connection, job, "reading"))
    return job, run, [r for r in records if r.fields.get("run_id") == run.id]


def load(path: Path) -> bytes:
    """Return the bytes of a file of readings; one too large is refused before it is read."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise AppError("readings_file", sentence("csv_too_large", {"kind": "bytes"}))
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)  # no more, also of what never ends
    except OSError as error:
        raise AppError("file_unreadable", f"({error.strerror}: {path.name})") from error
    if len(data) > MAX_BYTES:
        raise AppError("readings_file", sentence("csv_too_large", {"kind": "bytes"}))
    return data


def preview(
    data: bytes, choices: Choices, run: AnyRecord, readings: list[AnyRecord], profiles: Profiles | None = None
) -> Preview:
    """Return what would become of a file; AppError if it is not one of readings.

    ``profiles`` are answers of earlier files: those for files with the same columns are used where nothing
    else is chosen.
    """
    words = tables.load("readings_csv")
    try:
        decoded = decode_text(data)
        table = split_table(decoded["text"], choices.get("separator") or "")
        named = {k: _column(v, table, words) if k.endswith("_column") else v for k, v in choices.items()}
        found = find_columns(table["rows"], words)
        kept = (profiles or {}).get(header_signature(found["header"], found["header_line"]))
        result = read_readings(table, words, cast(CsvChoices, {**named, "remembered": kept}))
    except SurveyError as error:
        raise AppError("readings_file", sentence(error.code, {"kind": error.field})) from error
    standing = [{"id": r.id, "fields": r.fields, "removed": r.removed} for r in readings]
    beside = beside_standing(result["taken"], hashlib.sha256(data).hexdigest(), run.id, standing)
    samples = [row["cells"] for row in table["rows"][found["first"] :][:SAMPLES]]
    return Preview(result, beside, decoded["charset"], table["separator"], samples)


def _column(name: Any, table: CsvTable, words: ReadingsCsv) -> int | None:
    """A column is named as in the header, or by its number from 1."""
    if name is None:
        return None
    if name == "-":
        return -1
    header = [cell.casefold() for cell in find_columns(table["rows"], words)["header"]]
    if header.count(name.casefold()) > 1:
        raise SurveyError("csv_column", "several")
    if name.casefold() in header:
        return header.index(name.casefold())
    return int(name) - 1 if name.isascii() and name.isdigit() and int(name) <= len(header) else len(header)


def job_of(job_id: str, found: Preview, readings: list[AnyRecord], overwrite: bool) -> JobFile:
    """Return the entries that the preview comes to, as a job to take."""
    beside = found.beside
    rows = [] if beside["otherwise"] else list(beside["new"])
    if overwrite:
        rows = [*beside["new"], *beside["other"], *beside["removed"], *beside["gone"]]
    standing = {r.id: r for r in readings}
    bodies = [_change(row["record_id"], row["fields"], standing.get(row["record_id"])) for row in rows]
    stamp = now_text()
    writer = WRITER + canonical.digest([job_id, stamp, bodies])[:24]
    entries = [_entry(job_id, writer, number, stamp, body) for number, body in enumerate(bodies, start=1)]
    return JobFile(job_id, entries, {}, [], [])


class _Change(TypedDict):
    """What an entry does to a record."""

    record_id: str
    fields: dict[str, object]
    seen: NotRequired[dict[str, list[str]]]


def _entry(job_id: str, writer: str, number: int, stamp: str, body: _Change) -> Entry:
    entry: Entry = {
        "job_id": job_id,
        "writer": writer,
        "number": number,
        "device_id": DEVICE,
        "kind": "reading",
        "recorded_at": stamp,
        "record_id": body["record_id"],
        "fields": body["fields"],
    }
    if "seen" in body:
        entry["seen"] = body["seen"]
    return entry


def _change(record_id: str, fields: dict[str, object], here: AnyRecord | None) -> _Change:
    if here is None:
        return {"record_id": record_id, "fields": fields}
    if fields.get("removed"):
        stood = sorted({one for ids in here.standing.values() for one in ids})
        return {"record_id": record_id, "fields": fields, "seen": {EVERYTHING: stood}}
    changed = {k: v for k, v in fields.items() if here.fields.get(k) != v}
    if here.fields.get("remark") is not None and "remark" not in fields:
        changed["remark"] = None
    if here.removed:
        changed["removed"] = False
    found: _Change = {"record_id": record_id, "fields": changed}
    if seen := {name: here.standing[name] for name in changed if here.standing.get(name)}:
        found["seen"] = seen
    return found

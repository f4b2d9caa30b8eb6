"""The records of one exchange file on their way into entries of a new job.

Ids come from the file's own bytes and the order of what it holds, so that reading the same file
twice makes the same entries.
"""

import hashlib
from datetime import date
from typing import Any

from ..errors import AppError
from ..messages import t
from ..records.entry import Entry
from ..schemas import check_entry
from . import headers
from .extras import custom_uuid, derived_id, texts
from .model import Note
from .parser import Contents

WRITER, DEVICE = "xfer-", "exchange file"
UNDATED = "1970-01-01"
SHORT = 60  # characters that a reference may have


class JobBuilder:
    """The records of one file on their way into entries."""

    def __init__(self, digest: str, contents: Contents) -> None:
        self.digest, self.contents = digest, contents
        self.notes = contents.notes
        self.records: dict[str, tuple[str, dict[str, Any]]] = {}
        self.job_id = self.new_id()
        self.job: dict[str, Any] = {}
        self._nodes: dict[str, str] = {}

    def new_id(self) -> str:
        """Return the next id: the file's hash, then a number that grows with the place in the file."""
        number = len(self.records)
        own = hashlib.sha256(f"{self.digest}/{number}".encode()).digest()
        low = number << 38 | int.from_bytes(own[:5], "big") >> 2
        return str(custom_uuid(int(self.digest[:12], 16) << 80 | low))

    def add(self, kind: str, fields: dict[str, Any], record_id: str = "") -> str:
        """Keep a record; returns its id."""
        record_id = record_id or self.new_id()
        self.records[record_id] = (kind, fields)
        return record_id

    def note(self, line: int, outcome: str, what: str, why: str) -> None:
        """Say what became of something."""
        self.notes.append(Note(line, outcome, what, why))

    def node(self, ref: str, line: int) -> str:
        """Return the node of a reference; the same reference is the same node."""
        if ref not in self._nodes:
            short, why = self.fitting("node", "node_ref", ref)
            if why:
                self.note(
                    line,
                    "changed",
                    t("exchange.node_reference", reference=f"{short!r}"),
                    t("exchange.whole_in_remark", why=why),
                )
            self._nodes[ref] = self.add("node", {"node_ref": short})
        return self._nodes[ref]

    def fitting(self, kind: str, name: str, value: str) -> tuple[str, str]:
        """Return a reference as its field can hold it, and what is wrong with the whole of it."""
        why = self.fault(kind, {name: value})
        return (value[:SHORT], why) if why else (value, "")

    def fault(self, kind: str, fields: dict[str, Any]) -> str:
        """Return the first sentence that speaks against the fields of a record; empty if none does."""
        if kind == "job" and "surveyed_on" in fields and not _is_date(fields["surveyed_on"]):
            return t("exchange.no_date")
        faults = check_entry(
            self._entry(1, self.job_id if kind == "job" else derived_id("", 0), kind, fields)
        )
        return next((sentences[0] for sentences in faults.values()), "")

    def keep_beside(self, record_id: str, run_id: str, values: dict[str, str], counter_m: Any = None) -> None:
        """Keep what has no field beside a record, in remarks that are found again when writing."""
        if not values:
            return
        titles = {code: headers.title(code) for code in values}
        for part, text in enumerate(texts(values, titles)):
            fields = {"run_id": run_id, "text": text}
            if counter_m is not None:
                fields["counter_m"] = counter_m
            self.add("remark", fields, derived_id(record_id, part))

    def title(self) -> str:
        runs = [f for kind, f in self.records.values() if kind == "run"]
        run, more = runs[0]["run_ref"], len(runs) - 1
        title = t("exchange.title_more", run=run, more=more) if more else t("exchange.title", run=run)
        return title[:120]

    def entries(self) -> list[Entry]:
        found = []
        for number, (record_id, (kind, fields)) in enumerate(self.records.items(), start=1):
            entry = self._entry(number, record_id, kind, fields)
            if faults := check_entry(entry):
                raise AppError("exchange_unreadable", t("exchange.made_unsound", kind=kind, faults=faults))
            found.append(entry)
        return found

    def _entry(self, number: int, record_id: str, kind: str, fields: dict[str, Any]) -> Entry:
        day = self.job.get("surveyed_on") or UNDATED
        return {
            "job_id": self.job_id,
            "writer": WRITER + self.digest[:24],
            "number": number,
            "device_id": DEVICE,
            "record_id": record_id,
            "kind": kind,
            "fields": fields,
            "recorded_at": f"{day}T12:00:00+00:00",
        }


def _is_date(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False

"""One fault of a job file."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..messages import general, t
from ..schemas import KINDS

FAULT, NOTE = "fault", "note"


@dataclass(frozen=True)
class Fault:
    """What is wrong, where, and of which record; a note is worth knowing and makes nothing unsound."""

    code: str
    pointer: str  # RFC 6901; empty for the whole file
    message: str
    severity: str = FAULT
    kind: str = ""
    record_id: str = ""
    title: str = ""
    line: int | None = None


def fault(
    code: str,
    pointer: str,
    record: Mapping[str, object] | None = None,
    severity: str = FAULT,
    /,
    **values: Any,
) -> Fault:
    """Return a fault with the sentence of its code."""
    message = t(f"jobcheck.{code}", **values)
    if record is None:
        return Fault(code, pointer, message, severity)
    kind, record_id = str(record.get("kind") or ""), str(record.get("id") or "")
    return Fault(code, pointer, message, severity, kind, record_id, title_of(record))


def title_of(record: Mapping[str, object]) -> str:
    """Return what a person calls a record: its kind, its reference or code, its place."""
    kind, fields = record.get("kind"), record.get("fields")
    label = KINDS[kind].LABEL if isinstance(kind, str) and kind in KINDS else t("jobcheck.record")
    if not isinstance(fields, Mapping):
        return label
    names = ("run_ref", "node_ref", "code", "title", "check_type", "question_id", "caption", "text")
    name = next((str(fields[n]) for n in names if isinstance(fields.get(n), str) and fields[n].strip()), "")
    counter_m = fields.get("counter_m", fields.get("from_counter_m"))
    at = (
        ""
        if isinstance(counter_m, bool) or not isinstance(counter_m, int | float)
        else t("jobcheck.at", counter_m=general(counter_m))
    )
    return " ".join(part for part in (label, name[:60], at) if part)


def pointer(*parts: str | int) -> str:
    """Return the JSON pointer (RFC 6901) of a place."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)

"""Whether the parts of a job file have their form; what they say is looked at elsewhere."""

import re
from typing import Any

from ..messages import t
from ..schemas.base import is_uuid
from .entry import Entry

SHA256 = re.compile(r"[0-9a-f]{64}")


def record_fault(record: Any) -> str | None:
    """Return what is wrong with the form of a record; None if it is sound.  Its fields are not looked at."""
    if not isinstance(record, dict):
        return t("jobcheck.record_object")
    if extra := sorted(set(record) - {"kind", "id", "fields", "removed", "conflicts"}):
        return t("jobcheck.record_part_unknown", part=extra[0])
    if not isinstance(record.get("kind"), str) or not is_uuid(record.get("id")):
        return t("jobcheck.record_kind_and_id")
    if not isinstance(record.get("fields"), dict):
        return t("jobcheck.fields_object")
    if not isinstance(record.get("removed", False), bool):
        return t("jobcheck.removed_flag")
    conflicts = record.get("conflicts", {})
    rows = conflicts.values() if isinstance(conflicts, dict) else [None]
    for row in rows:
        sound = isinstance(row, list) and all(
            isinstance(v, list) and len(v) == 2 and isinstance(v[0], str) for v in row
        )
        if not sound:
            return t("jobcheck.conflicts_object")
    return None


def is_photo(value: Any) -> bool:
    """Say whether a value is a row of the list of photos."""
    return (
        isinstance(value, dict)
        and isinstance(value.get("sha256"), str)
        and SHA256.fullmatch(value["sha256"]) is not None
        and type(value.get("size_bytes")) is int
        and value["size_bytes"] >= 0
        and isinstance(value.get("media_type"), str)
    )


def is_reason(value: Any) -> bool:
    """Say whether a value is why an entry was set aside."""
    return (
        isinstance(value, dict)
        and isinstance(value.get("code"), str)
        and isinstance(value.get("reasons", {}), dict)
        and all(
            isinstance(said, list) and all(isinstance(one, str) for one in said)
            for said in value.get("reasons", {}).values()
        )
    )


def folds(entry: Entry) -> bool:
    """Say whether an entry has what the fold needs."""
    seen = entry.get("seen") or {}
    return (
        isinstance(entry.get("kind"), str)
        and isinstance(entry.get("record_id"), str)
        and isinstance(entry.get("fields"), dict)
        and isinstance(seen, dict)
        and all(isinstance(v, list) and all(isinstance(i, str) for i in v) for v in seen.values())
    )

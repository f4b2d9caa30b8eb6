"""The entry: one change to one record.  Checks of its frame and of its fields."""

import functools
import re
from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError

from ..messages import t
from .base import is_uuid
from .checked_schema import RecordSchema
from .names import RESERVED, is_name, short_name
from .pipe import LevelTieSchema, ObservationSchema, ReadingSchema, RunSchema, StretchSchema
from .site import CheckSchema, JobSchema, NodeSchema, PhotoSchema, RemarkSchema

KINDS: dict[str, type[RecordSchema]] = {
    s.KIND: s
    for s in (
        JobSchema,
        NodeSchema,
        RunSchema,
        StretchSchema,
        ReadingSchema,
        ObservationSchema,
        LevelTieSchema,
        CheckSchema,
        PhotoSchema,
        RemarkSchema,
    )
}
WRITER = re.compile(r"[A-Za-z0-9_-]{8,64}")
ENTRY_ID = re.compile(r"[A-Za-z0-9_-]{8,64}:[1-9][0-9]{0,9}")
STAMP = re.compile(r"[+-]?\d{4,6}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)", re.ASCII)
KEYS = {
    "job_id",
    "writer",
    "number",
    "device_id",
    "record_id",
    "kind",
    "fields",
    "seen",
    "recorded_at",
}
EVERYTHING = "*"
NUMBERS = 10**10  # the numbers of a writer are below it


def schema_for(kind: str) -> RecordSchema:
    """Return the (partial) schema of a kind; KeyError for a kind we do not know."""
    return instance_of(KINDS[kind])


@functools.cache
def instance_of(schema: type[RecordSchema]) -> RecordSchema:
    """Return the one (partial) instance of a schema, with its words."""
    return schema(partial=True)


def envelope_faults(entry: Any) -> list[str]:
    """Return what keeps an entry from having an identity at all.

    An entry with such a fault cannot even be set aside: there is no name to keep it under.
    """
    if not isinstance(entry, dict):
        return [t("refused.entry_object")]
    faults = []
    if not is_uuid(entry.get("job_id")):
        faults.append(t("refused.job_id"))
    if not isinstance(entry.get("writer"), str) or not is_writer(entry["writer"]):
        faults.append(t("refused.writer"))
    number = entry.get("number")
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number < NUMBERS:
        faults.append(t("refused.number_from_1"))
    return faults


def is_writer(name: str) -> bool:
    """Say whether a writer may be called so."""
    return WRITER.fullmatch(name) is not None and name not in RESERVED


def check_entry(entry: Mapping[str, object]) -> dict[str, list[str]]:
    """Return the faults of an entry whose identity is sound, by field; empty if it is good."""
    faults = _frame_faults(entry)
    kind, fields = entry.get("kind"), entry.get("fields")
    if not isinstance(kind, str) or kind not in KINDS:
        faults.setdefault("kind", []).append(t("refused.kind_unknown"))
        return faults
    if not isinstance(fields, dict) or not fields:
        faults.setdefault("fields", []).append(t("refused.nothing_changed"))
        return faults
    schema = schema_for(kind)
    if schema.accepts(fields, partial=True):  # so that each name is one of the schema's
        return faults
    if not all(map(is_name, fields)):
        faults.setdefault("fields", []).append(t("refused.field_names"))
        return faults
    try:
        schema.load(fields)
    except ValidationError as error:
        for name, messages in flatten(error.messages).items():
            faults.setdefault(name, []).extend(messages)
    return faults


def _frame_faults(entry: Mapping[str, object]) -> dict[str, list[str]]:
    faults: dict[str, list[str]] = {}
    if not entry.keys() <= KEYS:
        faults["entry"] = [
            t("refused.entry_part_unknown", name=short_name(name)) for name in sorted(set(entry) - KEYS)
        ]
    if not is_uuid(entry.get("record_id")):
        faults["record_id"] = [t("refused.record_id")]
    elif (entry.get("kind") == "job") != (entry["record_id"] == entry["job_id"]):
        faults["record_id"] = [t("refused.id_of_job")]
    device = entry.get("device_id")
    if not isinstance(device, str) or not 1 <= len(device) <= 80:
        faults["device_id"] = [t("refused.device_id")]
    stamp = entry.get("recorded_at")
    if not isinstance(stamp, str) or not STAMP.fullmatch(stamp):
        faults["recorded_at"] = [t("refused.recorded_at")]
    if sentence := _seen_fault(entry):
        faults["seen"] = [sentence]
    return faults


def _seen_fault(entry: Mapping[str, object]) -> str | None:
    if "seen" not in entry:
        return None
    seen = entry["seen"]
    if not isinstance(seen, dict):
        return t("refused.seen_object")
    fields = entry.get("fields")
    changed = set(fields) if isinstance(fields, dict) else set()
    for name, ids in seen.items():
        if name != EVERYTHING and name not in changed:
            return t("refused.seen_unchanged", name=short_name(name))
        if not isinstance(ids, list) or not all(isinstance(i, str) and ENTRY_ID.fullmatch(i) for i in ids):
            return t("refused.seen_entries")
    return None


def flatten(messages: Any, name: str = "") -> dict[str, list[str]]:
    """Return marshmallow's nested messages as ``field.part`` to sentences."""
    if isinstance(messages, dict):
        out: dict[str, list[str]] = {}
        for key, value in messages.items():
            label = name if key == "_schema" else f"{name}.{key}" if name else str(key)
            for inner, sentences in flatten(value, label).items():
                out.setdefault(inner, []).extend(sentences)
        return out
    return {name or "entry": [str(m) for m in (messages if isinstance(messages, list) else [messages])]}

"""JSON Schema of what crosses the wire whole: the entry and the job file."""

from typing import Any

from . import examples
from .entry import KINDS, schema_for
from .json_schema import UUID_SCHEMA, object_schema, observation_codes

JOB_FILE_FORMAT, JOB_FILE_VERSION = "fallbook-job", 1
ENTRY_ID = r"[A-Za-z0-9_-]{8,64}:[1-9][0-9]{0,9}"
STAMP = r"^[+-]?\d{4,6}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)$"
NEEDED = ("job_id", "writer", "number", "device_id", "record_id", "kind", "fields", "recorded_at")
Schema = dict[str, Any]


def job_file_schema() -> Schema:
    """Return the JSON Schema of the job file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Fallbook job file",
        "description": "A whole job as one JSON text. With entries, the records are what the entries "
        "fold to; without, one entry is made from each record. x-unit is the unit of a number.",
        "type": "object",
        "additionalProperties": False,
        "required": ["format", "version", "job_id", "records"],
        "properties": _parts(),
        # An entry set aside is kept whole, whatever is wrong with it: all it must have is an identity.
        "if": {"required": ["aside"], "properties": {"aside": {"minProperties": 1}}},
        "else": {"properties": {"entries": {"items": {"$ref": "#/$defs/entry"}}}},
        "examples": [job_file_example()],
        "$defs": definitions(),
    }


def job_file_example() -> Schema:
    """Return a small job file without entries."""
    photo = {"sha256": examples.PHOTO_SHA256, "size_bytes": 4, "media_type": "image/jpeg"}
    return {
        "format": JOB_FILE_FORMAT,
        "version": JOB_FILE_VERSION,
        "job_id": examples.JOB_ID,
        "records": examples.records(),
        "photos": [photo],
    }


def _parts() -> Schema:
    reason = {
        "type": "object",
        "required": ["code"],
        "properties": {
            "code": {"type": "string", "description": "Why, as a stable code."},
            "reasons": {
                "type": "object",
                "description": "Why, in sentences, by field.",
                "additionalProperties": {"type": "array", "items": {"type": "string"}},
            },
        },
    }
    photo = {
        "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$", "description": "Its name, in lower case."},
        "size_bytes": {"type": "integer", "minimum": 0, "x-unit": "bytes", "description": "In bytes."},
        "media_type": {"type": "string", "description": "Such as image/jpeg."},
    }
    return {
        "format": {"const": JOB_FILE_FORMAT, "description": "What this file is."},
        "version": {
            "type": "integer",
            "minimum": 1,
            "maximum": JOB_FILE_VERSION,
            "description": "Of this form; a reader refuses a newer one than it knows.",
        },
        "job_id": UUID_SCHEMA | {"description": "The job's id, which its record of kind job has too."},
        "records": {
            "type": "array",
            "description": "What stands, each record once; removed ones too, marked.",
            "items": {"oneOf": [{"$ref": f"#/$defs/{kind}_record"} for kind in KINDS]},
        },
        "entries": {
            "type": "array",
            "description": "Every change that was ever made, by writer and number, without gaps.",
            "items": {"$ref": "#/$defs/identified"},
        },
        "aside": {
            "type": "object",
            "description": "Entries that are kept outside the records, as writer:number, with the reasons.",
            "propertyNames": {"pattern": f"^{ENTRY_ID}$"},
            "additionalProperties": reason,
        },
        "photos": {
            "type": "array",
            "description": "The photos whose bytes come beside this file.",
            "items": {"type": "object", "required": list(photo), "properties": photo},
        },
    }


def definitions() -> dict[str, Schema]:
    """Return the parts that others refer to: fields, entry and record of each kind; entries; codes."""
    found: dict[str, Schema] = {}
    for number, kind in enumerate(KINDS, 1):
        schema = object_schema(schema_for(kind))
        found[f"{kind}_fields"] = schema | {"title": KINDS[kind].LABEL, "examples": [examples.FIELDS[kind]]}
        found[f"{kind}_record"] = _record(kind)
        found[f"{kind}_entry"] = _entry(kind, number)
    return found | {
        "entry": entry_schema(),
        "identified": identified_schema(),
        "observation_code": observation_codes(),
    }


def _record(kind: str) -> Schema:
    pair = {"type": "array", "minItems": 2, "maxItems": 2, "prefixItems": [{"type": "string"}, {}]}
    return {
        "type": "object",
        "title": f"{KINDS[kind].LABEL}, as it stands",
        "additionalProperties": False,
        "required": ["kind", "id", "fields"],
        "properties": {
            "kind": {"const": kind},
            "id": UUID_SCHEMA | {"description": "Made by whoever recorded it first."},
            "fields": {"$ref": f"#/$defs/{kind}_fields"},
            "removed": {"type": "boolean", "description": "Whether it was removed; it stays in the list."},
            "conflicts": {
                "type": "object",
                "description": "Fields with several values that nobody has seen together: [entry, value] "
                "each, the one that is shown last.",
                "additionalProperties": {"type": "array", "items": pair},
            },
        },
    }


def identified_schema() -> Schema:
    """Return the JSON Schema of an entry as it is stored: one that was set aside may lack all but this."""
    return {
        "type": "object",
        "title": "Entry, as stored",
        "required": ["job_id", "writer", "number"],
        "properties": _identity(),
    }


def _identity() -> Schema:
    return {
        "job_id": UUID_SCHEMA | {"description": "The job that it belongs to."},
        "writer": {
            "type": "string",
            "pattern": "^[A-Za-z0-9_-]{8,64}$",
            "description": "A random name, new for every run of the program that records.",
        },
        "number": {
            "type": "integer",
            "minimum": 1,
            "maximum": 10**10 - 1,
            "description": "Counts this writer's entries in this job from 1, without gaps.",
        },
    }


def entry_schema() -> Schema:
    """Return the JSON Schema of an entry, one form for each kind."""
    return {
        "title": "Entry: one change to one record",
        "oneOf": [{"$ref": f"#/$defs/{kind}_entry"} for kind in KINDS],
    }


def _entry(kind: str, number: int) -> Schema:
    ids = {"type": "array", "items": {"type": "string", "pattern": f"^{ENTRY_ID}$"}}
    properties = {
        "kind": {"const": kind},
        **_identity(),
        "device_id": {
            "type": "string",
            "minLength": 1,
            "maxLength": 80,
            "description": "The name that the phone or script gives itself.",
        },
        "record_id": UUID_SCHEMA
        | {"description": "The record that it changes; of kind job, the job's own id."},
        "fields": {
            "$ref": f"#/$defs/{kind}_fields",
            "minProperties": 1,
            "description": "What changed, and nothing else; null clears a field.",
        },
        "seen": {
            "type": "object",
            "description": "For each changed field the entries whose values this one replaces; for a removal "
            "under *.",
            "additionalProperties": ids,
        },
        "recorded_at": {"type": "string", "pattern": STAMP, "description": "For people; it orders nothing."},
    }
    return {
        "type": "object",
        "title": f"Entry of kind {kind}",
        "additionalProperties": False,
        "required": list(NEEDED),
        "properties": properties,
        "examples": [examples.entry(kind, number)],
    }

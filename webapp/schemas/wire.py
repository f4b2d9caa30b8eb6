"""JSON Schema of what crosses the wire whole: the entry and the job file."""

from typing import Any

from .describe import object_schema
from .entry import KINDS, schema_for

JOB_FILE_FORMAT, JOB_FILE_VERSION = "fallbook-job", 1
ENTRY_ID = r"[A-Za-z0-9_-]{8,64}:[1-9][0-9]{0,9}"


def job_file_schema() -> dict[str, Any]:
    """Return the JSON Schema of the job file."""
    ident = {"type": "string", "format": "uuid"}
    named = {k: object_schema(schema_for(k)) for k in KINDS}
    conflicts = {"type": "object", "additionalProperties": {"type": "array", "items": {"type": "array"}}}
    reason = {"type": "object", "properties": {"code": {"type": "string"}, "reasons": {"type": "object"}}}
    photo = {
        "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
        "size_bytes": {"type": "integer", "minimum": 0, "x-unit": "bytes"},
        "media_type": {"type": "string"},
    }
    record = {"id": ident, "removed": {"type": "boolean"}, "conflicts": conflicts}
    records = [
        {
            "type": "object",
            "additionalProperties": False,
            "required": ["kind", "id", "fields"],
            "properties": {"kind": {"const": k}, **record, "fields": {"$ref": f"#/$defs/{k}"}},
        }
        for k in KINDS
    ]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Fallbook job file",
        "type": "object",
        "additionalProperties": False,
        "required": ["format", "version", "job_id", "records"],
        "properties": {
            "format": {"const": JOB_FILE_FORMAT},
            "version": {"type": "integer", "minimum": 1, "maximum": JOB_FILE_VERSION},
            "job_id": ident,
            "records": {"type": "array", "items": {"oneOf": records}},
            "entries": {"type": "array", "items": {"$ref": "#/$defs/identified"}},
            "aside": {
                "type": "object",
                "propertyNames": {"pattern": f"^{ENTRY_ID}$"},
                "additionalProperties": reason,
            },
            "photos": {
                "type": "array",
                "items": {"type": "object", "required": list(photo), "properties": photo},
            },
        },
        # An entry set aside is kept whole, whatever is wrong with it: all it must have is an identity.
        "if": {"required": ["aside"], "properties": {"aside": {"minProperties": 1}}},
        "else": {"properties": {"entries": {"items": {"$ref": "#/$defs/entry"}}}},
        "$defs": {**named, "entry": entry_schema(), "identified": identified_schema()},
    }


def identified_schema() -> dict[str, Any]:
    """Return the JSON Schema of an entry as it is stored: one that was set aside may lack all but this."""
    return {
        "type": "object",
        "required": ["job_id", "writer", "number"],
        "properties": {
            "job_id": {"type": "string", "format": "uuid"},
            "writer": {"type": "string", "pattern": "^[A-Za-z0-9_-]{8,64}$"},
            "number": {"type": "integer", "minimum": 1, "maximum": 10**10 - 1},
        },
    }


def entry_schema() -> dict[str, Any]:
    """Return the JSON Schema of an entry's frame; its fields are those of its kind."""
    ids = {"type": "array", "items": {"type": "string", "pattern": f"^{ENTRY_ID}$"}}
    identified = identified_schema()
    return {
        **identified,
        "properties": {
            **identified["properties"],
            "device_id": {"type": "string", "minLength": 1, "maxLength": 80},
            "record_id": {"type": "string", "format": "uuid"},
            "kind": {"enum": list(KINDS)},
            "fields": {"type": "object", "minProperties": 1},
            "seen": {"type": "object", "additionalProperties": ids},
            "recorded_at": {"type": "string"},
        },
    }

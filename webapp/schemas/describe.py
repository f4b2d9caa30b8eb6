"""Field descriptions and JSON Schema, derived from the record schemas and from nothing else."""

from typing import Any

from marshmallow import fields

from . import base
from .base import RecordSchema


def describe_all() -> dict[str, Any]:
    """Return the descriptions of every kind, as served to the phone."""
    from .entry import KINDS

    return {"version": 1, "kinds": {kind: describe(schema) for kind, schema in KINDS.items()}}


def describe(schema: type[RecordSchema]) -> dict[str, Any]:
    """Return what a form needs to know of one kind."""
    return {
        "kind": schema.KIND,
        "label": schema.LABEL,
        "plural": schema.PLURAL,
        "fields": [
            {"name": name, **describe_field(field)}
            for name, field in schema().fields.items()
            if name != "removed"
        ],
    }


def describe_field(field: Any) -> dict[str, Any]:
    """Return one field's label, type, unit, range, choices and flags."""
    found: dict[str, Any] = {"type": "text", **field.metadata}
    if isinstance(field, base.Number):
        found.update(minimum=field.minimum, maximum=field.maximum, unit=field.unit, whole=field.whole)
        found["type"] = field.metadata.get("type", "number")
    elif isinstance(field, base.Text):
        found.update(longest=field.longest, lines=field.lines)
    elif isinstance(field, base.Choice):
        found.update(type="choice", choices=[{"value": v, "label": t} for v, t in field.choices.items()])
    elif isinstance(field, base.Ref):
        found.update(type="ref", to=field.to)
    elif isinstance(field, base.Pattern):
        found.update(pattern=field.pattern.pattern, sentence=field.sentence)
    elif isinstance(field, base.Whole):
        found.update(type=field.form)
    elif isinstance(field, base.Flag):
        found.update(type="flag")
    return found


def json_schema(field: Any) -> dict[str, Any]:
    """Return the JSON Schema of one field's value (null clears it)."""
    if isinstance(field, base.Number):
        kind = "integer" if field.whole else "number"
        found: dict[str, Any] = {
            "type": [kind, "null"],
            "minimum": field.minimum,
            "maximum": field.maximum,
        }
        if field.unit:
            found["x-unit"] = field.unit
    elif isinstance(field, base.Text):
        found = {"type": ["string", "null"], "maxLength": field.longest}
    elif isinstance(field, base.Choice):
        found = {"enum": [*field.choices, None]}
    elif isinstance(field, base.Ref):
        found = {"type": ["string", "null"], "format": "uuid"}
    elif isinstance(field, base.Pattern):
        found = {"type": ["string", "null"], "pattern": f"^{field.pattern.pattern}$"}
    elif isinstance(field, base.Whole):
        found = {"anyOf": [object_schema(field.schema), {"type": "null"}]}
    elif isinstance(field, base.Flag):
        found = {"type": ["boolean", "null"]}
    elif isinstance(field, fields.Boolean):
        found = {"type": "boolean"}
    else:
        found = {"type": "string"}
        for validator in field.validators:
            if choices := getattr(validator, "choices", None):
                found = {"enum": list(choices)}
    if label := field.metadata.get("label"):
        found["title"] = label
    return found


def object_schema(schema: Any) -> dict[str, Any]:
    """Return the JSON Schema of a marshmallow schema (instance)."""
    required = [name for name, field in schema.fields.items() if field.required]
    found: dict[str, Any] = {
        "type": "object",
        "additionalProperties": False,
        "properties": {name: json_schema(field) for name, field in schema.fields.items()},
    }
    if required:
        found["required"] = required
    return found

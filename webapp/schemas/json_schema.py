"""JSON Schema of fields and kinds, derived from the record schemas and from nothing else."""

import inspect
from collections.abc import Mapping
from typing import Any

from marshmallow import fields

from .. import tables
from ..survey.table_types.codes import ObservationCode
from . import base

UUID_SCHEMA = {"type": "string", "format": "uuid", "pattern": f"^{base.UUID.pattern}$"}
_SENSES = {
    "rising": "Rises ahead, in the direction of survey",
    "falling": "Falls ahead, in the direction of survey",
    "level": "Level",
}
_UNITS = {"deg": "Degrees", "pct": "Percent", "permille": "Per mille", "one_in": "1 in N"}


def json_schema(field: Any) -> dict[str, object]:
    """Return the JSON Schema of one field's value (null clears it)."""
    found = _value(field)
    if label := field.metadata.get("label"):
        found["title"] = label
    unit = f"Unit: {field.unit}." if isinstance(field, base.Number) and field.unit else ""
    text = " ".join(part for part in (field.metadata.get("help", ""), unit) if part)
    if text:
        found["description"] = text
    if field.metadata.get("type") == "code":
        found["anyOf"] = [{"$ref": "#/$defs/observation_code"}, _value(field)]
        found["description"] = "A code of the list, or one of a client's own."
        del found["type"], found["pattern"]
    return found


def _value(field: Any) -> dict[str, object]:
    if isinstance(field, base.Number):
        return _number(field)
    if isinstance(field, base.Text):
        return {"type": ["string", "null"], "maxLength": field.longest}
    if isinstance(field, base.Choice):
        return {"oneOf": [*_named(field.choices), {"type": "null"}]}
    if isinstance(field, base.Ref):
        return {**UUID_SCHEMA, "type": ["string", "null"], "x-record": field.to}
    if isinstance(field, base.Pattern):
        return {"type": ["string", "null"], "pattern": f"^({field.pattern.pattern})$"}
    if isinstance(field, base.Composite):
        return {"anyOf": [object_schema(field.schema), {"type": "null"}]}
    if isinstance(field, base.Flag):
        return {"type": ["boolean", "null"]}
    if isinstance(field, fields.Boolean):
        return {"type": "boolean"}
    choices = next((c for v in field.validators if (c := getattr(v, "choices", None))), None)
    return {"oneOf": _named({c: _word(c) for c in choices})} if choices else {"type": "string"}


def _number(field: base.Number) -> dict[str, object]:
    form = "integer" if field.whole else "number"
    found: dict[str, object] = {
        "type": [form, "null"] if field.allow_none else form,
        "minimum": field.minimum,
        "maximum": field.maximum,
    }
    return found | ({"x-unit": field.unit} if field.unit else {})


def _named(choices: Mapping[str, str]) -> list[dict[str, str]]:
    return [{"const": value, "title": label} for value, label in choices.items()]


def _word(choice: str) -> str:
    return _SENSES.get(choice) or _UNITS.get(choice) or choice.replace("_", " ").capitalize()


def object_schema(schema: Any) -> dict[str, object]:
    """Return the JSON Schema of a marshmallow schema (instance)."""
    required = [name for name, field in schema.fields.items() if field.required]
    found: dict[str, object] = {
        "type": "object",
        "description": " ".join((inspect.getdoc(type(schema)) or "").split()),
        "additionalProperties": False,
        "properties": {name: json_schema(field) for name, field in schema.fields.items()},
    }
    if required:
        found["required"] = required
    return found | getattr(schema, "JSON_RULE", {})


def observation_codes() -> dict[str, object]:
    """Return the list of observation codes, each with its title and what it takes."""
    rows = tables.load("observation_codes")["rows"]
    return {
        "title": "Observation code",
        "description": "Letters of the characterisations and units of the quantities stand with each code.",
        "oneOf": [{"const": row["code"], "title": row["title"], "description": _takes(row)} for row in rows],
    }


def _takes(row: ObservationCode) -> str:
    """Return in words what a code takes: letters, quantities, clock positions, start and finish."""
    sentences = [row.get("help") or f"{row['title']}."]
    for name, letters in (
        ("characterisation_1", row["characterisation_1"]),
        ("characterisation_2", row["characterisation_2"]),
    ):
        if letters:
            listed = ", ".join(f"{one['value']} {one['label']}" for one in letters)
            sentences.append(f"{name}: {listed}.")
    for name, quantity in (
        ("quantification_1", row["quantification_1"]),
        ("quantification_2", row["quantification_2"]),
    ):
        if quantity:
            unit = f", {quantity['unit']}" if quantity.get("unit") else ""
            sentences.append(f"{name}: {quantity['label']}{unit}.")
    hours = row.get("clock_references") or 0
    sentences.append(f"Clock positions: {'at most ' if hours else ''}{hours or 'none'}.")
    if row.get("continuous"):
        sentences.append("It may start and finish.")
    return " ".join(sentences)

"""Field descriptions for the phone's forms, derived from the record schemas and from nothing else."""

import functools
from typing import Any, Required, TypedDict, cast

from ..messages import unit_word
from ..survey.wording.recorded import FieldWords
from . import base
from .checked_schema import RecordSchema
from .entry import KINDS


class FieldForm(FieldWords, total=False):
    """What a form needs to know of a field, besides its name."""

    label: Required[str]
    help: str
    required: bool
    advanced: bool
    hidden: bool
    group: str
    pad: str
    only: list[str]
    minimum: float
    maximum: float
    whole: bool
    longest: int
    lines: int
    to: str
    pattern: str
    sentence: str


class FieldDescription(FieldForm, total=False):
    """A field of a kind of record; ``further``: nobody placed it by hand."""

    name: Required[str]
    further: bool


class KindDescription(TypedDict):
    """A kind of record, and its fields in the order of the form."""

    kind: str
    label: str
    plural: str
    fields: list[FieldDescription]


class AllDescriptions(TypedDict):
    """The descriptions of every kind, by its name."""

    version: int
    kinds: dict[str, KindDescription]


def describe_all() -> AllDescriptions:
    """Return the descriptions of every kind, as served to the phone."""
    return {"version": 1, "kinds": {kind: describe(schema) for kind, schema in KINDS.items()}}


def describe(schema: type[RecordSchema]) -> KindDescription:
    """Return what a form needs to know of one kind."""
    return {
        "kind": schema.KIND,
        "label": schema.LABEL,
        "plural": schema.PLURAL,
        "fields": [
            _described(schema, name, field) for name, field in schema().fields.items() if name != "removed"
        ],
    }


@functools.cache
def described(kind: str) -> dict[str, FieldDescription]:
    """Return the descriptions of a kind's fields by name; treat them as read-only."""
    return {field["name"]: field for field in describe(KINDS[kind])["fields"]}


@functools.cache
def further_fields(schema: type[RecordSchema]) -> list[FieldDescription]:
    """Return the descriptions of the fields that nobody placed by hand: forms and the pack add them.

    Treat the list as read-only.
    """
    return [field for field in describe(schema)["fields"] if field.get("further")]


def _described(schema: type[RecordSchema], name: str, field: Any) -> FieldDescription:
    found = cast(FieldDescription, {"name": name, **describe_field(field)})
    if _is_further(schema, name, field):
        found["further"] = True
    return found


def _is_further(schema: type[RecordSchema], name: str, field: Any) -> bool:
    placed = schema.PLACED is None or name in schema.PLACED or field.metadata.get("hidden")
    return not placed


def describe_field(field: Any) -> FieldForm:
    """Return one field's label, type, unit, range, choices and flags."""
    found: dict[str, object] = {"type": "text", **field.metadata}
    if isinstance(field, base.Number):
        found.update(
            minimum=field.minimum, maximum=field.maximum, unit=unit_word(field.unit), whole=field.whole
        )
        found["type"] = field.metadata.get("type", "number")
    elif isinstance(field, base.Text):
        found.update(longest=field.longest, lines=field.lines)
    elif isinstance(field, base.Choice):
        found.update(
            type="choice",
            choices=[{"value": value, "label": label} for value, label in field.choices.items()],
        )
    elif isinstance(field, base.Ref):
        found.update(type="ref", to=field.to)
    elif isinstance(field, base.Pattern):
        found.update(pattern=field.pattern.pattern, sentence=field.sentence)
    elif isinstance(field, base.Composite):
        found.update(type=field.form)
    elif isinstance(field, base.Flag):
        found.update(type="flag")
    return cast(FieldForm, found)

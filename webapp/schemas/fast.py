"""The same verdict as :func:`entry.check_entry`, most entries without marshmallow's full machinery.

``surely_good`` says yes only where ``check_entry`` finds nothing; everything else goes to
``check_entry`` itself, which words the reasons.  The rules are compiled from the schemas, not copied.
"""

import functools
import math
from collections.abc import Callable
from typing import Any

from marshmallow import ValidationError, fields, validate

from . import base
from .entry import KEYS, KINDS, STAMP, _seen_fault, schema_for
from .entry import check_entry as _check_entry

Rule = Callable[[Any], bool]
_HOOK = "validates_schema"


def check_entry(entry: dict[str, Any]) -> dict[str, list[str]]:
    """Return the faults of an entry whose identity is sound, by field; empty if it is good."""
    return {} if surely_good(entry) else _check_entry(entry)


def surely_good(entry: dict[str, Any]) -> bool:
    """Say whether the entry is good without doubt."""
    kind, record_id = entry.get("kind"), entry.get("record_id")
    device, stamp = entry.get("device_id"), entry.get("recorded_at")
    return (
        isinstance(kind, str)
        and kind in KINDS
        and entry.keys() <= KEYS
        and isinstance(record_id, str)
        and base.UUID.fullmatch(record_id) is not None
        and (kind == "job") == (record_id == entry["job_id"])
        and isinstance(device, str)
        and 1 <= len(device) <= 80
        and isinstance(stamp, str)
        and STAMP.fullmatch(stamp) is not None
        and isinstance(entry.get("fields"), dict)
        and bool(entry["fields"])
        and _seen_fault(entry) is None
        and _rule_of_kind(kind)(entry["fields"])
    )


@functools.cache
def _rule_of_kind(kind: str) -> Rule:
    return _object(schema_for(kind), partial=True)


def _object(schema: Any, *, partial: bool) -> Rule:
    """Return a rule for an object: every part good, none unknown or missing, and the schema's own checks."""
    rules = {name: (field.allow_none, _rule_of_type(field)) for name, field in schema.fields.items()}
    required = set() if partial else {name for name, field in schema.fields.items() if field.required}
    checks = [getattr(schema, name) for name, _many, _how in schema._hooks[_HOOK]]

    def rule(value: Any) -> bool:
        if not isinstance(value, dict) or not required <= value.keys():
            return False
        for name, part in value.items():
            known = rules.get(name)
            if known is None or not (known[1](part) if part is not None else known[0]):
                return False
        if not checks:
            return True
        try:
            for check in checks:
                check(value, partial=partial, many=False, unknown="raise")
        except ValidationError:
            return False
        return True

    return rule


def _rule_of_type(field: Any) -> Rule:
    """Return the rule for the values of one field; a type not known here is never surely good."""
    if isinstance(field, base.Number):
        return _number(field.minimum, field.maximum, field.whole)
    if isinstance(field, base.Text):
        longest, control = field.longest, base.CONTROL.search
        return lambda v: type(v) is str and len(v) <= longest and (v.isprintable() or not control(v))
    if isinstance(field, base.Choice):
        words = frozenset(field.choices)
        return lambda v: type(v) is str and v in words
    if isinstance(field, base.Ref | base.Pattern):
        form = (base.UUID if isinstance(field, base.Ref) else field.pattern).fullmatch
        return lambda v: type(v) is str and form(v) is not None
    if isinstance(field, base.Flag | fields.Boolean):
        return lambda v: v is True or v is False
    if isinstance(field, base.Whole):
        return _object(field.schema, partial=False)
    if type(field) is fields.String and [type(v) for v in field.validators] == [validate.OneOf]:
        words = frozenset(field.validators[0].choices)  # type: ignore[attr-defined]
        return lambda v: type(v) is str and v in words
    return lambda v: False


def _number(minimum: float, maximum: float, whole: bool) -> Rule:
    def rule(value: Any) -> bool:
        if type(value) is float:
            return math.isfinite(value) and minimum <= value <= maximum and not (whole and value % 1)
        return type(value) is int and minimum <= value <= maximum

    return rule

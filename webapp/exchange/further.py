"""Fields of an observation that no column has a place for: they stand at the end of its remark.

``Old repair. [Gap width (gap_mm) = 12] [Wet (wet) = true]``: label, name and value, its characters as in an
address (%2C) where a layout may take them for its own. Only names that observations have, with values that
they take, are read back as fields; everything else stays part of the remark. After a remark that itself ends
like that stands ``[]``.
"""

import json
import re
from typing import Any
from urllib.parse import quote, unquote

from ..schemas import pipe
from ..schemas.base import Choice, Text
from ..schemas.describe import further_fields

ONE = re.compile(r"\[[^][]*\(([a-z][a-z0-9_]*)\) = ([^][]*)\]")
AT_THE_END = re.compile(rf"(?:(?:^| ){ONE.pattern})+$")
OWN_END = re.compile(rf"{ONE.pattern}(?: \[\])*$")  # of a remark that needs a stop, or has one
STOP = " []"
PLAIN = " ()"  # besides letters, digits and _.-~


def further_names() -> dict[str, str]:
    """Return the names of these fields, each with its label."""
    return {one["name"]: one["label"] for one in further_fields(pipe.ObservationSchema)}


def with_further(remark: str, fields: dict[str, Any]) -> str:
    """Return the remark of an observation, and after it what has no column."""
    stated = [
        f"[{label.translate(NO_BRACKETS)} ({name}) = {_text(value)}]"
        for name, label in further_names().items()
        if (value := fields.get(name)) not in (None, "")
    ]
    stop = STOP if OWN_END.search(remark) else ""
    return " ".join([f"{remark}{stop}", *stated] if remark else stated)


def split_further(remark: str) -> tuple[str, dict[str, Any]]:
    """Return a remark without the fields that stand at its end, and those fields."""
    match = AT_THE_END.search(remark)
    found = _fields(match[0]) if match else {}
    own = remark[: match.start()] if match and found else remark
    stopped = own.endswith(STOP) and OWN_END.search(own.removesuffix(STOP))
    return own.removesuffix(STOP) if stopped else own, found


def _fields(text: str) -> dict[str, Any]:
    """The fields that brackets hold; none where one of them is no field, or there twice."""
    pairs, schema = ONE.findall(text), pipe.ObservationSchema()
    names = [name for name, _ in pairs]
    if len(set(names)) < len(names) or not set(names) <= further_names().keys():
        return {}
    try:
        found = {name: _value(schema.fields[name], text) for name, text in pairs}
    except ValueError:
        return {}
    return {} if schema.validate(found, partial=True) else found


NO_BRACKETS = str.maketrans("[]", "()")


def _text(value: Any) -> str:
    return quote(value if isinstance(value, str) else json.dumps(value, sort_keys=True), PLAIN)


def _value(field: Any, text: str) -> Any:
    value = unquote(text, errors="strict")
    return value if isinstance(field, Text | Choice) else json.loads(value)

"""Values of several parts that a record holds: whole, or not used.

An earlier version or a script may have stored a half of one: a clock without its hour, an inclination without
its size.  No figure is computed from it; ``usable`` takes it out on the way from the records, and says so.
"""

import math
from collections.abc import Mapping
from typing import Any, NamedTuple, TypeVar, cast

from .records import Disputed

R = TypeVar("R", bound=Mapping[str, Any])  # a record of any kind: how it is made up is not known yet


class Span(NamedTuple):
    """What a number may be: from the one to the other, and where it is said, a whole one."""

    low: float
    high: float
    whole: bool = False


Words = tuple[str, ...]
Rules = Mapping[str, Span | Words | type[bool] | type[str]]

STEEPEST = {"deg": 90.0, "pct": 1e6, "permille": 1e7, "one_in": 1e6}
INCLINATION: tuple[Rules, Rules] = (
    {"sense": ("rising", "falling", "level")},
    {"size": Span(0, 1e7), "unit": tuple(STEEPEST), "over_range": bool, "typed": str},
)
HOUR = Span(1, 12, whole=True)
COUNTER_M = Span(0, 5000)
# what must be there, what may be there
FORMS: Mapping[str, tuple[Rules, Rules]] = {
    "start_bearing": (
        {"bearing_deg": Span(0, 360), "north": ("magnetic", "true", "grid")},
        {"sd_deg": Span(0, 180)},
    ),
    "position": (
        {"lat_deg": Span(-90, 90), "lon_deg": Span(-180, 180)},
        {
            "accuracy_m": Span(0, 1e5),
            "accuracy_pct": Span(1, 99.9),
            "source": ("phone", "receiver", "map", "typed"),
        },
    ),
    "inclination": INCLINATION,
    "reading_forward": INCLINATION,
    "reading_reversed": INCLINATION,
    "counter_reset": ({"had_shown_m": COUNTER_M, "set_to_m": COUNTER_M}, {}),
    "clock": ({"hour_from": HOUR}, {"hour_to": HOUR}),
    "continuous": ({"role": ("start", "change", "finish"), "number": Span(1, 999, whole=True)}, {}),
    "next_steps": ({}, {"no_action": bool, "why": str}),
}
URGENCIES = ("at_once", "short_term", "medium_term", "long_term", "no_term")


def is_whole(name: str, value: Any) -> bool:
    """Return whether a value of a field can be used: nothing at all, or every part as it must be.

    A part that is not known here, as a later version may add, takes nothing from the others.

    Parameters
    ----------
    name : str
        Of the field; one that holds no composite is always whole.

    Examples
    --------
    >>> is_whole("clock", {"hour_from": 3}), is_whole("clock", {"hour_to": 3})
    (True, False)
    """
    if name not in FORMS or value is None:
        return True
    if not isinstance(value, Mapping):
        return False
    required, others = FORMS[name]
    rules = {**required, **others}
    if name == "next_steps":
        rules = {**dict.fromkeys(value, URGENCIES), **rules}
    if any(value.get(part) is None for part in required):
        return False
    if not all(_fits(rules[part], one) for part, one in value.items() if part in rules):
        return False
    if name == "next_steps":
        return _one_or_the_other(value)
    return "sense" not in required or _hangs_together(value)


def usable(record: R) -> R:
    """Return a record without the composites that are not whole; the same one where all are.

    Returns
    -------
    mapping
        ``unusable`` names the fields that were taken out of ``fields``; a value in dispute that is not whole
        is None.

    Examples
    --------
    >>> usable({"id": "a", "fields": {"code": "BAB", "clock": {"hour_to": 3}}})["unusable"]
    ['clock']
    """
    fields = record["fields"]
    lost = [name for name in FORMS if not is_whole(name, fields.get(name))]
    disputed: Disputed = record.get("conflicts") or {}
    odd = [name for name, rows in disputed.items() if any(not is_whole(name, one) for _, one in rows)]
    if not lost and not odd:
        return record
    found: dict[str, Any] = {**record}
    if lost:
        found |= {"fields": {**fields, **dict.fromkeys(lost)}, "unusable": lost}
    if odd:
        found["conflicts"] = {**disputed, **{name: _whole_rows(name, disputed[name]) for name in odd}}
    return cast(R, found)


def _whole_rows(name: str, rows: Any) -> list[tuple[str, Any]]:
    return [(entry, value if is_whole(name, value) else None) for entry, value in rows]


def _fits(rule: Span | Words | type[bool] | type[str], value: Any) -> bool:
    if isinstance(rule, type):
        return isinstance(value, rule) or (value is None and rule is str)
    if not isinstance(rule, Span):
        return value in rule
    if value is None:
        return True
    number = isinstance(value, int | float) and not isinstance(value, bool) and rule.low <= value <= rule.high
    return number and math.isfinite(value) and not (rule.whole and value % 1)


def _hangs_together(value: Mapping[str, Any]) -> bool:
    """An inclination: beyond the range, one way or the other, or a size in a unit."""
    size, unit = value.get("size"), value.get("unit")
    if value.get("over_range"):
        return value["sense"] != "level" and size is None
    if size is None or unit is None or size > STEEPEST[unit]:
        return False
    return bool(unit != "one_in" or size != 0)


def _one_or_the_other(value: Mapping[str, Any]) -> bool:
    """Next steps: no action, or at least one."""
    return bool(value.get("no_action")) != any(part not in ("no_action", "why") for part in value)

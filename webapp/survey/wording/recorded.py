"""What was recorded, in words: every digit that was meant, its unit, and what a composite value says."""

import math
from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Any, TypedDict

from ..errors import SurveyError
from ..plan.position_accuracy import radius_95_m
from ..records import Bearing, Clock, Continuous, CounterReset, Inclination, Position
from .messages import Words, message, number_text
from .quantities import fixed_text, unit_text

STEP = Decimal("1e-9")  # a nanometre, a tenth of a millimetre on the ground in degrees
SENSES = ("rising", "falling", "level")
NORTHS = ("true", "magnetic", "grid")
EXACT = Context(prec=330)  # a number of binary64 has no more digits before and nine after the point
READ_IN = ("deg", "pct", "permille", "one_in")


class ChoiceWords(TypedDict):
    """One of the values that a field may have, and its label."""

    value: str
    label: str


class FieldWords(TypedDict, total=False):
    """What putting a field's value into words takes of the field's description."""

    type: str
    unit: str
    choices: Sequence[ChoiceWords]


def short_text(words: Words, value: float) -> str:
    """Return a number as a reader writes it: no exponent, as few decimals as it needs, at most nine.

    Raises
    ------
    SurveyError
        ``number_not_finite``.

    Examples
    --------
    >>> short_text({"_language": "en"}, -2.50), short_text({"_language": "en"}, 1e-7)
    ('−2.5', '0.0000001')
    """
    if not math.isfinite(value):
        raise SurveyError("number_not_finite", "value")
    text = f"{Decimal(value).quantize(STEP, ROUND_HALF_UP, EXACT):f}".rstrip("0").rstrip(".")
    return number_text(words, "0" if text == "-0" else text)


def sized(words: Words, value: float, unit: str) -> str:
    """Return a number as it was recorded, with its unit if it has one."""
    size = short_text(words, value)
    return message(words, "survey.sized", {"size": size, "unit": unit_text(words, unit)}) if unit else size


def sense_word(words: Words, sense: str | None) -> str:
    """Return which way an inclination goes ahead, in words; empty where nothing was recorded."""
    return message(words, f"survey.sense.{sense}", {}) if sense in SENSES else ""


def north_word(words: Words, north: str) -> str:
    """Return the name of a north."""
    return message(words, f"survey.north.{north if north in NORTHS else 'unknown'}", {})


def inclination_text(words: Words, value: Inclination) -> str:
    """Return an inclination as it was read, with its unit and its sense."""
    sense = sense_word(words, value.get("sense"))
    if value.get("over_range"):
        return message(words, "survey.inclination.beyond", {"sense": sense})
    unit = value.get("unit")
    key = f"survey.inclination.{unit if unit in READ_IN else 'none'}"
    size = message(words, key, {"size": short_text(words, value.get("size") or 0.0)})
    kind = "level" if value.get("sense") == "level" else "sense"
    return message(words, f"survey.inclination.{kind}", {"size": size, "sense": sense}) if sense else size


def clock_text(words: Words, value: Clock) -> str:
    """Return clock positions: one, from one to another, or all round."""
    start, end = value["hour_from"], value.get("hour_to")
    first = short_text(words, start)
    if end is None:
        return message(words, "survey.clock.at", {"hour": first})
    if end == start:
        return message(words, "survey.clock.round", {})
    return message(words, "survey.clock.from_to", {"first": first, "last": short_text(words, end)})


def continuous_text(words: Words, value: Continuous) -> str:
    """Return which part of something that goes on along the pipe this is."""
    return message(
        words, f"survey.continuous.{value['role']}", {"number": short_text(words, value["number"])}
    )


def reset_text(words: Words, value: CounterReset) -> str:
    """Return what the counter had shown, and what it was set to."""
    had, to = short_text(words, value["had_shown_m"]), short_text(words, value["set_to_m"])
    return message(words, "survey.value.reset", {"shown_m": had, "set_m": to})


def position_text(words: Words, value: Position) -> str:
    """Return a place on the ground, and within which radius it lies 95 times in 100."""
    radius = radius_95_m(value)
    place = {"lat": short_text(words, value["lat_deg"]), "lon": short_text(words, value["lon_deg"])}
    if radius is None:
        return message(words, "survey.value.position_bare", place)
    return message(words, "survey.value.position", {**place, "m": fixed_text(words, radius, 1)})


def heading_text(words: Words, value: Bearing) -> str:
    """Return a bearing as it was read, from which north, and how sure it is."""
    spread = value.get("sd_deg")
    read = {"deg": short_text(words, value["bearing_deg"]), "north": north_word(words, value["north"])}
    if spread is None:
        return message(words, "survey.value.bearing_bare", read)
    return message(words, "survey.value.bearing", {**read, "sd_deg": short_text(words, spread)})


COMPOSITES: Mapping[str, Callable[[Words, Any], str]] = {
    "inclination": inclination_text,
    "clock": clock_text,
    "continuous": continuous_text,
    "counter_reset": reset_text,
    "position": position_text,
    "bearing": heading_text,
}


def value_text(words: Words, field: FieldWords, value: Any) -> str:
    """Return the value of a field in words, with its unit.

    What a value refers to, its dates and its codes stand in other records and tables: whoever has these puts
    such values into words first.

    Parameters
    ----------
    words : mapping
        The catalogue.
    field : mapping
        ``type``, and ``unit`` and ``choices`` (``value``, ``label``) where the field has them.
    value : anything
        As it was recorded.

    Raises
    ------
    SurveyError
        ``number_not_finite``.
        ``value_not_whole`` for a composite value that lacks a part.

    Examples
    --------
    >>> value_text({"_language": "de", "survey.sized": "{size} {unit}"}, {"unit": "mm"}, 1.5)
    '1,5 mm'
    """
    if value is None or value == "":
        return message(words, "survey.value.none", {})
    if isinstance(value, bool):
        return message(words, f"survey.value.{'yes' if value else 'no'}", {})
    if isinstance(value, int | float):
        return sized(words, value, field.get("unit") or "")
    composite = COMPOSITES.get(field.get("type", ""))
    if composite and isinstance(value, Mapping):
        try:
            return composite(words, value)
        except (KeyError, TypeError, SurveyError):
            raise SurveyError("value_not_whole") from None
    labels = {one["value"]: one["label"] for one in field.get("choices") or ()}
    return labels.get(value, value) if isinstance(value, str) else str(value)

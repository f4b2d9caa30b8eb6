"""Values of several parts that are one field: a half of one means nothing."""

from typing import Any

from marshmallow import ValidationError

from ..messages import t
from .base import Number, Text, Truth, Word
from .checked_schema import PartSchema

SENSES = ("rising", "falling", "level")
INCLINATION_UNITS = ("deg", "pct", "permille", "one_in")
LARGEST = {"deg": 90.0, "pct": 1e6, "permille": 1e7, "one_in": 1e6}


class Inclination(PartSchema):
    """What the inclinometer showed: a size, the unit it was read in, and whether it rises ahead.

    ``over_range`` true means that the instrument only said "more than I can measure".
    """

    JSON_RULE = {
        "anyOf": [
            {
                "required": ["size", "unit"],
                "properties": {"size": {"type": "number"}, "over_range": {"const": False}},
            },
            {
                "required": ["over_range"],
                "properties": {
                    "over_range": {"const": True},
                    "size": {"type": "null"},
                    "sense": {"enum": ["rising", "falling"]},
                },
            },
        ]
    }

    size = Number(0, 1e7, "")
    unit = Word(INCLINATION_UNITS)
    sense = Word(SENSES, required=True)
    over_range = Truth()
    typed = Text(40)

    def check_together(self, data: dict[str, Any]) -> None:
        if data.get("over_range"):
            if data["sense"] == "level":
                raise ValidationError(t("refused.beyond_level"))
            if data.get("size") is not None:
                raise ValidationError(t("refused.beyond_size"))
            return
        if data.get("size") is None or "unit" not in data:
            raise ValidationError(t("refused.inclination_size"))
        if data["size"] > LARGEST[data["unit"]]:
            raise ValidationError(t("refused.inclination_steep"))
        if data["unit"] == "one_in" and data["size"] == 0:
            raise ValidationError(t("refused.one_in_0"))


class Position(PartSchema):
    """A place on the ground, WGS 84, with a radius as its source states it.

    Without ``accuracy_pct`` the radius of a phone is read as holding 63 times in 100, every other 95.
    """

    lat_deg = Number(-90, 90, "degrees", required=True)
    lon_deg = Number(-180, 180, "degrees", required=True)
    accuracy_m = Number(0, 100000, "m")
    accuracy_pct = Number(1, 99.9, "%")
    source = Word(("phone", "receiver", "map", "typed"))


class Clock(PartSchema):
    """Clock positions 1 to 12, 12 at the crown, seen looking in the direction of survey.

    One hour alone is a point; two go clockwise from the first to the second.
    """

    hour_from = Number(1, 12, "o’clock", whole=True, required=True)
    hour_to = Number(1, 12, "o’clock", whole=True)


class Continuous(PartSchema):
    """Start, change or finish of something that goes on along the pipe; the number pairs them."""

    role = Word(("start", "change", "finish"), required=True)
    number = Number(1, 999, "", whole=True, required=True)


class CounterReset(PartSchema):
    """The counter was set to another value before this reading: what it had shown, and what it was set to."""

    had_shown_m = Number(0, 5000, "m", required=True)
    set_to_m = Number(0, 5000, "m", required=True)


URGENCIES = ("at_once", "short_term", "medium_term", "long_term", "no_term")


def _urgency() -> Word:
    return Word(URGENCIES, "urgency")


class NextSteps(PartSchema):
    """What the surveyor says should be done: an urgency for each action chosen, or no action; and why."""

    report_air = _urgency()
    find_owner = _urgency()
    check_ground = _urgency()
    dig_expose = _urgency()
    clean = _urgency()
    survey_again = _urgency()
    repair_point = _urgency()
    renew = _urgency()
    level_far_end = _urgency()
    no_action = Truth()
    why = Text(400, lines=2)

    def check_together(self, data: dict[str, Any]) -> None:
        actions = [name for name in data if name not in ("no_action", "why")]
        if data.get("no_action") and actions:
            raise ValidationError(t("refused.no_action_and_actions"))
        if not data.get("no_action") and not actions:
            raise ValidationError(t("refused.no_action_chosen"))


class Bearing(PartSchema):
    """A bearing clockwise from a stated north, with its standard deviation."""

    bearing_deg = Number(0, 360, "degrees", required=True)
    north = Word(("magnetic", "true", "grid"), required=True)
    sd_deg = Number(0, 180, "degrees")

"""Bends in plan from the observations of a run, signed positive to the right."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from .codes import find_code
from .counter import chainage_m
from .errors import SurveyError
from .finite import finite, spread
from .profile import Reading

Fields = Mapping[str, Any]
BEND = "BCC"
# a bend that turns up or down as well: its roll about the pipe is anywhere in a quarter turn
SHARE = 2 / math.pi
NEAR_M = 2.0  # readings nearer than this on both sides tell it better; common practice, no source
SHARE_SD = math.sqrt(0.5 - 4 / (math.pi * math.pi))


def bends_of(
    rows: Sequence[Fields],
    observations: Sequence[Fields],
    counter_zero_m: float,
    scale: float,
    sd_deg: float,
    readings: Sequence[Reading] = (),
    reading_sd_deg: float = 0.0,
) -> dict[str, list[dict[str, Any]]]:
    """Return the bends that the observations of a run tell, and those that cannot be used.

    Parameters
    ----------
    rows : sequence of mapping
        Rows of the code table: they say which characterisation turns left and which right.
    observations : sequence of mapping, length n >= 0
        Observation records, each with ``id`` and ``fields``; in any order.
    counter_zero_m : float
        What the counter shows where the chainage is zero [m].
    scale : float
        True length over counter length; a bare ratio.
    sd_deg : float
        Standard deviation of an angle read from the picture [deg].
    readings : sequence of Reading, length m >= 0
        In ascending chainage [m]: of a bend that turns up or down as well, those on both sides within 2 m
        tell how much of it lies in plan.
    reading_sd_deg : float
        Standard deviation of one of them [deg].

    Returns
    -------
    dict
        ``bends``: in ascending chainage, each with ``id``, ``chainage_m`` [m along the pipe],
        ``deflection_deg`` [deg, right positive], ``sd_deg`` [deg] and ``known`` (``measured``,
        or of a bend that turns up or down as well, of which only a share lies in plan, ``computed`` where the
        inclinations on both sides tell that share, else ``assumed``). ``left_out``: ``id`` and ``code`` of
        the finding: ``bend_without_angle``, ``bend_without_side``, ``bend_without_counter``. Bends straight
        up or down are no bends in plan.

    Raises
    ------
    SurveyError
        ``scale_not_positive``; ``sd_negative``, ``number_not_finite``, ``number_out_of_range``;
        ``bend_angle_out_of_range`` with the index of an observation of more than 180 degrees.

    Notes
    -----
    A continuous bend stands at the middle of its start and finish, with the angle given at either. Of a bend
    to one side and up or down, the share in plan averages 2/pi with a spread of 0.308, if
    every roll between the two is as likely as any other. The inclinations tell it where that is the surer.

    References
    ----------
    EN 13508-2, by way of the table; the share of a slanting bend: Fallbook's own rule.

    Examples
    --------
    >>> bends_of([], [], 0.0, 1.0, 2.0)
    {'bends': [], 'left_out': []}
    """
    own_sd = spread(sd_deg, "sd_deg")
    row = find_code(rows, BEND)
    bends, left_out = [], []
    starts: dict[Any, dict[str, Any]] = {}
    for index, record in enumerate(observations):
        fields = record["fields"]
        if fields.get("code") != BEND or not row or _only_vertical(row, fields):
            continue
        bend = _bend(row, record, (counter_zero_m, scale, own_sd), index)
        number, role = _continuous(fields)
        if role == "finish" and number in starts:
            _close(starts.pop(number), bend)
        elif role in ("", "start", "finish"):
            bends.append(bend)
            if role == "start":
                starts[number] = bend
    usable = []
    for bend in bends:
        fault = _fault(bend)
        if fault:
            left_out.append({"id": bend["id"], "code": fault})
        else:
            usable.append(_signed(bend, readings, reading_sd_deg))
    usable.sort(key=lambda one: one["chainage_m"])
    return {"bends": usable, "left_out": left_out}


def deflection_in_plan_deg(turned_deg: float, before_deg: float, after_deg: float) -> float | None:
    """Return how much of a bend lies in plan, from the inclinations on both sides.

    Parameters
    ----------
    turned_deg : float
        Angle between the pipe before and after [deg], 0 to 180.
    before_deg, after_deg : float
        Inclinations before and after the bend [deg], rising ahead positive, within 90.

    Returns
    -------
    float or None
        Deflection in plan [deg], 0 to 180, without a sign; None where the inclinations alone differ by
        more than the bend turns, or a side is vertical. Not rounded.

    Raises
    ------
    SurveyError
        ``bend_angle_out_of_range``; ``inclination_beyond_vertical``; ``number_not_finite`` and
        ``number_out_of_range`` as for any number.

    References
    ----------
    Cosine rule of spherical trigonometry.

    Examples
    --------
    >>> round(deflection_in_plan_deg(30.0, 0.0, 0.0), 9)
    30.0
    """
    if not 0 <= finite(turned_deg, "turned_deg") <= 180:
        raise SurveyError("bend_angle_out_of_range", "turned_deg")
    first, second = finite(before_deg, "before_deg"), finite(after_deg, "after_deg")
    for value, name in ((first, "before_deg"), (second, "after_deg")):
        if not -90 <= value <= 90:
            raise SurveyError("inclination_beyond_vertical", name)
    flat = math.cos(math.radians(first)) * math.cos(math.radians(second))
    if flat < 1e-12:
        return None
    # sin2(turned/2) - sin2(rise/2) = flat sin2(plan/2), as a product so that nothing cancels
    rise = second - first
    square = (
        math.sin(math.radians((turned_deg + rise) / 2))
        * math.sin(math.radians((turned_deg - rise) / 2))
        / flat
    )
    if square < 0:
        return None
    return 2 * math.degrees(math.asin(math.sqrt(min(1.0, square))))


def _bend(row: Fields, record: Fields, frame: tuple[float, float, float], index: int) -> dict[str, Any]:
    """An observation as a bend; side, angle and chainage may still be missing."""
    fields, (zero, scale, sd) = record["fields"], frame
    counter, angle = fields.get("counter_m"), fields.get("quantification_1")
    at = None if counter is None else chainage_m(finite(counter, "observations", index), zero, scale)
    if angle is not None and not 0 <= finite(angle, "observations", index) <= 180:
        raise SurveyError("bend_angle_out_of_range", "observations", index)
    side = _side(row, fields.get("characterisation_1"))
    slanting = bool(_choice(row, "characterisation_2", fields.get("characterisation_2")))
    return {"id": record.get("id"), "at": at, "angle": angle, "side": side, "slanting": slanting, "sd": sd}


def _close(start: dict[str, Any], finish: dict[str, Any]) -> None:
    """Put the finish of a continuous bend into its start."""
    if start["at"] is not None and finish["at"] is not None:
        start["at"] = (start["at"] + finish["at"]) / 2
    for key in ("angle", "side"):
        if start[key] is None:
            start[key] = finish[key]


def _fault(bend: dict[str, Any]) -> str | None:
    if bend["at"] is None:
        return "bend_without_counter"
    if bend["side"] is None:
        return "bend_without_side"
    return "bend_without_angle" if bend["angle"] is None else None


def _signed(bend: dict[str, Any], readings: Sequence[Reading], reading_sd: float) -> dict[str, Any]:
    angle, sd, known = bend["side"] * bend["angle"], bend["sd"], "measured"
    if bend["slanting"]:
        loose = SHARE_SD * bend["angle"]
        least = math.sqrt(sd * sd + loose * loose)
        told = _told(bend, readings, reading_sd)
        if told is not None and told[1] < least:
            angle, sd, known = bend["side"] * told[0], told[1], "computed"
        else:
            angle, sd, known = SHARE * angle, least, "assumed"
    return {"id": bend["id"], "chainage_m": bend["at"], "deflection_deg": angle, "sd_deg": sd, "known": known}


def _told(bend: dict[str, Any], readings: Sequence[Reading], reading_sd: float) -> tuple[float, float] | None:
    """The deflection in plan and its spread [deg], from the inclinations close to both sides."""
    before = after = None
    for reading in readings:
        if reading.chainage_m <= bend["at"]:
            before = reading
        elif after is None:
            after = reading
    if before is None or after is None or before.deg is None or after.deg is None:
        return None
    if bend["at"] - before.chainage_m > NEAR_M or after.chainage_m - bend["at"] > NEAR_M:
        return None
    plan = deflection_in_plan_deg(bend["angle"], before.deg, after.deg)
    if plan is None:
        return None
    flat = math.cos(math.radians(before.deg)) * math.cos(math.radians(after.deg))
    scale = flat * math.sin(math.radians(plan))
    if scale < 1e-6:
        return None
    by_angle = math.sin(math.radians(bend["angle"])) / scale * bend["sd"]
    by_rise = math.sin(math.radians(after.deg - before.deg)) / scale * reading_sd
    return plan, math.sqrt(by_angle * by_angle + 2 * by_rise * by_rise)


def _only_vertical(row: Fields, fields: Fields) -> bool:
    up_or_down = _choice(row, "characterisation_2", fields.get("characterisation_2"))
    return not fields.get("characterisation_1") and bool(up_or_down)


def _side(row: Fields, value: Any) -> int | None:
    label = _choice(row, "characterisation_1", value)
    return 1 if "right" in label else -1 if "left" in label else None


def _choice(row: Fields, field: str, value: Any) -> str:
    for choice in row[field]:
        if choice["value"] == value:
            return str(choice["label"]).lower()
    return ""


def _continuous(fields: Fields) -> tuple[Any, str]:
    continuous = fields.get("continuous") or {}
    return continuous.get("number"), continuous.get("role") or ""

"""Bends and angled joints in plan from the observations of a run, signed positive to the right."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from ..coding.codes import find_code
from ..errors import SurveyError
from ..instruments.counter import chainage_m
from ..numbers.finite import finite, spread
from .plan_reading import Reading
from .turns import BEND, choice_label, only_vertical, turns_a_joint

Fields = Mapping[str, Any]
# a bend that turns up or down as well: its roll about the pipe is anywhere in a quarter turn
SHARE = 2 / math.pi
NEAR_M = 2.0  # readings nearer than this on both sides tell it better; common practice, no source
SHARE_SD = math.sqrt(0.5 - 4 / (math.pi * math.pi))
# of ``turns_to``: which side, and whether it goes up or down as well; straight up or down is no bend in plan
DIRECTIONS = {
    "left": (-1, False), "left_up": (-1, True), "left_down": (-1, True),
    "right": (1, False), "right_up": (1, True), "right_down": (1, True),
}  # fmt: skip
VERTICAL = ("up", "down")
# An angle seen and not recorded: root mean squares of factory bends (11, 15, 22, 30, 45) and of usual joint
# angles (1, 2, 5, 10), rounded up; own working, no source.
UNREAD_DEG = {"bend": 30.0, "joint": 6.0}
JOINT_SD_DEG = (
    1.0  # an angle at a joint is read to half of itself, never better than this; common practice, no source
)
JOINT_EVERY_M = 2.0  # where angled joints were recorded over a length; common practice, no source


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
    observations : sequence of mapping, length n >= 0
        Observation records, each with ``id`` and ``fields``; in any order.
    counter_zero_m : float
        What the counter shows where the chainage is zero [m].
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
        inclinations on both sides tell that share, else ``assumed``) and ``joint`` (an angle at a joint).
        ``left_out``: ``id`` and ``code`` of the finding: ``bend_without_angle``, ``bend_without_side``,
        ``bend_without_counter``, ``joint_without_angle``, ``joint_without_direction``,
        ``joint_angle_out_of_range``, ``joint_angle_over_length``. ``loose``: of those with a place how far
        they may turn the line either way, ``id``, ``chainage_m`` [m], ``sd_deg`` [deg]. Straight up or down
        is no bend in plan.

    Raises
    ------
    SurveyError
        ``scale_not_positive``; ``sd_negative``, ``number_not_finite``, ``number_out_of_range``;
        ``bend_angle_out_of_range`` with the index of a bend of more than 180 degrees.

    Notes
    -----
    A continuous bend stands at the middle of its start and finish, with the angle given at either. Of a bend
    to one side and up or down, the share in plan averages 2/pi with a spread of 0.308, if
    every roll between the two is as likely as any other. The inclinations tell it where that is the surer.
    The way a joint turns is that of ``turns_to`` and never read from its clock position. Without it left and
    right are as likely: the angle itself is then the standard deviation.

    References
    ----------
    EN 13508-2, by way of the table; the share of a slanting bend: our own rule.

    Examples
    --------
    >>> bends_of([], [], 0.0, 1.0, 2.0)
    {'bends': [], 'left_out': [], 'loose': []}
    """
    own_sd = spread(sd_deg, "sd_deg")
    drafts: list[dict[str, Any]] = []
    starts: dict[Any, dict[str, Any]] = {}
    for index, record in enumerate(observations):
        draft = _draft(rows, record, (counter_zero_m, scale, own_sd), index)
        if draft is None:
            continue
        number, role = _continuous(record["fields"])
        key = (draft["kind"], number)
        if role == "finish" and key in starts:
            _close(starts.pop(key), draft)
        elif role in ("", "start", "finish"):
            drafts.append(draft)
            if role == "start":
                starts[key] = draft
    usable, left_out, loose = [], [], []
    for draft in drafts:
        fault = _fault(draft)
        if fault is None:
            usable.append(_signed(draft, readings, reading_sd_deg))
            continue
        left_out.append({"id": draft["id"], "code": fault})
        if draft["at"] is not None:
            loose.append({"id": draft["id"], "chainage_m": draft["at"], "sd_deg": _loose_deg(draft)})
    usable.sort(key=lambda one: one["chainage_m"])
    loose.sort(key=lambda one: one["chainage_m"])
    return {"bends": usable, "left_out": left_out, "loose": loose}


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
        Deflection in plan [deg], 0 to 180, without a sign; None where the inclinations alone differ by more
        than the bend turns, or a side is vertical.

    Raises
    ------
    SurveyError
        ``bend_angle_out_of_range``; ``inclination_beyond_vertical``.

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


def _draft(
    rows: Sequence[Fields], record: Fields, frame: tuple[float, float, float], index: int
) -> dict[str, Any] | None:
    """An observation as a bend, if it is one in plan; side, angle and chainage may still be missing."""
    fields = record["fields"]
    row = find_code(rows, fields.get("code"))
    if row is None:
        return None
    draft = {"id": record.get("id"), "sd": frame[2], "over_m": None}
    if turns_a_joint(row, fields):
        direction = fields.get("turns_to")
        if direction in VERTICAL:
            return None
        side, slanting = DIRECTIONS.get(direction or "", (None, False))
        draft |= {"kind": "joint", "side": side, "slanting": slanting}
    elif row["code"] == BEND and not only_vertical(row, fields):
        up_or_down = choice_label(row, "characterisation_2", fields.get("characterisation_2"))
        side = _side(row, fields.get("characterisation_1"))
        draft |= {"kind": "bend", "side": side, "slanting": bool(up_or_down)}
    else:
        return None
    counter, angle = fields.get("counter_m"), fields.get("quantification_1")
    place = None if counter is None else finite(counter, "observations", index)
    draft["at"] = None if place is None else chainage_m(place, frame[0], frame[1])
    if angle is not None and not 0 <= finite(angle, "observations", index) <= 180 and draft["kind"] == "bend":
        raise SurveyError("bend_angle_out_of_range", "observations", index)
    return draft | {"angle": angle}


def _close(start: dict[str, Any], finish: dict[str, Any]) -> None:
    """Put the finish of something continuous into its start."""
    if start["at"] is not None and finish["at"] is not None:
        start["over_m"] = abs(finish["at"] - start["at"])
        start["at"] = (start["at"] + finish["at"]) / 2
    for key in ("angle", "side"):
        if start[key] is None:
            start[key] = finish[key]


def _fault(draft: dict[str, Any]) -> str | None:
    if draft["at"] is None:
        return "bend_without_counter"
    if draft["kind"] == "bend":
        if draft["side"] is None:
            return "bend_without_side"
        return "bend_without_angle" if draft["angle"] is None else None
    if draft["angle"] is None:
        return "joint_without_angle"
    if not 0 <= draft["angle"] <= 90:
        return "joint_angle_out_of_range"
    if draft["over_m"]:
        return "joint_angle_over_length"
    return "joint_without_direction" if draft["side"] is None else None


def _loose_deg(draft: dict[str, Any]) -> float:
    """How far something may turn the line whose angle, side or number of joints is not known."""
    angle = draft["angle"]
    if angle is None or not 0 <= angle <= 180 or (draft["kind"] == "joint" and angle > 90):
        angle = UNREAD_DEG[draft["kind"]]
    joints = (
        1 + math.floor(draft["over_m"] / JOINT_EVERY_M) if draft["kind"] == "joint" and draft["over_m"] else 1
    )
    turned, sd = float(min(180.0, angle * joints)), _read_sd(draft["kind"], angle, draft["sd"])
    return math.sqrt(turned * turned + sd * sd)


def _read_sd(kind: str, angle: float, sd: float) -> float:
    return sd if kind == "bend" else min(sd, max(JOINT_SD_DEG, angle / 2))


def _signed(bend: dict[str, Any], readings: Sequence[Reading], reading_sd: float) -> dict[str, Any]:
    angle, provenance = bend["side"] * bend["angle"], "measured"
    sd = _read_sd(bend["kind"], bend["angle"], bend["sd"])
    if bend["slanting"]:
        loose = SHARE_SD * bend["angle"]
        least = math.sqrt(sd * sd + loose * loose)
        by_readings = _from_readings({**bend, "sd": sd}, readings, reading_sd)
        if by_readings is not None and by_readings[1] < least:
            angle, sd, provenance = bend["side"] * by_readings[0], by_readings[1], "computed"
        else:
            angle, sd, provenance = SHARE * angle, least, "assumed"
    return {
        "id": bend["id"], "chainage_m": bend["at"], "deflection_deg": angle, "sd_deg": sd,
        "known": provenance, "joint": bend["kind"] == "joint",
    }  # fmt: skip


def _from_readings(
    bend: dict[str, Any], readings: Sequence[Reading], reading_sd: float
) -> tuple[float, float] | None:
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


def _side(row: Fields, value: Any) -> int | None:
    label = choice_label(row, "characterisation_1", value)
    return 1 if "right" in label else -1 if "left" in label else None


def _continuous(fields: Fields) -> tuple[Any, str]:
    continuous = fields.get("continuous") or {}
    return continuous.get("number"), continuous.get("role") or ""

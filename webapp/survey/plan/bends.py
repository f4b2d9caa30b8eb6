"""Bends and angled joints in plan from the observations of a run, signed positive to the right."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from ..coding.codes import find_code
from ..errors import SurveyError
from ..instruments.counter import chainage_m
from ..numbers.finite import finite, spread
from ..records import ObservationFields, ObservationRecord
from ..table_types.codes import ObservationCode
from .deflection import NO_SLOPES, SlopeReadings, deflection_from_readings
from .turns import BEND, is_a_choice, only_vertical, side_of, turns_a_joint

# a bend that turns up or down as well: its roll about the pipe is anywhere in a quarter turn
SHARE = 2 / math.pi
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


class PlanBend(TypedDict):
    """A bend, or an angle at a ``joint``, as far as it lies in plan: right is positive."""

    id: str
    chainage_m: float
    deflection_deg: float
    sd_deg: float
    known: str
    joint: bool


class LeftOutBend(TypedDict):
    """An observation that cannot be used, and the code of the finding."""

    id: str
    code: str


class LooseTurn(TypedDict):
    """How far something may turn the line either way."""

    id: str
    chainage_m: float
    sd_deg: float


class Bends(TypedDict):
    """What the observations of a run tell of its bends."""

    bends: list[PlanBend]
    left_out: list[LeftOutBend]
    loose: list[LooseTurn]


@dataclass
class _Draft:
    """An observation of a bend or joint: chainage, angle and side (right is 1) may still be missing."""

    id: str
    kind: str  # bend or joint
    side: int | None
    slanting: bool  # up or down as well
    sd_deg: float
    at_m: float | None = None
    over_m: float | None = None  # the length, of something continuous
    angle_deg: float | None = None


def bends_of(
    rows: Sequence[ObservationCode], observations: Sequence[ObservationRecord], counter_zero_m: float,
    scale: float, sd_deg: float, slopes: SlopeReadings = NO_SLOPES,
) -> Bends:  # fmt: skip
    """Return the bends that the observations of a run tell, and those that cannot be used.

    Parameters
    ----------
    observations : sequence of mapping, length n >= 0
        Observation records, each with ``id`` and ``fields``; in any order.
    counter_zero_m : float
        What the counter shows where the chainage is zero [m].
    sd_deg : float
        Standard deviation of an angle read from the picture [deg].
    slopes : SlopeReadings
        Of a bend that turns up or down as well, those on both sides within 2 m tell how much of it lies in
        plan [m, deg].

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
    drafts: list[_Draft] = []
    starts: dict[tuple[str, int | None], _Draft] = {}
    for index, record in enumerate(observations):
        draft = _draft(rows, record, (counter_zero_m, scale, own_sd), index)
        if draft is None:
            continue
        number, role = _continuous(record["fields"])
        key = (draft.kind, number)
        if role == "finish" and key in starts:
            _close(starts.pop(key), draft)
        elif role in ("", "start", "finish"):
            drafts.append(draft)
            if role == "start":
                starts[key] = draft
    found: Bends = {"bends": [], "left_out": [], "loose": []}
    for draft in drafts:
        bend = _signed(draft, slopes)
        if isinstance(bend, str):
            found["left_out"].append({"id": draft.id, "code": bend})
            if draft.at_m is not None:
                found["loose"].append({"id": draft.id, "chainage_m": draft.at_m, "sd_deg": _loose_deg(draft)})
        else:
            found["bends"].append(bend)
    found["bends"].sort(key=lambda one: one["chainage_m"])
    found["loose"].sort(key=lambda one: one["chainage_m"])
    return found


def _draft(
    rows: Sequence[ObservationCode], record: ObservationRecord, frame: tuple[float, float, float], index: int
) -> _Draft | None:
    """An observation as a bend, if it is one in plan; side, angle and chainage may still be missing."""
    fields = record["fields"]
    row = find_code(rows, fields.get("code") or "")
    if row is None:
        return None
    if turns_a_joint(row, fields):
        direction = fields.get("turns_to")
        if direction in VERTICAL:
            return None
        side, slanting = DIRECTIONS.get(direction or "", (None, False))
        draft = _Draft(record["id"], "joint", side, slanting, frame[2])
    elif row["code"] == BEND and not only_vertical(row, fields):
        up_or_down = is_a_choice(row, "characterisation_2", fields.get("characterisation_2"))
        side = side_of(row, fields.get("characterisation_1"))
        draft = _Draft(record["id"], "bend", side, up_or_down, frame[2])
    else:
        return None
    counter, angle = fields.get("counter_m"), fields.get("quantification_1")
    place = None if counter is None else finite(counter, "observations", index)
    draft.at_m = None if place is None else chainage_m(place, frame[0], frame[1])
    if angle is not None and not 0 <= finite(angle, "observations", index) <= 180 and draft.kind == "bend":
        raise SurveyError("bend_angle_out_of_range", "observations", index)
    draft.angle_deg = angle
    return draft


def _close(start: _Draft, finish: _Draft) -> None:
    """Put the finish of something continuous into its start."""
    if start.at_m is not None and finish.at_m is not None:
        start.over_m = abs(finish.at_m - start.at_m)
        start.at_m = (start.at_m + finish.at_m) / 2
    if start.angle_deg is None:
        start.angle_deg = finish.angle_deg
    if start.side is None:
        start.side = finish.side


def _joint_fault(draft: _Draft) -> str | None:
    if draft.kind == "joint" and draft.angle_deg is not None and not 0 <= draft.angle_deg <= 90:
        return "joint_angle_out_of_range"
    return "joint_angle_over_length" if draft.kind == "joint" and draft.over_m else None


def _loose_deg(draft: _Draft) -> float:
    """How far something may turn the line whose angle, side or number of joints is not known."""
    angle = draft.angle_deg
    if angle is None or not 0 <= angle <= 180 or (draft.kind == "joint" and angle > 90):
        angle = UNREAD_DEG[draft.kind]
    joints = 1 + math.floor(draft.over_m / JOINT_EVERY_M) if draft.kind == "joint" and draft.over_m else 1
    turned, sd = float(min(180.0, angle * joints)), _read_sd(draft.kind, angle, draft.sd_deg)
    return math.sqrt(turned * turned + sd * sd)


def _read_sd(kind: str, angle: float, sd: float) -> float:
    return sd if kind == "bend" else min(sd, max(JOINT_SD_DEG, angle / 2))


def _signed(draft: _Draft, slopes: SlopeReadings) -> PlanBend | str:
    """A bend as it lies in plan, or the code of what it lacks."""
    if draft.at_m is None:
        return "bend_without_counter"
    if draft.kind == "bend" and draft.side is None:
        return "bend_without_side"
    if draft.angle_deg is None:
        return f"{draft.kind}_without_angle"
    fault = _joint_fault(draft)
    if fault is not None:
        return fault
    if draft.side is None:
        return "joint_without_direction"
    turned, angle, provenance = draft.angle_deg, draft.side * draft.angle_deg, "measured"
    sd = _read_sd(draft.kind, turned, draft.sd_deg)
    if draft.slanting:
        loose = SHARE_SD * turned
        least = math.sqrt(sd * sd + loose * loose)
        by_readings = deflection_from_readings(draft.at_m, turned, sd, slopes)
        if by_readings is not None and by_readings[1] < least:
            angle, sd, provenance = draft.side * by_readings[0], by_readings[1], "computed"
        else:
            angle, sd, provenance = SHARE * angle, least, "assumed"
    return {
        "id": draft.id, "chainage_m": draft.at_m, "deflection_deg": angle, "sd_deg": sd,
        "known": provenance, "joint": draft.kind == "joint",
    }  # fmt: skip


def _continuous(fields: ObservationFields) -> tuple[int | None, str]:
    continuous = fields.get("continuous")
    return (continuous.get("number"), continuous.get("role") or "") if continuous else (None, "")

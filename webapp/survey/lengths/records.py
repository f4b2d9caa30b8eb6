"""Records of a run as part of one length: placed along the length, and turned round from its other end.

Only copies are changed; what was recorded stays as it is in the job.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypedDict, TypeVar, cast

from ..coding.continuous import ContinuousItem, ContinuousPart
from ..instruments.counter_resets import shown_m
from ..records import Clock, ObservationFields, ObservationRecord

R = TypeVar("R", bound=Mapping[str, Any])  # a record of one kind
BEND = "BCC"
SIDES = {"A": "B", "B": "A"}  # of a bend: to the left, to the right
TURNS = {
    "left": "right",
    "right": "left",
    "left_up": "right_up",
    "right_up": "left_up",
    "left_down": "right_down",
    "right_down": "left_down",
}  # of an angled joint; up stays up
SENSES = {"rising": "falling", "falling": "rising"}


@dataclass(frozen=True)
class LengthFrame:
    """Turns the counter of a piece into that of the first run of its length.

    ``zero_m``, ``scale`` of the piece, ``onto_zero_m``, ``onto_scale`` of the first run. ``length_m``: from
    end to end [m]. ``turned``: the piece comes from the other end. ``shift_deg``: its inclinometer's zero
    less that of the first run.
    """

    zero_m: float
    scale: float
    turned: bool
    length_m: float
    onto_zero_m: float
    onto_scale: float
    shift_deg: float


def length_counter(counter_m: float, frame: LengthFrame) -> float:
    """Return what the counter of the first run would show at a place of a piece.

    Parameters
    ----------
    counter_m : float
        What the counter of the piece showed [m].

    Returns
    -------
    float
        Counter reading [m].

    Examples
    --------
    >>> length_counter(10.0, LengthFrame(0.0, 1.0, True, 45.0, 0.5, 1.0, 0.0))
    35.5
    """
    along_m = (counter_m - frame.zero_m) * frame.scale
    if frame.turned:
        along_m = frame.length_m - along_m
    return frame.onto_zero_m + along_m / frame.onto_scale


def length_clock(clock: Clock) -> Clock:
    """Return a clock position as it is seen from the other end.

    Parameters
    ----------
    clock : mapping
        ``hour_from`` and, of a span, ``hour_to``, clockwise; hours.

    Examples
    --------
    >>> length_clock({"hour_from": 2, "hour_to": 4})
    {'hour_from': 8, 'hour_to': 10}
    """
    start, end = clock.get("hour_from"), clock.get("hour_to")
    found: Clock = {**clock}
    if start is not None and end is not None:
        found["hour_from"], found["hour_to"] = _mirrored(end), _mirrored(start)
    elif start is not None:
        found["hour_from"] = _mirrored(start)
    return found


def _mirrored(hour: int) -> int:
    other = (12 - hour) % 12
    return 12 if other == 0 else other


def in_length(kind: str, record: R, frame: LengthFrame) -> R:
    """Return a copy of a record, placed along the length.

    Parameters
    ----------
    kind : str
        ``reading``, ``observation``, ``stretch``, ``level_tie``, ``remark`` or ``photo``.
    record : mapping
        With ``id`` and ``fields``.

    Returns
    -------
    dict
        The record; its counters are those of the first run [m], what was shown is kept beside: see
        ``shown_m``, and ``inclination_shown``. From the other end inclinations, clock positions, sides of
        bends, beginnings and ends of stretches are turned round; a reading then has ``turned``, and
        ``zero_shift_deg`` [deg] where it has a zero of its own.

    Examples
    --------
    >>> frame = LengthFrame(0.0, 1.0, True, 45.0, 0.0, 1.0, 0.0)
    >>> in_length("remark", {"id": "a", "fields": {"counter_m": 10.0}}, frame)["fields"]["counter_m"]
    35.0
    """
    fields: dict[str, Any] = dict(record["fields"])
    for name in ("counter_m", "from_counter_m", "to_counter_m"):
        if fields.get(name) is not None:
            shown = shown_m(record["fields"], name)
            fields[name.replace("counter_m", "counter_shown_m")] = shown
            fields[name] = length_counter(record["fields"][name], frame)
    if kind == "reading" and frame.shift_deg:
        fields["zero_shift_deg"] = frame.shift_deg
    if frame.turned:
        _turn(kind, fields)
    return cast(R, {**record, "fields": fields})


def _turn(kind: str, fields: dict[str, Any]) -> None:
    """Turn round what depends on the way of looking."""
    if kind == "reading":
        fields["turned"] = True
        inclination = fields.get("inclination")
        if inclination:
            sense = inclination.get("sense")
            fields["inclination_shown"] = inclination
            fields["inclination"] = {**inclination, "sense": SENSES.get(sense, sense)}
    if kind == "observation":
        if fields.get("clock"):
            fields["clock"] = length_clock(fields["clock"])
        if fields.get("code") == BEND and fields.get("characterisation_1") in SIDES:
            fields["characterisation_1"] = SIDES[fields["characterisation_1"]]
        if fields.get("turns_to") in TURNS:
            fields["turns_to"] = TURNS[fields["turns_to"]]
    if kind == "stretch":
        ends = ("from_counter_m", "to_counter_m", "from_counter_shown_m", "to_counter_shown_m")
        given = {name: fields.pop(name) for name in ends if name in fields}
        for name, value in given.items():
            other = name.replace("from_", "to_") if name.startswith("from_") else name.replace("to_", "from_")
            fields[other] = value


def items_in_length(
    items: Sequence[ContinuousItem], end_counter_m: float | None, frame: LengthFrame
) -> list[ContinuousItem]:
    """Return what goes on along a piece, placed along the length.

    Parameters
    ----------
    end_counter_m : float or None
        Counter reading to which the piece was surveyed [m]: closes what is open.

    Returns
    -------
    list of dict
        The same, their places by the counter of the first run [m]; from the other end their parts come in
        the other order.

    Examples
    --------
    >>> items_in_length([], 9.0, LengthFrame(0.0, 1.0, True, 45.0, 0.0, 1.0, 0.0))
    []
    """
    return [_item_in_length(one, end_counter_m, frame) for one in items]


def _item_in_length(item: ContinuousItem, end_m: float | None, frame: LengthFrame) -> ContinuousItem:
    closes_m = end_m if item["open"] and end_m is not None else None
    parts = [_placed(part, closes_m, frame) for part in item["parts"]]
    if frame.turned:
        parts.reverse()
    return {**item, **_ends((item["from_counter_m"], item["to_counter_m"]), closes_m, frame), "parts": parts}


def _placed(part: ContinuousPart, closes_m: float | None, frame: LengthFrame) -> ContinuousPart:
    return {**part, **_ends((part["from_counter_m"], part["to_counter_m"]), closes_m, frame)}


class _Ends(TypedDict):
    from_counter_m: float
    to_counter_m: float | None


def _ends(at_m: tuple[float, float | None], closes_m: float | None, frame: LengthFrame) -> _Ends:
    """From where to where; what has no end then is a point from the other end."""
    from_m, to_m = at_m
    if to_m is None and closes_m is not None:
        to_m = max(from_m, closes_m)
    start = length_counter(from_m, frame)
    if to_m is None:
        return {"from_counter_m": start, "to_counter_m": None}
    end = length_counter(to_m, frame)
    start, end = (end, start) if frame.turned else (start, end)
    return {"from_counter_m": start, "to_counter_m": end}


def observations_in_length(
    observations: Sequence[ObservationRecord],
    items: Sequence[ContinuousItem],
    end_counter_m: float | None,
    frame: LengthFrame,
) -> list[ObservationRecord]:
    """Return copies of the observations of a piece, placed along the length.

    Parameters
    ----------
    end_counter_m : float or None
        Counter reading to which the piece was surveyed [m].

    Returns
    -------
    list of dict
        As ``in_length``; from the other end something continuous starts where it was seen to finish, and
        finishes where it was seen to start [m].

    Examples
    --------
    >>> observations_in_length([], [], None, LengthFrame(0.0, 1.0, True, 45.0, 0.0, 1.0, 0.0))
    []
    """
    places = {one["id"]: one["fields"] for one in observations}
    swapped: dict[str, ObservationFields] = {}
    for item in items if frame.turned else ():
        start = places[item["start_id"]]
        if item["finish_id"] is not None:
            finish = places[item["finish_id"]]
            swapped[item["start_id"]] = _counters(finish)
            swapped[item["finish_id"]] = _counters(start)
        elif item["open"] and end_counter_m is not None and end_counter_m > item["from_counter_m"]:
            swapped[item["start_id"]] = {"counter_m": end_counter_m, "counter_shown_m": end_counter_m}
    return [in_length("observation", _swapped(one, swapped.get(one["id"])), frame) for one in observations]


def _swapped(one: ObservationRecord, counters: ObservationFields | None) -> ObservationRecord:
    return one if counters is None else {**one, "fields": {**one["fields"], **counters}}


def _counters(fields: ObservationFields) -> ObservationFields:
    return {"counter_m": fields["counter_m"], "counter_shown_m": shown_m(fields, "counter_m")}

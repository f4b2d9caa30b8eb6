"""Where a run ended and how, and with it everything that was recorded as going on."""

import math
from collections.abc import Sequence
from typing import TypedDict

from ..records import (
    EndReason,
    NodeFields,
    ObservationFields,
    ObservationRecord,
    RunFields,
    StretchRecord,
    ToKnown,
)

START_CODE, FINISH_CODE, ABANDONED_CODE = "BCD", "BCE", "BDC"
# Kinds of a finish node by the type of the node; any other is a special one.
NODE_KINDS = {"manhole": "A", "inspection_chamber": "B", "rodding_eye": "C", "outfall": "E", "junction": "F"}
START_WITHIN_M = 1.0  # of chainage zero, by the counter; common practice, no source
REASONS: dict[str, EndReason] = {
    "A": "obstruction",
    "B": "water",
}  # of a run that was abandoned, by its characterisation


def ended_run(run: RunFields, observations: Sequence[ObservationRecord]) -> RunFields:
    """Return the fields of a run with its end, also where only an observation tells of it.

    Returns
    -------
    dict
        The fields; ``end_counter_m`` [m] and ``end_reason`` that were not recorded with the run are those of
        the farthest observation of its finish node, else of its being abandoned; ``end_reason_from`` then is
        ``observation``.

    Examples
    --------
    >>> seen = {"id": "a", "fields": {"code": "BDC", "counter_m": 7.0, "characterisation_1": "A"}}
    >>> ended_run({}, [seen])
    {'end_counter_m': 7.0, 'end_reason': 'obstruction', 'end_reason_from': 'observation'}
    """
    fields: RunFields = {**run}
    one = recorded_end(observations)
    if one is None:
        return fields
    recorded = one["fields"]
    if fields.get("end_counter_m") is None:
        fields["end_counter_m"] = recorded["counter_m"]
    if not fields.get("end_reason"):
        kind = recorded.get("characterisation_1") or ""
        reached = recorded["code"] == FINISH_CODE
        fields["end_reason"] = "node_reached" if reached else REASONS.get(kind, "other")
        fields["end_reason_from"] = "observation"
    return fields


def start_off_m(run: RunFields, observation: ObservationFields) -> float | None:
    """Return how far an observation of the start node stands from chainage zero, where that is too far.

    Returns
    -------
    float or None
        Distance by the counter [m], beyond or before; None within ``START_WITHIN_M`` and for what is no
        start node.

    Examples
    --------
    >>> start_off_m({"counter_zero_m": 0.5}, {"code": "BCD", "counter_m": 16.5})
    16.0
    """
    counter_m = observation.get("counter_m")
    if observation.get("code") != START_CODE or counter_m is None:
        return None
    off_m = abs(counter_m - (run.get("counter_zero_m") or 0.0))
    return float(off_m) if off_m > START_WITHIN_M else None


def recorded_end(observations: Sequence[ObservationRecord]) -> ObservationRecord | None:
    """Return the observation that tells where and how a run ended.

    Returns
    -------
    mapping or None
        The farthest of its finish node, else of its being abandoned; None where there is neither.

    Examples
    --------
    >>> recorded_end([{"id": "a", "fields": {"code": "BDC", "counter_m": 7.0}}])["id"]
    'a'
    """
    return _farthest(observations, FINISH_CODE) or _farthest(observations, ABANDONED_CODE)


class EndObservation(TypedDict):
    """What the end of a run comes to as an observation [m, counter]."""

    code: str
    counter_m: float
    characterisation_1: str
    remark_for: str | None


def end_observation(run: RunFields, finish: NodeFields | None) -> EndObservation | None:
    """Return the observation that the end of a run comes to, where nobody recorded it as one.

    Returns
    -------
    dict or None
        ``code``, ``counter_m`` [m], ``characterisation_1`` and ``remark_for``, the reason whose words are to
        stand in the remark where the kind says too little. None where place or reason is not recorded.

    Examples
    --------
    >>> end_observation({"end_counter_m": 7.0, "end_reason": "obstruction"}, None)
    {'code': 'BDC', 'counter_m': 7.0, 'characterisation_1': 'A', 'remark_for': None}
    """
    counter_m, reason = run.get("end_counter_m"), run.get("end_reason")
    if counter_m is None or not reason:
        return None
    if reason == "node_reached":
        node_type = (finish or {}).get("node_type") or ""
        kind, code = NODE_KINDS.get(node_type, "Z"), FINISH_CODE
    else:
        kind, code = next((k for k, name in REASONS.items() if name == reason), "Z"), ABANDONED_CODE
    return {"code": code, "counter_m": counter_m, "characterisation_1": kind,
            "remark_for": reason if kind == "Z" else None}  # fmt: skip


def _farthest(observations: Sequence[ObservationRecord], code: str) -> ObservationRecord | None:
    best, farthest_m = None, -math.inf
    for one in observations:
        counter_m = one["fields"].get("counter_m")
        if one["fields"].get("code") == code and counter_m is not None and counter_m > farthest_m:
            best, farthest_m = one, counter_m
    return best


def closed_stretches(stretches: Sequence[StretchRecord], end_counter_m: float | None) -> list[StretchRecord]:
    """Return the stretches of a run, each with an end where one can be had.

    Parameters
    ----------
    end_counter_m : float or None
        Counter reading to which the run was surveyed [m].

    Returns
    -------
    list of mapping
        The same records in their order; one without ``to_counter_m`` [m] is a copy that ends where the
        next one begins, or else where the run ends, with ``to_known`` ``start_of_next`` or ``end_of_run``.
        One whose end lies before its start then stays without.

    Examples
    --------
    >>> closed_stretches([{"id": "a", "fields": {"from_counter_m": 0.0}}], 9.0)[0]["fields"]["to_counter_m"]
    9.0
    """
    starts = sorted(
        from_m for one in stretches if (from_m := one["fields"].get("from_counter_m")) is not None
    )
    return [_closed(one, starts, end_counter_m) for one in stretches]


def _closed(one: StretchRecord, starts: Sequence[float], end_counter_m: float | None) -> StretchRecord:
    fields = one["fields"]
    from_m = fields.get("from_counter_m")
    if from_m is None or fields.get("to_counter_m") is not None:
        return one
    beyond = next((start for start in starts if start > from_m), None)
    to_m = end_counter_m if beyond is None else beyond
    provenance: ToKnown = "end_of_run" if beyond is None else "start_of_next"
    if to_m is None or to_m <= from_m:
        return one
    return {**one, "fields": {**fields, "to_counter_m": to_m, "to_known": provenance}}

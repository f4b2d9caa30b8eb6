"""Before leaving: how far a run was surveyed, and the lengths of it of which something was never stated."""

import itertools
from collections.abc import Sequence

from ..flow.run_capacity import NEED_WIDTH
from ..records import ObservationRecord, ReadingRecord, RecordsByKind, RunFields, StretchRecord
from .leave_item import LeaveRules, OpenItem, open_item

Found = list[OpenItem]
SAME_PLACE_M = 1e-6


def finish_m(run: RunFields, observations: Sequence[ObservationRecord], rules: LeaveRules) -> float | None:
    """Return where a run ended: as recorded, else where its finish node was seen.

    Parameters
    ----------
    rules : mapping
        ``finish_code``: the code of the finish node.

    Returns
    -------
    float or None
        What the counter showed there [m]; None where neither is recorded.

    Examples
    --------
    >>> finish_m({"end_counter_m": 9.0}, [], {"finish_code": "BCE"})
    9.0
    """
    end_m: float | None = run.get("end_counter_m")
    if end_m is None:
        for one in observations:
            at_m = one["fields"].get("counter_m")
            if one["fields"].get("code") == rules["finish_code"] and at_m is not None:
                end_m = at_m if end_m is None or at_m > end_m else end_m
    return end_m


def reach_m(
    run: RunFields,
    readings: Sequence[ReadingRecord],
    observations: Sequence[ObservationRecord],
    rules: LeaveRules,
) -> tuple[float, float | None]:
    """Return from where to where a run was surveyed, by the counter.

    Returns
    -------
    tuple of float
        Start and end [m, counter]; the end is that of the run, else that of its finish, else the
        last recorded place; None where nothing is recorded.

    Examples
    --------
    >>> readings = [{"id": "a", "fields": {"counter_m": 7.0}}]
    >>> reach_m({"counter_zero_m": 0.5}, readings, [], {"finish_code": "BCE"})
    (0.5, 7.0)
    """
    start_m = run.get("counter_zero_m") or 0.0
    end_m = finish_m(run, observations, rules)
    if end_m is not None:
        return start_m, end_m
    places = [p for one in (*readings, *observations) if (p := one["fields"].get("counter_m")) is not None]
    return start_m, max(places) if places else None


def length_items(run_id: str, run: RunFields, parts: RecordsByKind, rules: LeaveRules) -> Found:
    """Return the lengths without readings, and those whose shape or size was never stated.

    Parameters
    ----------
    parts : mapping
        Its records by kind: ``reading``, ``observation``, ``stretch``.
    rules : mapping
        ``longest_gap_m`` [m] with ``longest_gap_known`` (``assumed`` or ``set``), ``least_length_m`` [m],
        and those of ``end_items``.

    Returns
    -------
    list of dict
        Open items with their places [m, counter].

    Examples
    --------
    >>> rules = {"finish_code": "BCE", "least_length_m": 0.1}
    >>> rules |= {"longest_gap_m": 5.0, "longest_gap_known": "assumed"}
    >>> run = {"end_counter_m": 9.0}
    >>> parts = {"reading": [], "observation": [], "stretch": []}
    >>> [i["code"] for i in length_items("r", run, parts, rules)]
    ['reading_gap', 'stretch_missing']
    """
    start_m, end_m = reach_m(run, parts["reading"], parts["observation"], rules)
    found: Found = []
    if end_m is None:
        return _stretch_items(run_id, parts["stretch"])
    whole = [one["fields"] for one in parts["reading"] if one["fields"].get("inclination")]
    places = sorted(at_m for f in whole if (at_m := f.get("counter_m")) is not None)
    for from_m, to_m in _between(start_m, places, end_m):
        if to_m - from_m > rules["longest_gap_m"] + SAME_PLACE_M:
            values = {"from_m": from_m, "to_m": to_m, "allowed_m": rules["longest_gap_m"],
                      "allowed_known": rules["longest_gap_known"]}  # fmt: skip
            found.append(open_item("reading_gap", run_id, "reading", None, "counter_m", values))
    found += _stretch_items(run_id, parts["stretch"])
    for from_m, to_m in _uncovered(start_m, parts["stretch"], end_m):
        if to_m - from_m > rules["least_length_m"]:
            values = {"from_m": from_m, "to_m": to_m}
            found.append(open_item("stretch_missing", run_id, "stretch", None, "shape", values))
    return found


def _between(start_m: float, places: Sequence[float], end_m: float) -> list[tuple[float, float]]:
    stops = [start_m, *(place for place in places if start_m < place < end_m), end_m]
    return list(itertools.pairwise(stops))


def _stretch_items(run_id: str, stretches: Sequence[StretchRecord]) -> Found:
    found: Found = []
    for one in stretches:
        fields = one["fields"]
        if not fields.get("shape"):
            found.append(open_item("shape_missing", run_id, "stretch", one["id"], "shape", {}))
        lacking = "height_mm" if fields.get("height_mm") is None else ""
        if not lacking and fields.get("shape") in NEED_WIDTH and fields.get("width_mm") is None:
            lacking = "width_mm"
        if lacking and fields.get("size_known") != "unknown":
            found.append(open_item("size_missing", run_id, "stretch", one["id"], lacking, {}))
    return found


def _uncovered(start_m: float, stretches: Sequence[StretchRecord], end_m: float) -> list[tuple[float, float]]:
    """The lengths that lie in no stretch; one without an end goes on to the next, or to the end."""
    spans = [(from_m, s["fields"].get("to_counter_m")) for s in stretches
             if (from_m := s["fields"].get("from_counter_m")) is not None]  # fmt: skip
    spans.sort(key=lambda span: span[0])
    found, reached = [], start_m
    for k, (from_m, to_m) in enumerate(spans):
        if from_m > reached:
            found.append((reached, min(from_m, end_m)))
        ends_m = to_m if to_m is not None else spans[k + 1][0] if k + 1 < len(spans) else end_m
        reached = max(reached, ends_m)
    found.append((reached, end_m))
    return [(a, b) for a, b in found if b > a]

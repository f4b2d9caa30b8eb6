"""What the camera could see along a run: clearly, in part, or not at all, and why."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, TypedDict, TypeVar, cast

from ..records import ObservationRecord, RunFields, StretchRecord
from ..table_types.condition import VisibilityTable
from .continuous import ContinuousItem
from .hidden_spans import Sight, SightKnown, Span, erased_spans, hidden_span, hidden_spans, looks_at_wall

G = TypeVar("G", bound=Mapping[str, Any])  # grading.run_grading.Grading, in a room further on
MIN_M = 1e-6  # two places nearer than this are one


@dataclass(frozen=True)
class SightFacts:
    """What is known of a run that was looked at.

    ``stretches``, ``observations``: its records; ``items``: what goes on along it; ``end_counter_m`` [m]: to
    where it was surveyed, None where nothing says how far; ``scale``: metres by each metre of the counter;
    ``erased``: places of what the office erased, as in ``erased_spans``.
    """

    run: RunFields
    stretches: Sequence[StretchRecord]
    observations: Sequence[ObservationRecord]
    items: Sequence[ContinuousItem]
    end_counter_m: float | None
    scale: float
    erased: Sequence[StretchRecord] = ()


class VisiblePart(TypedDict):
    """A part of a run that was seen alike [m, counter]; hours on the clock where only a part shows."""

    sight: Sight
    from_counter_m: float
    to_counter_m: float
    length_m: float
    depth_pct: float | None
    hour_from: float | None
    hour_to: float | None
    record_ids: list[str]
    known: SightKnown


class Visibility(TypedDict):
    """What the camera could see of a run [m]; None where nobody knows how far it looked."""

    looked: bool
    from_counter_m: float
    to_counter_m: float | None
    clear_m: float | None
    part_m: float | None
    hidden_m: float | None
    total_m: float | None
    parts: list[VisiblePart]


def visibility(facts: SightFacts, table: VisibilityTable) -> Visibility:
    """Return the account of what was seen along a run.

    Returns
    -------
    dict
        ``looked``: whether anything recorded shows that the camera looked at the wall; ``from_counter_m``,
        ``to_counter_m`` [m]; ``clear_m``, ``part_m``, ``hidden_m``, ``total_m`` [m] (None where nothing says
        how far); ``parts`` in order of place, without gaps: ``sight`` (clear, part, hidden),
        ``from_counter_m``, ``to_counter_m`` [m], ``length_m`` [m], ``record_ids`` of what hides it,
        ``depth_pct`` (water or deposit at most [% of the height], None where none or not recorded),
        ``hour_from``, ``hour_to`` (of a round pipe what lies below it, clockwise), ``known`` (measured;
        assumed where no record says how far it reaches).

    Notes
    -----
    View lost at a single point lasts until something on the wall was recorded again, else to the end of the
    run. A water level holds until the next one. Deposits hide a length only where they are continuous.
    Where the end of the run is in dispute, what lies beyond the nearest (``least_end_counter_m`` [m]) was not
    surely seen; no record stands behind that. Where a record was erased nobody knows what was seen.

    References
    ----------
    The shares from which water hides the wall in part or wholly: common practice, no source. The hours
    below a depth h of a circle: acos(1 - 2 h) either side of the invert.

    Examples
    --------
    >>> table = {"view_lost_codes": ["BDG"], "water_code": "BDD", "deposit_code": "BBC", "node_codes": [],
    ...          "part_from_pct": 20, "hidden_from_pct": 90}
    >>> lost = {"id": "a", "fields": {"code": "BDG", "counter_m": 4.0}}
    >>> visibility(SightFacts({}, [], [lost], [], 10.0, 1.0), table)["hidden_m"]
    6.0
    """
    end_counter_m, scale = facts.end_counter_m, facts.scale
    start_m = facts.run.get("counter_zero_m") or 0.0
    looked = any(looks_at_wall(one, table) for one in facts.observations)
    found: Visibility = {
        "looked": looked, "from_counter_m": start_m, "to_counter_m": end_counter_m, "clear_m": None,
        "part_m": None, "hidden_m": None, "total_m": None, "parts": [],
    }  # fmt: skip
    if end_counter_m is None or end_counter_m <= start_m:
        return found
    ordered = sorted(
        (one for one in facts.observations if one["fields"].get("counter_m") is not None),
        key=lambda one: one["fields"]["counter_m"] or 0.0,
    )
    spans = hidden_spans(ordered, facts.items, start_m, end_counter_m, table)
    spans += erased_spans(facts.erased, ordered, start_m, end_counter_m, table)
    least_m = facts.run.get("least_end_counter_m")
    if least_m is not None and least_m < end_counter_m:
        spans.append(hidden_span("hidden", max(least_m, start_m), end_counter_m, "", "assumed"))
    rounds = _round_lengths(facts.stretches, end_counter_m)
    parts = _parts(spans, rounds, start_m, end_counter_m, scale)
    sums: dict[Sight, float] = {"clear": 0.0, "part": 0.0, "hidden": 0.0}
    for part in parts:
        sums[part["sight"]] += part["length_m"]
    found["clear_m"], found["part_m"], found["hidden_m"] = sums["clear"], sums["part"], sums["hidden"]
    found["total_m"], found["parts"] = (end_counter_m - start_m) * scale, parts
    return found


def unseen_m(account: Visibility, from_m: float | None, to_m: float | None, scale: float) -> float | None:
    """Return how much of a length could not be seen at all.

    Parameters
    ----------
    from_m, to_m : float or None
        Counter readings [m]; None for the start or the end of the account.

    Returns
    -------
    float or None
        Metres; all of it where nothing shows that the camera looked; None where no length is known.

    Examples
    --------
    >>> part = {"sight": "hidden", "from_counter_m": 2.0, "to_counter_m": 5.0}
    >>> account = {"looked": True, "from_counter_m": 0.0, "to_counter_m": 9.0, "parts": [part]}
    >>> unseen_m(account, 4.0, 9.0, 1.0)
    1.0
    """
    start = account["from_counter_m"] if from_m is None else from_m
    end = account["to_counter_m"] if to_m is None else to_m
    if end is None or account["to_counter_m"] is None:
        return None
    if not account["looked"]:
        return float(max(0.0, end - start) * scale)
    total = max(0.0, end - max(start, account["to_counter_m"])) if to_m is not None else 0.0
    for part in account["parts"]:
        if part["sight"] == "hidden":
            total += max(0.0, min(end, part["to_counter_m"]) - max(start, part["from_counter_m"]))
    return float(total * scale)


def with_unseen(grading: G, account: Visibility, scale: float) -> G:
    """Return the condition of a run with what could not be seen of it and of its stretches.

    Returns
    -------
    dict
        The same; the run and each stretch have ``unseen_m`` and ``extent_m`` [m], None where not known.

    Examples
    --------
    >>> account = {"looked": False, "from_counter_m": 0.0, "to_counter_m": 9.0, "parts": []}
    >>> run = {"from_counter_m": None, "to_counter_m": None}
    >>> with_unseen({"run": run, "stretches": []}, account, 1.0)["run"]["unseen_m"]
    9.0
    """

    def with_extent(one: Mapping[str, Any]) -> dict[str, Any]:
        start = account["from_counter_m"] if one["from_counter_m"] is None else one["from_counter_m"]
        end = account["to_counter_m"] if one["to_counter_m"] is None else one["to_counter_m"]
        extent_m = None if end is None else max(0.0, end - start) * scale
        return {**one, "unseen_m": unseen_m(account, start, end, scale), "extent_m": extent_m}

    stretches = [with_extent(one) for one in grading["stretches"]]
    return cast(G, {**grading, "run": with_extent(grading["run"]), "stretches": stretches})


def _round_lengths(stretches: Sequence[StretchRecord], end_m: float) -> list[tuple[float, float]]:
    return [
        (from_m, end_m if (to_m := fields.get("to_counter_m")) is None else to_m)
        for fields, settled in (
            (one["fields"], "shape" not in (one.get("conflicts") or {})) for one in stretches
        )
        if fields.get("shape") == "circular"
        and (from_m := fields.get("from_counter_m")) is not None
        and settled
    ]


def _parts(
    spans: Sequence[Span], rounds: Sequence[tuple[float, float]], start_m: float, end_m: float, scale: float
) -> list[VisiblePart]:
    marks = [start_m, end_m]
    for place in (p for span in spans for p in (span["from_m"], span["to_m"])):
        if start_m < place < end_m:
            marks.append(place)
    marks += [p for ends in rounds for p in ends if start_m < p < end_m and spans]
    parts: list[VisiblePart] = []
    waiting = sorted(spans, key=lambda span: span["from_m"])
    taken = 0
    active: list[Span] = []
    for from_m, to_m in pairwise(sorted(set(marks))):
        if to_m - from_m <= MIN_M:
            continue
        middle = (from_m + to_m) / 2
        while taken < len(waiting) and waiting[taken]["from_m"] <= middle:
            active.append(waiting[taken])
            taken += 1
        active = [span for span in active if span["to_m"] >= middle]
        part = _part(active, any(a <= middle <= b for a, b in rounds), from_m, to_m)
        last = parts[-1] if parts else None
        if last is not None and _alike(last) == _alike(part):
            last["to_counter_m"] = to_m
        else:
            parts.append(part)
    for part in parts:
        part["length_m"] = (part["to_counter_m"] - part["from_counter_m"]) * scale
    return parts


def _alike(part: VisiblePart) -> dict[str, object]:
    """What must agree for two parts to be one: all but where they lie."""
    return {name: value for name, value in part.items() if not name.endswith("counter_m")}


def _part(spans: Sequence[Span], is_round: bool, from_m: float, to_m: float) -> VisiblePart:
    hidden = [span for span in spans if span["sight"] == "hidden"]
    telling = hidden or list(spans)
    depths = [span["depth_pct"] for span in telling if span["depth_pct"] is not None]
    depth_pct = max(depths, default=None)
    hours: tuple[float | None, float | None] = (None, None)
    if not hidden and is_round and depth_pct is not None:
        half = 6 * math.acos(max(-1.0, min(1.0, 1 - 2 * depth_pct / 100))) / math.pi
        hours = (6 - half, 6 + half)
    return {
        "sight": "hidden" if hidden else "part" if spans else "clear",
        "from_counter_m": from_m, "to_counter_m": to_m, "length_m": 0.0,
        "record_ids": [span["record_id"] for span in telling if span["record_id"]], "depth_pct": depth_pct,
        "hour_from": hours[0], "hour_to": hours[1],
        "known": "assumed" if any(span["known"] == "assumed" for span in telling) else "measured",
    }  # fmt: skip

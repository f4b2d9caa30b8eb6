"""What of a run is graded: points, and lengths of what is continuous cut at the ends of the stretches."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, TypedDict

from ..coding.continuous import ContinuousItem, ContinuousPart
from ..records import ObservationFields, ObservationRecord, RunFields, StretchRecord


@dataclass(frozen=True)
class GradingFacts:
    """What is known of a run that is graded.

    ``stretches``, ``observations``: records of the run, with ``conflicts`` where values are in dispute;
    ``items``: what goes on along it; ``capacity_rows``: of ``run_capacity`` or ``limited_capacity``, may be
    empty; ``end_counter_m`` [m]: where the run ended, None where it is not known; ``scale``: metres by each
    metre of the counter.
    """

    run: RunFields
    stretches: Sequence[StretchRecord]
    observations: Sequence[ObservationRecord]
    items: Sequence[ContinuousItem]
    capacity_rows: Sequence[Mapping[str, Any]]
    end_counter_m: float | None
    scale: float


class Recorded(TypedDict):
    """Which record, and its fields."""

    record_id: str
    fields: ObservationFields


class Piece(Recorded):
    """An observation, or a length of what is continuous, in one stretch at most [m, counter]."""

    number: int | None
    stretch_id: str | None
    from_counter_m: float | None
    to_counter_m: float | None


def pieces(facts: GradingFacts) -> list[Piece]:
    """Return points, and lengths cut at the ends of the stretches, in order of place."""
    paired: set[str] = set()
    found: list[Piece] = []
    for item in facts.items:
        paired |= {item["start_id"], *item["change_ids"]}
        if item["finish_id"] is not None:
            paired.add(item["finish_id"])
        for part in item["parts"]:
            to_m = part["to_counter_m"]
            if to_m is None and item["open"]:
                to_m = facts.end_counter_m
            found += _cut(part, part["from_counter_m"], to_m, item["number"], facts.stretches)
    for one in facts.observations:
        if one["id"] in paired:
            continue
        at_m = one["fields"].get("counter_m")
        own: Recorded = {"record_id": one["id"], "fields": one["fields"]}
        if at_m is None:  # it lies somewhere in the run, in no stretch that is known
            found.append(
                {**own, "number": None, "stretch_id": None, "from_counter_m": None, "to_counter_m": None}
            )
        else:
            found += _cut(own, at_m, at_m, None, facts.stretches)
    return sorted(found, key=_by_place)


def _by_place(piece: Piece) -> tuple[bool, float, str]:
    """In order of place; what has none comes last."""
    at_m = piece["from_counter_m"]
    return at_m is None, at_m or 0.0, piece["record_id"]


def _cut(
    part: Recorded | ContinuousPart, from_m: float, to_m: float | None, number: int | None,
    stretches: Sequence[StretchRecord],
) -> list[Piece]:  # fmt: skip
    if to_m is not None and to_m < from_m:
        to_m = None
    piece: Piece = {
        "record_id": part["record_id"], "fields": part["fields"], "number": number, "stretch_id": None,
        "from_counter_m": from_m, "to_counter_m": to_m,
    }  # fmt: skip
    if to_m is None or to_m == from_m:
        return [{**piece, "stretch_id": _stretch_at(from_m, stretches)}]
    ends = {from_m, to_m}
    for one in stretches:
        for place in (one["fields"].get("from_counter_m"), one["fields"].get("to_counter_m")):
            if place is not None and from_m < place < to_m:
                ends.add(place)
    places = sorted(ends)
    return [
        {**piece, "from_counter_m": a, "to_counter_m": b, "stretch_id": _stretch_at((a + b) / 2, stretches)}
        for a, b in pairwise(places)
    ]


def _stretch_at(counter_m: float, stretches: Sequence[StretchRecord]) -> str | None:
    """The stretch that holds a place; where one ends and the next begins, the one that begins."""
    found: str | None = None
    begins = 0.0
    for one in stretches:
        start, end = one["fields"].get("from_counter_m"), one["fields"].get("to_counter_m")
        if start is None or counter_m < start or (end is not None and counter_m > end):
            continue
        if found is None or start > begins:
            found, begins = str(one["id"]), start
    return found

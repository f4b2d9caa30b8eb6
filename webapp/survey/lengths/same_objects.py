"""The same object seen in two runs of one length: where it lies in each, and counted once."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from ..coding.continuous import ContinuousItem, ContinuousPart
from ..coding.disputes import JUDGED
from ..records import ObservationFields, ObservationRecord
from .pipe_length import SharedObject

STOPPED = "BDC"  # what stopped both runs: each sees its own face of it
FROM_OTHER = "from another run"
NEAR_M = 1.0  # the same code nearer than this in two runs may be one object


def shared_objects(
    pieces: Sequence[Sequence[ObservationRecord]], chainages: Sequence[Mapping[str, float]]
) -> list[SharedObject]:
    """Return the objects that were marked as the same in two runs.

    Parameters
    ----------
    pieces : sequence of sequence of mapping
        Observations of each piece, each with ``id`` and ``fields``; ``same_as`` names the other one.
    chainages : sequence of mapping
        For each piece the chainage of each of its observations by id [m], from its own start node.

    Examples
    --------
    >>> seen = [[{"id": "a", "fields": {}}], [{"id": "b", "fields": {"same_as": "a"}}]]
    >>> shared_objects(seen, [{"a": 20.0}, {"b": 25.0}])[0].other_at_m
    20.0
    """
    homes = {one["id"]: k for k, seen in enumerate(pieces) for one in seen}
    by_id = {one["id"]: one["fields"] for seen in pieces for one in seen}
    found = []
    for k, seen in enumerate(pieces):
        for one in seen:
            other = one["fields"].get("same_as")
            if other not in homes or homes[other] == k:
                continue
            at_m, other_at_m = chainages[k].get(one["id"]), chainages[homes[other]].get(other)
            if at_m is None or other_at_m is None:
                continue
            blocks = STOPPED in (one["fields"].get("code"), by_id[other].get("code"))
            found.append(SharedObject(k, homes[other], at_m, other_at_m, blocks))
    return found


def counted_once(
    observations: Sequence[ObservationRecord], items: Sequence[ContinuousItem]
) -> tuple[list[ObservationRecord], list[ContinuousItem], dict[str, str]]:
    """Return the observations of a length with what was marked as the same counted once.

    Returns
    -------
    tuple
        The observations without those that repeat another, whose values that differ then stand in the
        ``conflicts`` of the one that is kept; the items, what both saw taken together; and of each one left
        out which it repeats.

    Examples
    --------
    >>> one, two = {"code": "BAB", "quantification_1": 2}, {"code": "BAB", "same_as": "a"}
    >>> counted_once([{"id": "a", "fields": one}, {"id": "b", "fields": two}], [])[2]
    {'b': 'a'}
    """
    by_id: dict[str, ObservationRecord] = {one["id"]: {**one} for one in observations}
    starts = {item["start_id"]: item for item in items}
    inner = {i for item in items for i in (item["finish_id"], *item["change_ids"]) if i is not None}
    repeats: dict[str, str] = {}
    for one in observations:
        kept = _kept(one["id"], by_id)
        if kept == one["id"] or one["id"] in inner or kept in inner:
            continue
        if (one["id"] in starts) == (kept in starts):
            repeats[one["id"]] = kept
    for gone, kept in repeats.items():
        by_id[kept] = _both(by_id[kept], by_id[gone])
    together = _together(items, repeats)
    for gone in list(repeats):
        if gone in starts:
            ends = (starts[gone]["finish_id"], *starts[gone]["change_ids"])
            repeats |= {one: repeats[gone] for one in ends if one is not None}
    left = [by_id[one["id"]] for one in observations if one["id"] not in repeats]
    return left, together, repeats


def _kept(record_id: str, by_id: Mapping[str, ObservationRecord]) -> str:
    """The observation that the names lead to; of a circle, the least of it by its id."""
    seen, at = [record_id], record_id
    while (other := by_id[at]["fields"].get("same_as") or "") in by_id:
        if other in seen:
            return min(seen[seen.index(other) :])
        seen.append(other)
        at = other
    return at


def _both(kept: ObservationRecord, gone: ObservationRecord) -> ObservationRecord:
    """The one that is kept, with what only the other says, and with both values where they differ."""
    fields: dict[str, Any] = dict(kept["fields"])
    conflicts = dict(kept.get("conflicts") or {})
    for name in (*JUDGED, "clock", "at_joint"):
        theirs = gone["fields"].get(name)
        if theirs is None:
            continue
        ours = fields.get(name)
        if ours is None:
            fields[name] = theirs
        elif ours != theirs and name in JUDGED:
            stand = list(conflicts.get(name) or [["here", ours]])
            conflicts[name] = [[FROM_OTHER, theirs], *stand]
    found: ObservationRecord = {**kept, "fields": cast(ObservationFields, fields)}
    if conflicts:
        found["conflicts"] = conflicts
    return found


def _together(items: Sequence[ContinuousItem], repeats: Mapping[str, str]) -> list[ContinuousItem]:
    """What two runs saw of the same length, as one; each part as the first of them saw it."""
    found: dict[str, ContinuousItem] = {
        item["start_id"]: {**item} for item in items if item["start_id"] not in repeats
    }
    for item in items:
        kept = found.get(repeats.get(item["start_id"], ""))
        if kept is None:
            continue
        start, end = kept["from_counter_m"], kept["to_counter_m"]
        more = [] if end is None else [cut for part in item["parts"] for cut in _outside(part, start, end)]
        kept["parts"] = sorted([*kept["parts"], *more], key=lambda part: part["from_counter_m"])
        kept["from_counter_m"] = min(start, item["from_counter_m"])
        if end is not None and item["to_counter_m"] is not None:
            kept["to_counter_m"] = max(end, item["to_counter_m"])
    return list(found.values())


def _outside(part: ContinuousPart, start_m: float, end_m: float) -> list[ContinuousPart]:
    """What of a part lies before and beyond a length."""
    from_m, to_m = part["from_counter_m"], part["to_counter_m"]
    if to_m is None:
        return []
    found: list[ContinuousPart] = []
    if from_m < start_m:
        found.append({**part, "to_counter_m": min(to_m, start_m)})
    if to_m > end_m:
        found.append({**part, "from_counter_m": max(from_m, end_m)})
    return found


def perhaps_same(
    pieces: Sequence[Sequence[ObservationRecord]], codes: Sequence[str], repeats: Mapping[str, str]
) -> list[list[str]]:
    """Return the pairs of observations that may be the same object, counted twice.

    >>> one, two = {"code": "BAB", "counter_m": 20.0}, {"code": "BAB", "counter_m": 20.5}
    >>> perhaps_same([[{"id": "a", "fields": one}], [{"id": "b", "fields": two}]], ["BAB"], {})
    [['a', 'b']]
    """
    marked = {*repeats, *repeats.values()}
    found = []
    for k, seen in enumerate(pieces):
        mine = [one for one in seen if one["fields"].get("code") in codes and one["id"] not in marked]
        for others in pieces[k + 1 :]:
            free = [one for one in others if one["id"] not in marked]
            found += [[one["id"], two["id"]] for one in mine for two in free if _alike(one, two)]
    return found


def _alike(one: ObservationRecord, two: ObservationRecord) -> bool:
    ours, theirs = one["fields"], two["fields"]
    mine_m, theirs_m = ours.get("counter_m"), theirs.get("counter_m")
    if ours.get("code") != theirs.get("code") or mine_m is None or theirs_m is None:
        return False
    mine, other = ours.get("continuous"), theirs.get("continuous")
    alike = (mine and mine["role"]) == (other and other["role"])
    return alike and abs(mine_m - theirs_m) <= NEAR_M

"""What goes on along the pipe: start, changes and finish put together, and what does not fit.

The number and the code of the observations pair them.  Nothing is corrected here.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypedDict

from ..findings import Values
from ..records import ObservationFields, ObservationRecord


class ContinuousPart(TypedDict):
    """A length over which the quantities of one observation hold, by the counter [m]."""

    from_counter_m: float
    to_counter_m: float | None
    record_id: str
    fields: ObservationFields


class ContinuousItem(TypedDict):
    """Something that goes on along the pipe, by the counter [m]; its number and code pair its marks."""

    number: int
    code: str
    start_id: str
    finish_id: str | None
    change_ids: list[str]
    from_counter_m: float
    to_counter_m: float | None  # None while open, and where the finish lies before the start
    parts: list[ContinuousPart]
    open: bool


class ContinuousFault(TypedDict):
    """What does not fit; ``values``: those of its sentence, units in their names."""

    code: str
    record_id: str
    field: str
    values: Values


class ContinuousItems(TypedDict):
    """What goes on along a run in order of start, and what does not fit."""

    items: list[ContinuousItem]
    faults: list[ContinuousFault]


@dataclass(frozen=True)
class _Mark:
    """A start, a change or a finish, at its counter reading."""

    id: str
    fields: ObservationFields
    code: str
    number: int
    role: str
    index: int
    at_m: float = 0.0


@dataclass
class _Draft:
    """Something that began at ``start``: its finish once there is one, and what changed on the way."""

    start: _Mark
    finish: _Mark | None = None
    changes: list[_Mark] = field(default_factory=list)
    to_counter_m: float | None = None
    open: bool = True


Faults = list[ContinuousFault]


def continuous_items(
    observations: Sequence[ObservationRecord], end_counter_m: float | None
) -> ContinuousItems:
    """Return what goes on along a run, and what does not fit.

    Parameters
    ----------
    observations : sequence of mapping, length n >= 0
        ``id`` and ``fields`` of the observations of one run, in the order in which they were made.
    end_counter_m : float or None
        Counter reading where the run ended [m]; None where that is not known.

    Returns
    -------
    dict
        ``items`` in order of start: ``number``, ``code``, ``start_id``, ``finish_id`` (or None),
        ``change_ids`` in order of place, ``from_counter_m`` [m], ``to_counter_m`` [m] (None while open
        and where the finish lies before the start), ``open`` and ``parts``: the lengths between start,
        changes and finish, each ``from_counter_m`` [m], ``to_counter_m`` [m], ``record_id`` and ``fields`` of
        the observation whose quantities hold there.  ``faults``: ``code``, ``record_id``, ``field``,
        ``values`` for the sentence.

    Notes
    -----
    Of several starts under one number and code, each takes the first finish at or beyond it that is still
    free.  An overlap is told of two items with the same code, first characterisation and clock position.

    References
    ----------
    EN 13508-2 numbers what is continuous and marks its start, change and finish; the rules for what does
    not fit are our own.

    Examples
    --------
    >>> start = {"code": "BBC", "counter_m": 2.0, "continuous": {"role": "start", "number": 1}}
    >>> continuous_items([{"id": "a", "fields": start}], None)["items"][0]["open"]
    True
    """
    marks, faults = _marks(observations)
    items, spare = _paired(marks, faults)
    _other_codes(items, spare, faults)
    for item in items:
        if item.open:
            faults.append(_fault("continuous_not_finished", item.start))
    for finish in spare:
        faults.append(_fault("continuous_not_started", finish))
    _changes(marks, items, faults)
    items.sort(key=lambda item: (item.start.at_m, item.start.index))
    _overlaps(items, end_counter_m, faults)
    _beyond_end(items, end_counter_m, faults)
    return {"items": [_plain_item(item) for item in items], "faults": faults}


def next_number(observations: Sequence[ObservationRecord]) -> int:
    """Return the first number beyond those in use.

    Parameters
    ----------
    observations : sequence of mapping, length n >= 0
        ``id`` and ``fields`` of the observations of one run.

    Examples
    --------
    >>> next_number([])
    1
    """
    return 1 + max(
        (int(c["number"]) for o in observations if (c := o["fields"].get("continuous"))), default=0
    )


def _marks(observations: Sequence[ObservationRecord]) -> tuple[list[_Mark], Faults]:
    """The observations that start, change or finish something, in order of place."""
    found: list[_Mark] = []
    faults: Faults = []
    for index, observation in enumerate(observations):
        fields = observation["fields"]
        continuous = fields.get("continuous")
        if not continuous:
            continue
        number, at_m = int(continuous["number"]), fields.get("counter_m")
        mark = _Mark(
            observation["id"],
            fields,
            fields.get("code") or "",
            number,
            continuous["role"],
            index,
            at_m or 0.0,
        )
        if at_m is None:
            faults.append(_fault("continuous_without_place", mark))
        else:
            found.append(mark)
    return sorted(found, key=lambda mark: (mark.at_m, mark.index)), faults


def _paired(marks: Sequence[_Mark], faults: Faults) -> tuple[list[_Draft], list[_Mark]]:
    """Items from the starts, each with its finish if there is one; the finishes that are left."""
    starts: dict[tuple[int, str], list[_Mark]] = {}
    finishes: dict[tuple[int, str], list[_Mark]] = {}
    for mark in marks:
        if mark.role != "change":
            side = starts if mark.role == "start" else finishes
            side.setdefault((mark.number, mark.code), []).append(mark)
    items: list[_Draft] = []
    for key, mine in starts.items():
        faults += [_fault("continuous_started_twice", mark) for mark in mine[1:]]
        ends, at = finishes.pop(key, []), 0
        open_items: list[_Draft] = []
        before: list[_Mark] = []
        for start in mine:
            while at < len(ends) and ends[at].at_m < start.at_m:
                before.append(ends[at])
                at += 1
            items.append(_Draft(start))
            if at < len(ends):
                _close(items[-1], ends[at])
                at += 1
            else:
                open_items.append(items[-1])
        left = [*before, *ends[at:]]
        for item, finish in zip(open_items, left, strict=False):
            _close(item, finish)
            faults.append(_fault("continuous_finish_before_start", finish, start_m=item.start.at_m))
        finishes[key] = left[len(open_items) :]
    return items, [finish for some in finishes.values() for finish in some]


def _close(item: _Draft, finish: _Mark) -> None:
    item.open, item.finish = False, finish
    if finish.at_m >= item.start.at_m:
        item.to_counter_m = finish.at_m


def _other_codes(items: Sequence[_Draft], spare: list[_Mark], faults: Faults) -> None:
    """A finish of another code under the same number closes what is open, and that is told."""
    waiting: dict[int, list[_Draft]] = {}
    for item in items:
        if item.open:
            waiting.setdefault(item.start.number, []).append(item)
    for finish in list(spare):
        fitting = [i for i in waiting.get(finish.number, []) if i.start.at_m <= finish.at_m]
        if fitting:
            waiting[finish.number].remove(fitting[0])
            _close(fitting[0], finish)
            spare.remove(finish)
            started = fitting[0].start.code
            faults.append(_fault("continuous_codes_differ", finish, started=started))


def _changes(marks: Sequence[_Mark], items: Sequence[_Draft], faults: Faults) -> None:
    by_key: dict[tuple[int, str], list[_Draft]] = {}
    for item in items:
        by_key.setdefault((item.start.number, item.start.code), []).append(item)
    for mark in marks:
        if mark.role != "change":
            continue
        around = [i for i in by_key.get((mark.number, mark.code), []) if _holds(i, mark.at_m)]
        if around:
            around[-1].changes.append(mark)
        else:
            faults.append(_fault("continuous_change_outside", mark))


def _holds(item: _Draft, at_m: float) -> bool:
    return item.start.at_m <= at_m and (item.to_counter_m is None or at_m <= item.to_counter_m)


def _overlaps(items: Sequence[_Draft], end_counter_m: float | None, faults: Faults) -> None:
    """Tell of each item that begins while one like it still runs; of those, the one that reaches furthest."""
    furthest: dict[tuple[str, str, int, int], tuple[float, _Draft]] = {}
    for item in items:
        start = item.start
        clock, kind = start.fields.get("clock"), start.fields.get("characterisation_1") or ""
        hours = (clock.get("hour_from") or 0, clock.get("hour_to") or 0) if clock else (0, 0)
        like = (start.code, kind, *hours)
        end_m = _end_m(item, end_counter_m)
        reach, other = furthest.get(like, (-math.inf, item))
        if start.at_m < reach:
            since_m = other.start.at_m
            faults.append(_fault("continuous_overlap", start, other=other.start.number, since_m=since_m))
        if end_m > reach:
            furthest[like] = (end_m, item)


def _end_m(item: _Draft, end_counter_m: float | None) -> float:
    if item.to_counter_m is not None:
        return item.to_counter_m
    if not item.open:  # the finish lies before the start: no length is known
        return item.start.at_m
    return math.inf if end_counter_m is None else end_counter_m


def _beyond_end(items: Sequence[_Draft], end_counter_m: float | None, faults: Faults) -> None:
    if end_counter_m is None:
        return
    for item in items:
        for mark in (item.start, *([item.finish] if item.finish else []), *item.changes):
            if mark.at_m > end_counter_m:
                values = {"counter_m": mark.at_m, "end_counter_m": end_counter_m}
                faults.append(_fault("continuous_beyond_end", mark, "counter_m", **values))


def _plain_item(item: _Draft) -> ContinuousItem:
    return {
        "number": item.start.number,
        "code": item.start.code,
        "start_id": item.start.id,
        "finish_id": item.finish.id if item.finish else None,
        "change_ids": [mark.id for mark in item.changes],
        "from_counter_m": item.start.at_m,
        "to_counter_m": item.to_counter_m,
        "parts": _parts(item),
        "open": item.open,
    }


def _parts(item: _Draft) -> list[ContinuousPart]:
    """The lengths between the marks; one of no length only where the item itself has none."""
    marks = [item.start, *item.changes]
    ends = [*(mark.at_m for mark in item.changes), item.to_counter_m]
    parts: list[ContinuousPart] = [
        {"from_counter_m": mark.at_m, "to_counter_m": to, "record_id": mark.id, "fields": mark.fields}
        for mark, to in zip(marks, ends, strict=True)
    ]
    long = [part for part in parts if part["to_counter_m"] != part["from_counter_m"]]
    return long or parts[-1:]


def _fault(name: str, mark: _Mark, where: str = "continuous", /, **values: str | float) -> ContinuousFault:
    values = {"code": mark.code, "number": mark.number, **values}
    return {"code": name, "record_id": mark.id, "field": where, "values": values}

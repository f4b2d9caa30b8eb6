"""What goes on along the pipe: start, changes and finish put together, and what does not fit.

The number and the code of the observations pair them.  Nothing is corrected here.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any

Record = Mapping[str, Any]
Item = dict[str, Any]


def continuous_items(observations: Sequence[Record], end_counter_m: float | None) -> dict[str, Any]:
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
        if item["open"]:
            faults.append(_fault("continuous_not_finished", item["marks"][0]))
    for finish in spare:
        faults.append(_fault("continuous_not_started", finish))
    _changes(marks, items, faults)
    items.sort(key=lambda item: (item["from_counter_m"], item["marks"][0]["index"]))
    _overlaps(items, end_counter_m, faults)
    _beyond_end(items, end_counter_m, faults)
    return {"items": [_plain_item(item) for item in items], "faults": faults}


def next_number(observations: Sequence[Record]) -> int:
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


def _marks(observations: Sequence[Record]) -> tuple[list[Item], list[Item]]:
    """The observations that start, change or finish something, in order of place."""
    found, faults = [], []
    for index, observation in enumerate(observations):
        fields = observation["fields"]
        continuous = fields.get("continuous")
        if not continuous:
            continue
        number, at_m = int(continuous["number"]), fields.get("counter_m")
        mark = {"id": observation["id"], "fields": fields, "code": fields.get("code") or "", "at_m": at_m}
        mark |= {"number": number, "role": continuous["role"], "index": index}
        if at_m is None:
            faults.append(_fault("continuous_without_place", mark))
        else:
            found.append(mark)
    return sorted(found, key=lambda mark: (mark["at_m"], mark["index"])), faults


def _paired(marks: Sequence[Item], faults: list[Item]) -> tuple[list[Item], list[Item]]:
    """Items from the starts, each with its finish if there is one; the finishes that are left."""
    starts: dict[tuple[int, str], list[Item]] = {}
    finishes: dict[tuple[int, str], list[Item]] = {}
    for mark in marks:
        if mark["role"] != "change":
            side = starts if mark["role"] == "start" else finishes
            side.setdefault((mark["number"], mark["code"]), []).append(mark)
    items: list[Item] = []
    for key, mine in starts.items():
        faults += [_fault("continuous_started_twice", mark) for mark in mine[1:]]
        ends, open_items, at = finishes.pop(key, []), [], 0
        before: list[Item] = []
        for start in mine:
            while at < len(ends) and ends[at]["at_m"] < start["at_m"]:
                before.append(ends[at])
                at += 1
            item = {"marks": [start], "changes": [], "from_counter_m": start["at_m"], "to_counter_m": None}
            items.append(item | {"open": True})
            if at < len(ends):
                _close(items[-1], ends[at])
                at += 1
            else:
                open_items.append(items[-1])
        left = [*before, *ends[at:]]
        for item, finish in zip(open_items, left, strict=False):
            _close(item, finish)
            faults.append(_fault("continuous_finish_before_start", finish, start_m=item["from_counter_m"]))
        finishes[key] = left[len(open_items) :]
    return items, [finish for some in finishes.values() for finish in some]


def _close(item: Item, finish: Item) -> None:
    item["open"] = False
    item["marks"].append(finish)
    if finish["at_m"] >= item["from_counter_m"]:
        item["to_counter_m"] = finish["at_m"]


def _other_codes(items: Sequence[Item], spare: list[Item], faults: list[Item]) -> None:
    """A finish of another code under the same number closes what is open, and that is told."""
    waiting: dict[int, list[Item]] = {}
    for item in items:
        if item["open"]:
            waiting.setdefault(item["marks"][0]["number"], []).append(item)
    for finish in list(spare):
        fitting = [i for i in waiting.get(finish["number"], []) if i["from_counter_m"] <= finish["at_m"]]
        if fitting:
            waiting[finish["number"]].remove(fitting[0])
            _close(fitting[0], finish)
            spare.remove(finish)
            started = fitting[0]["marks"][0]["code"]
            faults.append(_fault("continuous_codes_differ", finish, started=started))


def _changes(marks: Sequence[Item], items: Sequence[Item], faults: list[Item]) -> None:
    by_key: dict[tuple[int, str], list[Item]] = {}
    for item in items:
        by_key.setdefault((item["marks"][0]["number"], item["marks"][0]["code"]), []).append(item)
    for mark in marks:
        if mark["role"] != "change":
            continue
        around = [i for i in by_key.get((mark["number"], mark["code"]), []) if _holds(i, mark["at_m"])]
        if around:
            around[-1]["changes"].append(mark)
        else:
            faults.append(_fault("continuous_change_outside", mark))


def _holds(item: Item, at_m: float) -> bool:
    end = item["to_counter_m"]
    return bool(item["from_counter_m"] <= at_m and (end is None or at_m <= end))


def _overlaps(items: Sequence[Item], end_counter_m: float | None, faults: list[Item]) -> None:
    """Tell of each item that begins while one like it still runs; of those, the one that reaches furthest."""
    furthest: dict[tuple[Any, ...], tuple[float, Item]] = {}
    for item in items:
        start = item["marks"][0]
        clock = start["fields"].get("clock") or {}
        kind = start["fields"].get("characterisation_1") or ""
        like = (start["code"], kind, clock.get("hour_from") or 0, clock.get("hour_to") or 0)
        end_m = _end_m(item, end_counter_m)
        reach, other = furthest.get(like, (-math.inf, item))
        if item["from_counter_m"] < reach:
            values = {"other": other["marks"][0]["number"], "since_m": other["from_counter_m"]}
            faults.append(_fault("continuous_overlap", start, **values))
        if end_m > reach:
            furthest[like] = (end_m, item)


def _end_m(item: Item, end_counter_m: float | None) -> float:
    if item["to_counter_m"] is not None:
        return float(item["to_counter_m"])
    if not item["open"]:  # the finish lies before the start: no length is known
        return float(item["from_counter_m"])
    return math.inf if end_counter_m is None else end_counter_m


def _beyond_end(items: Sequence[Item], end_counter_m: float | None, faults: list[Item]) -> None:
    if end_counter_m is None:
        return
    for item in items:
        for mark in (*item["marks"], *item["changes"]):
            if mark["at_m"] > end_counter_m:
                values = {"counter_m": mark["at_m"], "end_counter_m": end_counter_m}
                faults.append(_fault("continuous_beyond_end", mark, "counter_m", **values))


def _plain_item(item: Item) -> Item:
    start, finish = item["marks"][0], item["marks"][1] if len(item["marks"]) > 1 else None
    return {
        "number": start["number"],
        "code": start["code"],
        "start_id": start["id"],
        "finish_id": finish["id"] if finish else None,
        "change_ids": [mark["id"] for mark in item["changes"]],
        "from_counter_m": item["from_counter_m"],
        "to_counter_m": item["to_counter_m"],
        "parts": _parts(item),
        "open": item["open"],
    }


def _parts(item: Item) -> list[Item]:
    """The lengths between the marks; one of no length only where the item itself has none."""
    marks = [item["marks"][0], *item["changes"]]
    ends = [*(mark["at_m"] for mark in item["changes"]), item["to_counter_m"]]
    parts = [
        {
            "from_counter_m": mark["at_m"],
            "to_counter_m": to,
            "record_id": mark["id"],
            "fields": mark["fields"],
        }
        for mark, to in zip(marks, ends, strict=True)
    ]
    long = [part for part in parts if part["to_counter_m"] != part["from_counter_m"]]
    return long or parts[-1:]


def _fault(name: str, mark: Item, where: str = "continuous", /, **values: Any) -> Item:
    values = {"code": mark["code"], "number": mark["number"], **values}
    return {"code": name, "record_id": mark["id"], "field": where, "values": values}

"""A counter that was reset part-way: where every record of the run lies as if it had run on.

A reading tells of a reset in its field ``counter_reset``: before it the counter had shown ``had_shown_m`` and
was set to ``set_to_m``.  Raw readings are never changed; the figures are computed from copies.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from ..findings import RecordFinding
from ..records import LevelTieRecord, ReadingRecord, RecordsByKind, RunFields, StretchRecord
from .counter_scale import CounterSegment, segment_starts

Item = Mapping[str, Any]


@dataclass(frozen=True)
class CounterPart:
    """Part of a run between two resets of its counter.

    ``reading_id`` is the reading that tells of the reset at its start, None for the first part. It was set to
    ``from_m``; it had shown ``to_m`` when it was reset again, None for the last part. ``start_m`` is what it
    would have shown at the start of the part, had it never been reset. All [m].
    """

    reading_id: str | None
    from_m: float
    to_m: float | None
    start_m: float


def counter_parts(readings: Sequence[ReadingRecord]) -> list[CounterPart]:
    """Return the parts of a run between the resets of its counter.

    Parameters
    ----------
    readings : sequence of mapping
        Reading records of the run, each with ``id`` and ``fields``, in the order of their making.

    Returns
    -------
    list of CounterPart, length n >= 1
        In the order of survey; one where the counter was never reset. [m]

    Raises
    ------
    SurveyError
        ``number_not_finite``, as ``segment_starts``.

    Examples
    --------
    >>> reset = {"had_shown_m": 12.5, "set_to_m": 0.0}
    >>> [p.start_m for p in counter_parts([{"id": "a", "fields": {"counter_reset": reset}}])]
    [0.0, 12.5]
    """
    resets = [(r["id"], reset) for r in readings if (reset := r["fields"].get("counter_reset"))]
    froms = [0.0, *(reset["set_to_m"] for _, reset in resets)]
    tos = [*(reset["had_shown_m"] for _, reset in resets), froms[-1]]
    starts = segment_starts([CounterSegment(a, b) for a, b in zip(froms, tos, strict=True)], 0.0, 1.0)
    ids = [None, *(identity for identity, _ in resets)]
    last = len(resets)
    return [CounterPart(ids[k], froms[k], tos[k] if k < last else None, starts[k]) for k in range(last + 1)]


def part_of(parts: Sequence[CounterPart], record_id: str, stated: float | None) -> int:
    """Return in which part of the counter a record was made.

    Parameters
    ----------
    record_id : str
        Ids ascend in the order of making.
    stated : float or None
        The part that the record itself states, 1 for the first; None where it does not say.

    Returns
    -------
    int
        Place in ``parts``, 0 to n - 1. What is stated counts; else a record belongs to the last
        reset that was told of before it or by it.

    References
    ----------
    Decision D21.

    Examples
    --------
    >>> part_of(counter_parts([]), "a", None)
    0
    """
    for k, part in enumerate(parts):
        if part.reading_id == record_id:
            return k
    if stated is not None:
        return min(int(stated), len(parts)) - 1
    return sum(1 for part in parts if part.reading_id is not None and part.reading_id < record_id)


def as_if_never_reset(
    run: RunFields, records: RecordsByKind
) -> tuple[RunFields, RecordsByKind, list[CounterPart]]:
    """Return a run and its records with the counter readings that a counter never reset would have shown.

    Parameters
    ----------
    records : mapping
        By kind (``reading`` among them), the records of the run, each with ``id`` and ``fields``, in
        the order of their making.

    Returns
    -------
    tuple
        Fields of the run, records by kind, and the parts. Without a reset they are those given. With
        one they are copies whose ``counter_m``, ``from_counter_m``, ``to_counter_m`` and ``end_counter_m``
        run on [m]; what the counter showed is kept beside each: see ``shown_m``. Those that
        run on already are given as they are.

    Notes
    -----
    The counter at chainage zero was read in the first part, the counter where the run ended in the last. A
    stretch begins in the part in which it was recorded and ends in the first part from there on that holds
    its end, unless it says otherwise.

    References
    ----------
    Decision D21.

    Examples
    --------
    >>> reading = {"counter_m": 2.0, "counter_reset": {"had_shown_m": 12.5, "set_to_m": 0.0}}
    >>> found = as_if_never_reset({}, {"reading": [{"id": "a", "fields": reading}]})
    >>> found[1]["reading"][0]["fields"]["counter_m"]
    14.5
    """
    parts = counter_parts(records["reading"])
    if len(parts) == 1:
        return run, records, parts
    end_m = shown_m(run, "end_counter_m")
    whole: RunFields = {**run}
    if end_m is not None:
        whole["end_counter_m"], whole["end_counter_shown_m"] = _running_m(parts[-1], end_m), end_m
    each = cast(Mapping[str, Sequence[Item]], records).items()
    moved = {kind: [_moved(parts, record) for record in listed] for kind, listed in each}
    return whole, cast(RecordsByKind, moved), parts


def shown_m(fields: Mapping[str, Any], name: str) -> float | None:
    """Return what the counter showed.

    Parameters
    ----------
    fields : mapping
        Of a record or a run, as recorded or from ``as_if_never_reset``.
    name : str
        ``counter_m``, ``from_counter_m``, ``to_counter_m`` or ``end_counter_m``.

    Returns
    -------
    float or None
        Raw counter reading [m]; None where there is none.

    Examples
    --------
    >>> shown_m({"counter_m": 14.5, "counter_shown_m": 2.0}, "counter_m")
    2.0
    """
    value: float | None = fields.get(_shown_name(name), fields.get(name))
    return value


def shown_at(parts: Sequence[CounterPart], running_m: float) -> tuple[float, int]:
    """Return what the counter showed at a place, the other way round than ``as_if_never_reset``.

    Parameters
    ----------
    running_m : float
        What a counter never reset would have shown there [m].

    Returns
    -------
    tuple
        What it showed [m], and its part, 1 to n. Where it was reset: what it had shown.

    References
    ----------
    Decision D21.

    Examples
    --------
    >>> reset = {"had_shown_m": 12.5, "set_to_m": 0.0}
    >>> shown_at(counter_parts([{"id": "a", "fields": {"counter_reset": reset}}]), 14.5)
    (2.0, 2)
    """
    k = 0
    while k + 1 < len(parts) and running_m > parts[k + 1].start_m:
        k += 1
    return parts[k].from_m + (running_m - parts[k].start_m), k + 1


def part_findings(
    parts: Sequence[CounterPart], level_ties: Sequence[LevelTieRecord], stretches: Sequence[StretchRecord]
) -> list[RecordFinding]:
    """Return which level ties and stretches leave it to the order of recording where they were read.

    Parameters
    ----------
    level_ties, stretches : sequence of mapping
        Records of the run, each with ``id`` and ``fields``, as recorded or from ``as_if_never_reset``.

    Returns
    -------
    list of dict
        ``code`` ``counter_part_by_order``, ``record_id``, ``field``, ``values`` (``counter_m`` [m] and
        ``part``, 1 for the first).

    Examples
    --------
    >>> part_findings(counter_parts([]), [{"id": "a", "fields": {"counter_m": 1.0}}], [])
    []
    """
    found: list[RecordFinding] = []
    if len(parts) == 1:
        return found
    for tie in level_ties:
        counter_m, stated = shown_m(tie["fields"], "counter_m"), tie["fields"].get("counter_part")
        place = part_of(parts, tie["id"], None)
        if counter_m is not None and stated is None and place > 0:
            found.append(_by_order(tie, "counter_part", counter_m, place))
    for stretch in stretches:
        fields = stretch["fields"]
        places = _ends(parts, stretch["id"], fields)
        for k, name in enumerate(("from", "to")):
            counter_m = shown_m(fields, f"{name}_counter_m")
            sure = name == "from" and places[k] == 0
            if counter_m is not None and fields.get(f"{name}_part") is None and not sure:
                found.append(_by_order(stretch, f"{name}_part", counter_m, places[k]))
    return found


def _by_order(record: Item, field: str, counter_m: float, place: int) -> RecordFinding:
    values = {"counter_m": counter_m, "part": place + 1}
    return {"record_id": record["id"], "code": "counter_part_by_order", "field": field, "values": values}


def _shown_name(name: str) -> str:
    return name.replace("counter_m", "counter_shown_m")


def _running_m(part: CounterPart, counter_m: float) -> float:
    return part.start_m + (counter_m - part.from_m)


def _moved(parts: Sequence[CounterPart], record: Item) -> dict[str, Any]:
    fields = dict(record["fields"])
    counter_m = shown_m(fields, "counter_m")
    if counter_m is not None:
        part = parts[part_of(parts, record["id"], fields.get("counter_part"))]
        fields["counter_shown_m"], fields["counter_m"] = counter_m, _running_m(part, counter_m)
    ends = _ends(parts, record["id"], fields)
    for k, name in enumerate(("from_counter_m", "to_counter_m")):
        showed_m = shown_m(fields, name)
        if showed_m is not None:
            fields[_shown_name(name)], fields[name] = showed_m, _running_m(parts[ends[k]], showed_m)
    return {**record, "fields": fields}


def _ends(parts: Sequence[CounterPart], record_id: str, fields: Mapping[str, Any]) -> tuple[int, int]:
    """In which parts a stretch begins and ends."""
    begins = part_of(parts, record_id, fields.get("from_part"))
    if fields.get("to_part") is not None:
        return begins, part_of(parts, record_id, fields["to_part"])
    from_m, to_m = shown_m(fields, "from_counter_m"), shown_m(fields, "to_counter_m")
    if from_m is None or to_m is None:
        return begins, begins
    least_m = _running_m(parts[begins], from_m)
    for k in range(begins, len(parts) - 1):
        end_m = parts[k].to_m
        if end_m is not None and to_m <= end_m and _running_m(parts[k], to_m) > least_m:
            return begins, k
    return begins, len(parts) - 1

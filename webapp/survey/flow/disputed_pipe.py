"""What two people recorded differently of a pipe and of its run: its figures span both, or are not given."""

from collections.abc import Mapping, Sequence

from ..coding.disputes import variants
from ..records import Disputed, RunFields, StretchRecord
from ..section.bore import BoreSizes
from .bottleneck import bottleneck
from .types import Capacity, LimitedCapacity, LimitedRow, SpannedCapacity, SpannedRow

PIPE_FIELDS = ("shape", "height_mm", "width_mm", "material", "roughness_mm")


def pipe_variants(stretch: StretchRecord) -> list[StretchRecord]:
    """Return a stretch under each value of its pipe that stands in dispute, first as it is shown.

    Parameters
    ----------
    stretch : mapping
        ``id``, ``fields`` and, where values are in dispute, ``conflicts``.

    Returns
    -------
    list of dict
        The record with other ``fields``; sizes in mm, as recorded.

    Examples
    --------
    >>> sizes = {"height_mm": [["a", 150], ["b", 225]]}
    >>> one = {"id": "s", "fields": {"height_mm": 150}, "conflicts": sizes}
    >>> [v["fields"]["height_mm"] for v in pipe_variants(one)]
    [150, 225]
    """
    mays = variants(stretch["fields"], stretch.get("conflicts"), PIPE_FIELDS)
    return [{**stretch, "fields": fields} for fields in mays]


def over_pipes(found: LimitedCapacity, each: Mapping[int, Sequence[LimitedRow]]) -> SpannedCapacity:
    """Return the capacities of a run, wider where a pipe is in dispute.

    Parameters
    ----------
    found : mapping
        From ``limited_capacity``, with the pipes as shown [m3/s].

    Returns
    -------
    dict
        As ``limited_capacity``; each row has ``disputed`` and ``bores``: what its pipe may be, [m], empty
        where it is settled. A disputed row spans the least and the greatest of its capacities, without a
        middle, or has none and ``left_out`` ``pipe_in_dispute`` where there is none under one of the values.

    Examples
    --------
    >>> over_pipes({"rows": [], "bottleneck": None}, {})["rows"]
    []
    """
    rows: list[SpannedRow] = [
        _spanned([row, *each[k]]) if k in each else {**row, "disputed": False, "bores": []}
        for k, row in enumerate(found["rows"])
    ]
    if not each:
        return {**found, "rows": rows}
    return {**found, "rows": rows, "bottleneck": bottleneck(rows), "whole": None}


def _spanned(mays: Sequence[LimitedRow]) -> SpannedRow:
    shown = mays[0]
    bores: list[BoreSizes] = []
    for one in mays:
        bore = one.get("laid") or one["bore"]
        if bore is not None and bore not in bores:
            bores.append(bore)
    made: SpannedRow = {**shown, "disputed": True, "bores": bores}
    flows = [one["capacity"] for one in mays if one["capacity"] is not None]
    lows = [flow["low_m3_s"] for flow in flows if flow["low_m3_s"] is not None]
    highs = [flow["high_m3_s"] for flow in flows if flow["high_m3_s"] is not None]
    if min(len(flows), len(lows), len(highs)) < len(mays):
        return {**made, "capacity": None, "left_out": shown["left_out"] or "pipe_in_dispute"}
    findings = list(dict.fromkeys(code for flow in flows for code in flow["findings"]))
    capacity: Capacity = {
        "low_m3_s": min(lows), "mean_m3_s": None, "high_m3_s": max(highs), "known": "bounded",
        "findings": [*findings, "pipe_in_dispute"],
    }  # fmt: skip
    return {**made, "capacity": capacity}


def settled_rows(rows: Sequence[SpannedRow]) -> list[SpannedRow]:
    """Return the rows of a capacity whose pipe is settled.

    Returns
    -------
    list of mapping
        Those without a dispute; a depth in metres may rest on their bore [m].

    Examples
    --------
    >>> settled_rows([{"disputed": True}, {"disputed": False}])
    [{'disputed': False}]
    """
    return [row for row in rows if not row.get("disputed")]


def settled_run(fields: RunFields, conflicts: Disputed | None) -> RunFields:
    """Return the fields of a run as its figures may use them.

    Returns
    -------
    dict
        The fields; ``direction`` is ``unknown`` where it is in dispute; where the end is,
        ``least_end_counter_m`` [m] is the nearest that stands: beyond it nothing is sure to have been seen.

    Examples
    --------
    >>> settled_run({"end_counter_m": 40.0}, {"end_counter_m": [["a", 40.0], ["b", 20.0]]})
    {'end_counter_m': 40.0, 'least_end_counter_m': 20.0}
    """
    found: RunFields = {**fields}
    if not conflicts:
        return found
    if "direction" in conflicts:
        found["direction"] = "unknown"
    ends = [value for _, value in conflicts.get("end_counter_m", ()) if value is not None]
    if ends and fields.get("end_counter_m") is not None:
        found["least_end_counter_m"] = min(ends)
    return found

"""Why the number of a stretch must not be taken for what the whole run carries."""

from collections.abc import Iterable, Sequence

from ..records import ObservationRecord, RunFields, StretchRecord
from ..table_types.pipe import Narrowings
from .narrowed_lengths import may_narrow
from .types import RunBottleneck, RunCapacity, SpannedCapacity, SpannedRow

NEAR_M = 1.0  # a narrowing this near to the end of a run is what ended it
GAP_M = 0.1


def whole_run_limits(
    run: RunFields, stretches: Sequence[StretchRecord], observations: Sequence[ObservationRecord],
    end_counter_m: float | None, table: Narrowings,
) -> list[str]:  # fmt: skip
    """Return why no capacity can be given for a run as a whole, the gravest first.

    Parameters
    ----------
    run : mapping
        Fields of the run with its end, as ``ended_run``.
    observations : sequence of mapping
        Of the run, each with ``id`` and ``fields``; ``conflicts`` where values are in dispute.
    end_counter_m : float or None
        Counter reading to which the run was surveyed [m].

    Returns
    -------
    list of str
        ``narrowing_without_place``, ``narrowing_outside_pipes``, ``ended_at_obstruction``,
        ``pipe_not_throughout``; empty where nothing stands against it.

    Notes
    -----
    A run that ended at an obstruction carries what that leaves: where nothing with a size is recorded there,
    that is not known.

    Examples
    --------
    >>> pipe = {"id": "s", "fields": {"from_counter_m": 0.0, "to_counter_m": 20.0}}
    >>> whole_run_limits({}, [pipe], [], 40.0, {"rows": []})
    ['pipe_not_throughout']
    """
    spans = sorted(
        (from_m, to_m)
        for one in stretches
        if (from_m := one["fields"].get("from_counter_m")) is not None
        and (to_m := one["fields"].get("to_counter_m")) is not None
    )
    narrow = [one for one in observations if may_narrow(one["fields"], one.get("conflicts"), table)]
    places = [one["fields"].get("counter_m") for one in narrow]
    found = []
    if None in places:
        found.append("narrowing_without_place")
    if any(p is not None and not any(a <= p <= b for a, b in spans) for p in places):
        found.append("narrowing_outside_pipes")
    if run.get("end_reason") == "obstruction" and not _sized_near(narrow, end_counter_m):
        found.append("ended_at_obstruction")
    if end_counter_m is not None and _gap(spans, run.get("counter_zero_m") or 0.0, end_counter_m):
        found.append("pipe_not_throughout")
    return found


def _sized_near(narrow: Sequence[ObservationRecord], end_counter_m: float | None) -> bool:
    """Whether something with a size is recorded where the run ended."""
    for one in narrow:
        place, size = one["fields"].get("counter_m"), one["fields"].get("quantification_1")
        if end_counter_m is not None and place is not None and size is not None:
            if abs(place - end_counter_m) <= NEAR_M:
                return True
    return False


def _gap(spans: Sequence[tuple[float, float]], start_m: float, end_m: float) -> bool:
    reach = start_m
    for from_m, to_m in spans:
        if from_m > reach + GAP_M:
            return True
        reach = max(reach, to_m)
    return reach < end_m - GAP_M


def withheld_bottleneck(no_number: Iterable[int]) -> RunBottleneck:
    """Return the bottleneck of a run where it is not known which stretch carries least.

    Examples
    --------
    >>> withheld_bottleneck([0, 2])["no_number"]
    [0, 2]
    """
    return {"index": None, "reasons": [], "rivals": [], "no_number": list(no_number)}


def with_whole_run(found: SpannedCapacity, limits: Sequence[str], contradicted: bool) -> RunCapacity:
    """Return the capacities of a run with what speaks against a number for the whole of it.

    Parameters
    ----------
    found : mapping
        From ``over_pipes`` [m3/s].

    Returns
    -------
    dict
        The same with ``limits``; ``whole`` is None where there is any. Where the levels are contradicted, or
        a narrowing may lie anywhere, no stretch keeps its number: ``left_out`` then is
        ``levels_contradicted`` or ``narrowing_without_place``.

    Examples
    --------
    >>> found = {"rows": [], "bottleneck": None, "whole": None}
    >>> with_whole_run(found, ["ended_at_obstruction"], False)["limits"]
    ['ended_at_obstruction']
    """
    anywhere = "narrowing_without_place" if "narrowing_without_place" in limits else ""
    why = "levels_contradicted" if contradicted else anywhere
    whole = None if why or limits else found.get("whole")
    if not why or not found["rows"]:
        return {**found, "limits": list(limits), "whole": whole}
    rows: list[SpannedRow] = [
        row if row["left_out"] else {**row, "capacity": None, "left_out": why} for row in found["rows"]
    ]
    bottleneck = withheld_bottleneck(range(len(rows)))
    return {**found, "rows": rows, "bottleneck": bottleneck, "limits": list(limits), "whole": None}

"""How far a run was surveyed, what remains of it, and the counter against the length expected."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import TypedDict, cast

from ..errors import SurveyError
from ..instruments.counter import chainage_m
from ..instruments.counter_scale import check_far_length
from ..instruments.instruments import Instruments
from ..records import ObservationRecord, ReadingRecord, RunFields


class FarCheckFacts(TypedDict):
    """The fields of ``FarCheck``, as JSON holds them."""

    difference_m: float
    difference_pct: float
    factor: float
    allowed_m: float
    flagged: bool


class RunExtent(TypedDict):
    """How far a run was surveyed, and what of the length expected remains [m]."""

    end_counter_m: float | None
    surveyed_m: float | None
    surveyed_known: str  # measured, assumed or unknown
    expected_m: float | None
    remaining_m: float | None
    far_check: FarCheckFacts | None


def run_extent(
    run: RunFields,
    readings: Sequence[ReadingRecord],
    observations: Sequence[ObservationRecord],
    instruments: Instruments,
) -> RunExtent:
    """Return how far a run was surveyed.

    Returns
    -------
    dict
        ``end_counter_m`` [m, counter] to which it was surveyed; ``surveyed_m`` [m] with ``surveyed_known``
        (``measured``: where it is recorded to have ended; ``assumed``: the last recorded place;
        ``unknown``); ``expected_m`` [m]; ``remaining_m`` [m], None where the finish node was reached or
        nothing is expected; ``far_check``: the fields of
        ``FarCheck`` where the finish node was reached and a length is expected, else None.

    Examples
    --------
    >>> from ..instruments.instruments import instruments_of
    >>> run = {"end_counter_m": 40.5, "expected_length_m": 40.0, "end_reason": "node_reached"}
    >>> run_extent(run, [], [], instruments_of([], "r"))["far_check"]["flagged"]
    True
    """
    zero_m = run.get("counter_zero_m") or 0.0
    end_m, expected_m = run.get("end_counter_m"), run.get("expected_length_m")
    provenance = "unknown" if end_m is None else "measured"
    if end_m is None:
        for one in (*readings, *observations):
            counter_m = one["fields"].get("counter_m")
            if counter_m is not None:
                end_m = counter_m if end_m is None or counter_m > end_m else end_m
                provenance = "assumed"
    surveyed_m = None if end_m is None else chainage_m(end_m, zero_m, instruments.scale)
    reached = run.get("end_reason") == "node_reached"
    remaining_m, check = None, None
    if expected_m is not None and surveyed_m is not None:
        if reached:
            try:
                check = cast(FarCheckFacts, asdict(check_far_length(surveyed_m, expected_m)))
            except SurveyError:
                check = None
        elif expected_m > surveyed_m:
            remaining_m = expected_m - surveyed_m
    return {
        "end_counter_m": end_m, "surveyed_m": surveyed_m, "surveyed_known": provenance,
        "expected_m": expected_m, "remaining_m": remaining_m, "far_check": check,
    }  # fmt: skip

"""Before leaving: which level would settle a rise beyond the range, and does the counter agree."""

import math
from collections.abc import Sequence

from ..instruments.instruments import Instruments
from ..levels.input import LevelReading
from ..levels.run_model import RunModel, run_model
from ..plan.run_extent import run_extent
from ..records import NodeRecord, ObservationRecord, ReadingRecord, RecordsByKind, RunFields
from .leave_item import OpenItem, open_item


def unsettled_rises(
    run_id: str,
    run: RunFields,
    parts: RecordsByKind,
    nodes: Sequence[NodeRecord],
    instruments: Instruments,
) -> list[OpenItem]:
    """Return the rises beyond the instrument's range that no level tie settles, and which tie would.

    Parameters
    ----------
    parts : mapping
        Its records by kind: ``reading``, ``level_tie``, ``stretch``, each with ``id`` and ``fields``.

    Returns
    -------
    list of dict
        One open item for each part of the run between two ties where such readings stand: with
        ``from_m`` and ``to_m`` [m, counter] and ``tie_m`` [m, counter], where a level would settle the levels
        behind. Several such readings between two ties stay bounded among themselves; what lies behind
        them is settled, so they are no item.

    Examples
    --------
    >>> from ..instruments.instruments import instruments_of
    >>> unsettled_rises("r", {}, {"reading": [], "level_tie": [], "stretch": []}, [], instruments_of([], "r"))
    []
    """
    model = run_model(run, parts["reading"], parts["level_tie"], parts["stretch"], nodes, instruments)
    ties = [tie.chainage_m for tie in model.ties]
    groups: dict[int, tuple[int, int]] = {}
    for k, reading in enumerate(model.readings):
        if reading.over != 0 and not _seen(ties, *_acts(model.readings, k)):
            part = sum(1 for place in ties if place <= reading.chainage_m)
            groups[part] = (groups.get(part, (k, k))[0], k)
    return [_item(run_id, model, part, *groups[part], instruments.scale) for part in sorted(groups)]


def counter_items(
    run_id: str,
    run: RunFields,
    readings: Sequence[ReadingRecord],
    observations: Sequence[ObservationRecord],
    instruments: Instruments,
) -> list[OpenItem]:
    """Return the open item of a counter that does not agree with the length expected.

    Returns
    -------
    list of dict
        None or one open item, with ``surveyed_m``, ``expected_m``, ``difference_m`` and ``allowed_m`` [m].

    Examples
    --------
    >>> from ..instruments.instruments import instruments_of
    >>> run = {"end_counter_m": 40.5, "expected_length_m": 40.0, "end_reason": "node_reached"}
    >>> [i["code"] for i in counter_items("r", run, [], [], instruments_of([], "r"))]
    ['counter_off']
    """
    extent = run_extent(run, readings, observations, instruments)
    check = extent["far_check"]
    if check is None or not check["flagged"]:
        return []
    values = {
        "surveyed_m": extent["surveyed_m"],
        "expected_m": extent["expected_m"],
        "difference_m": abs(check["difference_m"]),
        "allowed_m": check["allowed_m"],
    }
    return [open_item("counter_off", run_id, "run", run_id, "expected_length_m", values)]


def _acts(readings: Sequence[LevelReading], k: int) -> tuple[float, float]:
    """From where to where a reading acts: from the one before it to the one behind it."""
    begin_m = _end_of(readings[k - 1]) if k else 0.0
    return begin_m, readings[k + 1].chainage_m if k + 1 < len(readings) else math.inf


def _end_of(reading: LevelReading) -> float:
    return reading.chainage_m if reading.to_m is None else reading.to_m


def _seen(ties: Sequence[float], begin_m: float, end_m: float) -> bool:
    return bool(ties) and min(ties) < end_m and max(ties) > begin_m and min(ties) < max(ties)


def _item(run_id: str, model: RunModel, part: int, first: int, last: int, scale: float) -> OpenItem:
    """The open item of one part: ``part`` ties lie before it."""
    begin_m, behind_m = _known_before_m(model.readings, first), _known_behind_m(model, last)

    def counter_m(chainage_m: float) -> float:
        return chainage_m / scale + model.zero_m

    code, tie_m = "rise_needs_both_levels", behind_m
    if part > 0:
        code = "rise_needs_far_level"
    elif model.ties:
        code, tie_m = "rise_needs_start_level", 0.0
    values = {"from_m": counter_m(begin_m), "to_m": counter_m(behind_m), "tie_m": counter_m(tie_m)}
    return open_item(code, run_id, "level_tie", None, "invert_level_m", values)


def _known_before_m(readings: Sequence[LevelReading], first: int) -> float:
    """Up to where the inclination is known before such a reading; the start if it never is."""
    for reading in reversed(readings[:first]):
        if reading.over == 0:
            return _end_of(reading)
    return 0.0


def _known_behind_m(model: RunModel, last: int) -> float:
    """From where it is known again behind such a reading; the end of the run if it never is."""
    for reading in model.readings[last + 1 :]:
        if reading.over == 0:
            return reading.chainage_m
    ends = [_end_of(model.readings[-1]), *(tie.chainage_m for tie in model.ties)]
    return max([*ends, *([] if model.setup.end_chainage_m is None else [model.setup.end_chainage_m])])

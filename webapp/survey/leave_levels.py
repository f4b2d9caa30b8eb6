"""Before leaving: which level would settle a rise beyond the range, and does the counter agree."""

from collections.abc import Mapping, Sequence
from typing import Any

from .errors import SurveyError
from .instruments import ASSUMED, Instruments
from .leave_item import open_item
from .length_table import what_would_a_tie_settle
from .level_input import LevelReading
from .levels import LevelProfile, level_profile
from .run_extent import run_extent
from .run_model import RunModel, run_model

Item = Mapping[str, Any]


def unsettled_rises(
    run_id: str,
    run: Mapping[str, Any],
    parts: Mapping[str, Sequence[Item]],
    nodes: Sequence[Item],
    tools: Instruments,
) -> list[dict[str, Any]]:
    """Return the rises beyond the instrument's range that no level tie settles, and which tie would.

    Parameters
    ----------
    run_id : str
        The run.
    run : mapping
        Its fields.
    parts : mapping
        Its records by kind: ``reading``, ``level_tie``, ``stretch``, each with ``id`` and ``fields``.
    nodes : sequence of mapping
        Node records of the job.
    tools : Instruments
        From ``instruments_of``.

    Returns
    -------
    list of dict
        One open item for each part of the run between two ties where such readings stand: with
        ``from_m`` and ``to_m`` [m, counter] and ``tie_m`` [m, counter], where a level would settle the levels
        behind. Several such readings between two ties stay bounded among themselves; what lies behind
        them is settled, so they are no item.

    Raises
    ------
    Nothing. What ``level_profile`` refuses is told elsewhere.

    References
    ----------
    Whether a tie settles a level does not depend on what it reads: ``what_would_a_tie_settle``.

    Examples
    --------
    >>> from .instruments import instruments_of
    >>> unsettled_rises("r", {}, {"reading": [], "level_tie": [], "stretch": []}, [], instruments_of([], "r"))
    []
    """
    model = run_model(run, parts["reading"], parts["level_tie"], parts["stretch"], nodes, tools)
    if all(reading.over == 0 for reading in model.readings):
        return []
    try:
        profile = level_profile(model.readings, model.ties, model.setup)
        return [
            _item(run_id, model, first, last, tools.scale) for first, last in _open_groups(model, profile)
        ]
    except SurveyError:
        return []


def counter_items(
    run_id: str,
    run: Mapping[str, Any],
    readings: Sequence[Item],
    observations: Sequence[Item],
    tools: Instruments,
) -> list[dict[str, Any]]:
    """Return the open item of a counter that does not agree with the length expected.

    Parameters
    ----------
    run_id : str
        The run.
    run : mapping
        Its fields.
    readings, observations : sequence of mapping
        Its records, each with ``id`` and ``fields``.
    tools : Instruments
        From ``instruments_of``.

    Returns
    -------
    list of dict
        None or one open item, with ``surveyed_m``, ``expected_m``, ``difference_m`` and ``allowed_m`` [m].

    Raises
    ------
    Nothing.

    References
    ----------
    As ``check_far_length``.

    Examples
    --------
    >>> from .instruments import instruments_of
    >>> run = {"end_counter_m": 40.5, "expected_length_m": 40.0, "end_reason": "node_reached"}
    >>> [i["code"] for i in counter_items("r", run, [], [], instruments_of([], "r"))]
    ['counter_off']
    """
    extent = run_extent(run, readings, observations, tools)
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


def _open_groups(model: RunModel, profile: LevelProfile) -> list[tuple[int, int]]:
    """First and last reading of each part of the run that holds rises seen by no pair of ties."""
    places = sorted(tie.chainage_m for tie in model.ties)
    groups: dict[int, tuple[int, int]] = {}
    for gap in profile.gaps:
        if gap.status == "open":
            at = model.readings[gap.reading].chainage_m
            part = sum(1 for place in places if place <= at)
            groups[part] = (groups.get(part, (gap.reading, gap.reading))[0], gap.reading)
    return [groups[part] for part in sorted(groups)]


def _item(run_id: str, model: RunModel, first: int, last: int, scale: float) -> dict[str, Any]:
    """The open item of one part, with the first of three remedies that settles it."""
    begin_m, behind_m = _known_before_m(model.readings, first), _known_behind_m(model.readings, last)

    def counter_m(chainage_m: float) -> float:
        return chainage_m / scale + model.zero_m

    code, tie_m = "rise_needs_both_levels", behind_m
    if _settles(model, behind_m, begin_m, behind_m):
        code = "rise_needs_far_level"
    elif begin_m > 0 and _settles(model, 0.0, begin_m, behind_m):
        code, tie_m = "rise_needs_start_level", 0.0
    values = {"from_m": counter_m(begin_m), "to_m": counter_m(behind_m), "tie_m": counter_m(tie_m)}
    return open_item(code, run_id, "level_tie", None, "invert_level_m", values)


def _known_before_m(readings: Sequence[LevelReading], first: int) -> float:
    """Up to where the inclination is known before such a reading; the start if it never is."""
    for reading in reversed(readings[:first]):
        if reading.over == 0:
            return reading.chainage_m if reading.to_m is None else reading.to_m
    return 0.0


def _known_behind_m(readings: Sequence[LevelReading], last: int) -> float:
    """From where it is known again behind such a reading; the end of the readings if it never is."""
    for reading in readings[last + 1 :]:
        if reading.over == 0:
            return reading.chainage_m
    end = readings[-1]
    return end.chainage_m if end.to_m is None else end.to_m


def _settles(model: RunModel, tie_m: float, begin_m: float, behind_m: float) -> bool:
    """Would a level there leave nothing bounded outside this part of the run?"""
    found = what_would_a_tie_settle(model.readings, model.ties, model.setup, tie_m, ASSUMED["tie_sd_m"])
    return all(
        known != "bounded"
        for place, known in zip(found.chainage_m, found.known, strict=True)
        if place <= begin_m or place >= behind_m
    )

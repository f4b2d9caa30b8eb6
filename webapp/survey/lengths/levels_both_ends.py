"""Levels of a length that was surveyed from both ends: one model, open where nothing was surveyed."""

from collections.abc import Sequence
from dataclasses import replace

from ..levels.input import NOT_READ, LevelReading
from ..levels.levels import LevelProfile
from ..levels.run_model import RunModel

Span = tuple[float, float]
NOT_SURVEYED = "not surveyed"  # stands for the id of a reading that nobody took


def with_unsurveyed(model: RunModel, between: Sequence[Span]) -> tuple[RunModel, list[Span]]:
    """Return the model of a length with what was not surveyed as an unknown rise.

    Parameters
    ----------
    model : RunModel
        Of the length, from ``run_model`` with the readings of all runs.
    between : sequence of tuple of float
        Chainages from where to where nothing was surveyed [m], in order.

    Returns
    -------
    tuple
        The model, in which the readings next to such a length are taken to go on up to it, and a rise of
        either sign, no more than its length, stands for what lies there; and from where to where readings
        are taken to go on [m].

    References
    ----------
    As the rises beyond the instrument's range: decision D5.

    Examples
    --------
    >>> from ..instruments.instruments import instruments_of
    >>> from ..levels.run_model import run_model
    >>> model = run_model({}, [], [], [], [], instruments_of([], "r"))
    >>> with_unsurveyed(model, [(3.0, 5.0)])[0].readings
    []
    """
    readings, ids = list(model.readings), list(model.reading_ids)
    assumed: list[Span] = []
    if not readings:
        return model, assumed
    if model.setup.mode == "course":
        return _with_gaps(model, between)
    for from_m, to_m in between:
        readings = [_outside(one, from_m, to_m) for one in readings]
        at = sum(1 for one in readings if one.chainage_m <= from_m)
        if at > 0 and _reach(readings[at - 1]) < from_m:
            assumed.append((_reach(readings[at - 1]), from_m))
            readings[at - 1] = replace(readings[at - 1], to_m=from_m)
        if at < len(readings) and readings[at].chainage_m > to_m:
            assumed.append((to_m, readings[at].chainage_m))
            readings[at] = replace(readings[at], chainage_m=to_m, to_m=_reach(readings[at]))
        readings.insert(at, LevelReading(from_m, None, NOT_READ, None, to_m))
        ids.insert(at, NOT_SURVEYED)
    return replace(model, readings=readings, reading_ids=ids), assumed


def _with_gaps(model: RunModel, between: Sequence[Span]) -> tuple[RunModel, list[Span]]:
    """The same where the course of the run says how the pipe goes on beyond a reading."""
    readings, ids = list(model.readings), list(model.reading_ids)
    assumed: list[Span] = []
    for from_m, to_m in between:
        at = sum(1 for one in readings if one.chainage_m <= from_m)
        if at > 0 and readings[at - 1].chainage_m < from_m:
            assumed.append((readings[at - 1].chainage_m, from_m))
        if at < len(readings) and readings[at].chainage_m > to_m:
            assumed.append((to_m, readings[at].chainage_m))
        readings.insert(at, LevelReading(from_m, None, NOT_READ, None, to_m))
        ids.insert(at, NOT_SURVEYED)
    return replace(model, readings=readings, reading_ids=ids), assumed


def _reach(reading: LevelReading) -> float:
    return reading.chainage_m if reading.to_m is None else reading.to_m


def _outside(reading: LevelReading, from_m: float, to_m: float) -> LevelReading:
    """A reading whose single pipe lies partly in a length, cut at its ends."""
    if from_m < reading.chainage_m < to_m:
        return replace(reading, chainage_m=to_m, to_m=None if _reach(reading) <= to_m else _reach(reading))
    if reading.chainage_m <= from_m < _reach(reading):
        return replace(reading, to_m=from_m)
    return reading


def with_assumed(profile: LevelProfile, spans: Sequence[Span]) -> LevelProfile:
    """Return a profile that says where a reading was only taken to go on.

    Parameters
    ----------
    spans : sequence of tuple of float
        From ``with_unsurveyed`` [m].

    Examples
    --------
    >>> from ..levels.input import LevelSetup
    >>> from ..levels.levels import level_profile
    >>> setup = LevelSetup("trapezoid", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0)
    >>> profile = level_profile([LevelReading(0.0, 0.0), LevelReading(9.0, 0.0)], [], setup)
    >>> with_assumed(profile, [(5.0, 9.0)]).stations[-1].known
    'assumed'
    """
    stations = [
        replace(one, known="assumed")
        if one.known == "computed" and any(a <= one.chainage_m <= b for a, b in spans)
        else one
        for one in profile.stations
    ]
    return replace(profile, stations=stations)

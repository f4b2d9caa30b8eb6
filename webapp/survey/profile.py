"""Levels along a run from the inclinations, with bounds where the instrument could not read.

Straight between readings: over each span the mean of the two sines acts. A reading beyond the
instrument's range is a bound, never a number: the rise over its length lies between the sine
of the limit and 1, in the sense that the instrument showed.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from .errors import SurveyError


@dataclass(frozen=True)
class Reading:
    """One reading at a chainage: ``deg`` [deg, + rises ahead], or ``over`` +1 or -1 and no deg."""

    chainage_m: float
    deg: float | None
    over: int = 0


@dataclass(frozen=True)
class Station:
    """Level of the invert at a chainage, between two bounds [m]; equal bounds are one value.

    ``known`` is ``computed`` (from readings), ``bounded`` (a reading beyond the range lies before
    it) or ``assumed`` (beyond the outermost reading, whose inclination is taken to go on).
    """

    chainage_m: float
    low_m: float
    high_m: float
    known: str


def integrate(
    readings: Sequence[Reading],
    start_level_m: float,
    limit_deg: float,
    start_chainage_m: float,
    end_chainage_m: float | None = None,
) -> list[Station]:
    """Return the invert levels along a run, station by station.

    Parameters
    ----------
    readings : sequence of Reading, length n >= 0
        In ascending chainage [m]; equal chainages are allowed, the later one holds onwards.
    start_level_m : float
        Level at ``start_chainage_m`` [m above datum]; 0 for levels relative to the start.
    limit_deg : float
        Largest inclination that the instrument reads [deg], above 0 and up to 90.
    start_chainage_m : float
        Where the levels begin [m]; readings before it are left out.
    end_chainage_m : float, optional
        Where the run ended [m]; adds a station if it lies beyond the last reading.

    Returns
    -------
    list of Station
        One for the start (unless a reading stands there), one per reading, one for the end.
        Levels [m above datum]. Not rounded. Empty if there are no readings.

    Raises
    ------
    SurveyError
        ``limit_out_of_range`` if the limit is not in (0, 90]; ``reading_incomplete`` with the
        index of a reading with neither ``deg`` nor ``over``; ``chainage_not_ascending`` with the
        index of the first that goes back.

    References
    ----------
    Fall along a pipe is the sine of its inclination times the length along it; trapezium rule,
    any surveying and numerical analysis text. Bounds: DEVELOPERS.md, decision D5.

    Examples
    --------
    >>> [round(s.low_m, 3) for s in integrate([Reading(0.0, -1.0), Reading(10.0, -1.0)], 5.0, 10.0, 0.0)]
    [5.0, 4.825]
    """
    if not 0 < limit_deg <= 90:
        raise SurveyError("limit_out_of_range", "limit_deg")
    kept = _checked(readings, start_chainage_m)
    if not kept:
        return []
    first, last = kept[0], kept[-1]
    points = list(kept)
    if first.chainage_m > start_chainage_m:
        points.insert(0, Reading(start_chainage_m, first.deg, first.over))
    if end_chainage_m is not None and end_chainage_m > last.chainage_m:
        points.append(Reading(end_chainage_m, last.deg, last.over))
    least = math.sin(math.radians(limit_deg))
    low = high = start_level_m
    bounded = False
    stations = [Station(points[0].chainage_m, low, high, "computed")]
    for before, here in itertools.pairwise(points):
        step = here.chainage_m - before.chainage_m
        (a0, b0), (a1, b1) = _sines(before, least), _sines(here, least)
        low, high = low + step * (a0 + a1) / 2, high + step * (b0 + b1) / 2
        bounded = bounded or (step > 0 and bool(before.over or here.over))
        read = before.chainage_m >= first.chainage_m and here.chainage_m <= last.chainage_m
        known = "bounded" if bounded else "computed" if read else "assumed"
        stations.append(Station(here.chainage_m, low, high, known))
    return stations


def _checked(readings: Sequence[Reading], start_chainage_m: float) -> list[Reading]:
    kept: list[Reading] = []
    for index, reading in enumerate(readings):
        if reading.deg is None and reading.over not in (-1, 1):
            raise SurveyError("reading_incomplete", "readings", index)
        if index and reading.chainage_m < readings[index - 1].chainage_m:
            raise SurveyError("chainage_not_ascending", "readings", index)
        if reading.chainage_m >= start_chainage_m:
            kept.append(reading)
    return kept


def _sines(reading: Reading, least: float) -> tuple[float, float]:
    """Smallest and greatest rise per metre that the reading allows."""
    if reading.deg is not None:
        sine = math.sin(math.radians(reading.deg))
        return sine, sine
    return (least, 1.0) if reading.over > 0 else (-1.0, -least)

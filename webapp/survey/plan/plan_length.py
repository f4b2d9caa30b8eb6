"""Plan lengths from distances along the pipe and the inclinations on the way."""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from ..errors import SurveyError
from ..numbers.finite import finite
from .plan_reading import Reading

NOTHING: Mapping[int, tuple[float, float, bool]] = {}


class PlanLength(NamedTuple):
    """Distance along the pipe [m] and on plan, between two bounds [m]; equal bounds are one value.

    ``known`` is ``computed``, ``bounded`` (a reading beyond the range lies before it) or
    ``assumed`` (no reading at all, or beyond the outermost ones).
    """

    chainage_m: float
    low_m: float
    high_m: float
    known: str


def plan_lengths(
    chainages_m: Sequence[float],
    readings: Sequence[Reading],
    limit_deg: float,
    settled: Mapping[int, tuple[float, float, bool]] = NOTHING,
) -> list[PlanLength]:
    """Return the plan distance from chainage zero for distances along the pipe.

    Parameters
    ----------
    chainages_m : sequence of float, length n >= 0
        Distances along the pipe [m], each 0 or more; in any order.
    readings : sequence of Reading, length m >= 0
        In ascending chainage [m], inclinations [deg] or beyond the range.
    limit_deg : float
        Largest inclination that the instrument reads [deg], above 0 and up to 90.
    settled : mapping
        Of readings beyond the range, by their place in ``readings``: what ``settled_inclinations`` tells.

    Returns
    -------
    list of PlanLength, length n
        In the order asked for [m]. Without a reading the plan distance is the distance along the pipe,
        ``assumed``.

    Raises
    ------
    SurveyError
        ``limit_out_of_range``; ``reading_incomplete``, ``inclination_beyond_vertical`` and
        ``chainage_not_ascending`` with the index of the reading; ``chainage_negative`` with the index of
        the distance; ``number_not_finite`` and ``number_out_of_range``.

    References
    ----------
    Plan length is the cosine of the inclination times the length along the pipe; between readings the mean
    of the two cosines acts, as in ``profile``.

    Examples
    --------
    >>> round(plan_lengths([10.0], [Reading(0.0, 60.0)], 90.0)[0].high_m, 9)
    5.0
    """
    if not 0 < finite(limit_deg, "limit_deg") <= 90:
        raise SurveyError("limit_out_of_range", "limit_deg")
    knots = _knots(readings, math.cos(math.radians(limit_deg)), settled)
    found = []
    for index, chainage in enumerate(chainages_m):
        if finite(chainage, "chainages_m", index) < 0:
            raise SurveyError("chainage_negative", "chainages_m", index)
        if not knots:
            found.append(PlanLength(chainage, chainage, chainage, "assumed"))
            continue
        start, end = _walked(knots, 0.0), _walked(knots, chainage)
        read = readings[0].chainage_m <= chainage <= readings[-1].chainage_m or chainage == 0
        provenance = "bounded" if end[2] > start[2] else "computed" if read else "assumed"
        found.append(PlanLength(chainage, end[0] - start[0], end[1] - start[1], provenance))
    return found


def _knots(
    readings: Sequence[Reading], most: float, settled: Mapping[int, tuple[float, float, bool]]
) -> list[tuple[float, float, float, int]]:
    """Chainage, least and greatest cosine, over: one for each reading."""
    knots: list[tuple[float, float, float, int]] = []
    for index, reading in enumerate(readings):
        chainage = finite(reading.chainage_m, "readings", index)
        if knots and chainage < knots[-1][0]:
            raise SurveyError("chainage_not_ascending", "readings", index)
        if reading.deg is not None:
            if not -90 <= finite(reading.deg, "readings", index) <= 90:
                raise SurveyError("inclination_beyond_vertical", "readings", index)
            cosine = math.cos(math.radians(reading.deg))
            knots.append((chainage, cosine, cosine, 0))
        elif reading.over in (-1, 1) and index in settled:
            least_deg, most_deg, one = settled[index]
            low, high = math.cos(math.radians(most_deg)), math.cos(math.radians(least_deg))
            knots.append((chainage, low, high, 0 if one else 1))
        elif reading.over in (-1, 1):
            knots.append((chainage, 0.0, most, 1))
        else:
            raise SurveyError("reading_incomplete", "readings", index)
    return knots


def _walked(knots: Sequence[tuple[float, float, float, int]], chainage: float) -> tuple[float, float, float]:
    """Plan distance from the first knot, both bounds, and how much of it lies beyond the range [m]."""
    first = knots[0]
    if chainage <= first[0]:
        back = chainage - first[0]
        return back * first[1], back * first[2], back * first[3]
    low = high = over = 0.0
    before = first
    for here in knots[1:]:
        step = min(chainage, here[0]) - before[0]
        low, high = low + step * (before[1] + here[1]) / 2, high + step * (before[2] + here[2]) / 2
        over += step if before[3] or here[3] else 0.0
        if chainage <= here[0]:
            return low, high, over
        before = here
    step = chainage - before[0]
    return low + step * before[1], high + step * before[2], over + step * before[3]

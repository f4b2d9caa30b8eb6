"""The table of falls: gradient and fall of every length between stations; what a further tie would do."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from ..instruments.gradient import gradient_of
from ..numbers.finite import finite, spread
from .input import SAME_PLACE_M, LevelReading, LevelSetup, LevelTie
from .levels import LevelProfile, level_profile
from .solution import LevelSolution
from .values import rise_value


@dataclass(frozen=True)
class LengthRow:
    """One length between stations, chainages [m].

    ``fall_m`` is positive where the level falls ahead; None where only bounds are known. ``deg`` (+
    rises ahead), ``pct``, ``one_in`` (positive; None when level) and ``direction`` (rising, falling,
    level) follow from it; ``sd_deg`` [deg]. Bounds: ``low_fall_m``, ``high_fall_m``.
    """

    from_m: float
    to_m: float
    fall_m: float | None
    sd_m: float | None
    low_fall_m: float | None
    high_fall_m: float | None
    deg: float | None
    sd_deg: float | None
    pct: float | None
    one_in: float | None
    direction: str | None
    known: str


@dataclass(frozen=True)
class TiePrediction:
    """Standard deviations [m] at the stations with a further tie; ``now_sd_m`` without it.

    None where the level is bounded only. ``known``: how each would then be known.
    """

    chainage_m: list[float]
    now_sd_m: list[float | None]
    sd_m: list[float | None]
    known: list[str]
    far_now_sd_m: float | None
    far_sd_m: float | None


def length_table(profile: LevelProfile) -> list[LengthRow]:
    """Return gradient and fall of each length between stations.

    Raises
    ------
    SurveyError
        ``bounds_not_found``, see ``least_in_box``.

    References
    ----------
    Sine of the inclination is the fall over the length along the pipe: any surveying text.

    Examples
    --------
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> row = length_table(level_profile([LevelReading(0.0, -1.0)], [], setup))[0]
    >>> round(row.fall_m, 4), round(row.one_in, 2), row.direction
    (0.1571, 57.29, 'falling')
    """
    return [length_row(profile, k) for k in range(len(profile.stations) - 1)]


def rise_between(solution: LevelSolution, left: int, right: int) -> tuple[float | None, float | None]:
    """Return the rise between two stations and its standard deviation.

    Parameters
    ----------
    solution : LevelSolution
        ``solution`` of a ``LevelProfile``.

    Returns
    -------
    tuple of float or None
        Rise from ``left`` to ``right`` [m] and its standard deviation [m]; None where bounded only.

    Raises
    ------
    SurveyError
        ``station_unknown`` if there is no such station.

    References
    ----------
    Difference of two correlated levels; any text on the propagation of errors.

    Examples
    --------
    >>> setup = LevelSetup("span", 0.0, 5.0, 3.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> profile = level_profile([LevelReading(0.0, -1.0)], [], setup)
    >>> [round(x, 4) for x in rise_between(profile.solution, 1, 0)]
    [0.1571, 0.0157]
    """
    for station in (left, right):
        if not 0 <= station < len(solution.walk.chainage_m):
            raise SurveyError("station_unknown", "station")
    value = rise_value(solution, left if left <= right else right, right if left <= right else left)
    if value.value_m is None:
        return None, None
    return value.value_m if left <= right else -value.value_m, value.sd_m


def what_would_a_tie_settle(
    readings: Sequence[LevelReading],
    ties: Sequence[LevelTie],
    setup: LevelSetup,
    chainage_m: float,
    sd_m: float,
) -> TiePrediction:
    """Return how well the levels would be known if one more tie were taken.

    Parameters
    ----------
    chainage_m : float
        Where the level would be taken [m].
    sd_m : float
        Its standard deviation [m].

    Returns
    -------
    TiePrediction
        At every station, the new one included, and at the far end [m]. What the tie will read makes
        no difference to this.

    Raises
    ------
    SurveyError
        ``number_not_finite``, ``sd_negative``; else as ``level_profile``.

    References
    ----------
    The covariance after conditioning does not depend on the observed value: as ``level_profile``.

    Examples
    --------
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> found = what_would_a_tie_settle([LevelReading(0.0, -1.0)], [], setup, 9.0, 0.005)
    >>> round(found.far_now_sd_m, 4), round(found.far_sd_m, 4)
    (0.0157, 0.0048)
    """
    finite(chainage_m, "chainage_m")
    spread(sd_m, "sd_m")
    known = level_profile(readings, ties, setup)
    tie = LevelTie(chainage_m, _middle(known, chainage_m), sd_m)
    then = level_profile(readings, [*ties, tie], setup)
    places = [s.chainage_m for s in then.stations]
    before = {s.chainage_m: s.sd_m if s.level_m is not None else None for s in known.stations}
    now = [before.get(place) for place in places]
    sds = [s.sd_m if s.level_m is not None else None for s in then.stations]
    return TiePrediction(places, now, sds, [s.known for s in then.stations], now[-1], sds[-1])


def _middle(profile: LevelProfile, chainage_m: float) -> float:
    """Middle of the bounds at the last station up to a chainage: a level that contradicts nothing."""
    level = 0.0
    for station in profile.stations:
        if station.chainage_m > chainage_m:
            break
        if station.low_m is not None and station.high_m is not None:
            level = (station.low_m + station.high_m) / 2
    return level


def length_row(profile: LevelProfile, k: int) -> LengthRow:
    """Return one length of the table of falls: that from station ``k`` to the next.

    Returns
    -------
    LengthRow
        As in ``length_table``.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .levels import level_profile
    >>> setup = LevelSetup("trapezoid", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, None)
    >>> profile = level_profile([LevelReading(0.0, 1.0), LevelReading(2.0, 1.0)], [], setup)
    >>> length_row(profile, 0) == length_table(profile)[0]
    True
    """
    here, ahead = profile.stations[k], profile.stations[k + 1]
    value = rise_value(profile.solution, k, k + 1)
    low = None if value.high_m is None else -value.high_m
    high = None if value.low_m is None else -value.low_m
    provenance = "assumed" if profile.solution.walk.assumed[k + 1] else "computed"
    places = (here.chainage_m, ahead.chainage_m)
    rise, sd = value.value_m, value.sd_m
    if rise is None or sd is None:
        return LengthRow(*places, None, None, low, high, None, None, None, None, None, "bounded")
    length = ahead.chainage_m - here.chainage_m
    if length < SAME_PLACE_M:
        return LengthRow(*places, -rise, sd, low, high, None, None, None, None, None, "too_short")
    sine = rise / length
    if not -1 < sine < 1:  # ties that contradict the length
        return LengthRow(*places, -rise, sd, low, high, None, None, None, None, None, "contradicted")
    deg = math.degrees(math.asin(sine))
    gradient = gradient_of(deg)
    direction = "level" if gradient["one_in"] is None else "falling" if rise < 0 else "rising"
    sd_deg = math.degrees(sd / length / math.sqrt(1 - sine * sine))
    return LengthRow(
        *places, -rise, sd, low, high, deg, sd_deg, gradient["pct"], gradient["one_in"], direction, provenance
    )

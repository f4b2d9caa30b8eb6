"""The cable counter with its uncertainty: scale, far-node check, resetting."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from ..numbers.finite import finite
from .counter import MIN_M

FAR_SHARE = 0.005
MIN_FAR_M = 0.3
MIN_SD_M = 1e-6


@dataclass(frozen=True)
class TapeCheck:
    """Counter at the start and the end of a taped length, that length and its sd, all [m]."""

    counter_from_m: float
    counter_to_m: float
    taped_m: float
    sd_m: float


@dataclass(frozen=True)
class CounterScale:
    """True length over counter length and its sd (bare ratios); the check furthest off.

    ``worst`` is the place of that check, ``worst_standardised`` how many of its standard deviations
    it lies off; None for a single check, which nothing checks.
    """

    scale: float
    sd: float
    worst: int | None
    worst_standardised: float | None


@dataclass(frozen=True)
class FarCheck:
    """Chainage of the far node against its true distance [m].

    ``flagged`` if beyond ``allowed_m``; ``factor`` is what would close it, offered and not applied.
    """

    difference_m: float
    difference_pct: float
    allowed_m: float
    flagged: bool
    factor: float


@dataclass(frozen=True)
class CounterSegment:
    """Part of a run between resets: what the counter showed at its start and at its end [m]."""

    counter_from_m: float
    counter_to_m: float


def scale_of_checks(checks: Sequence[TapeCheck]) -> CounterScale:
    """Return the counter scale from one or several tape checks, by weighted least squares.

    Parameters
    ----------
    checks : sequence of TapeCheck, length n >= 1
        Counter readings, taped lengths and their standard deviations [m].

    Raises
    ------
    SurveyError
        ``no_checks``; with the index of a check ``number_not_finite``, ``counter_not_moved``,
        ``length_not_positive``, ``sd_not_positive`` (less than a thousandth of a millimetre).

    References
    ----------
    Straight line through the origin, weighted: any text on least squares.

    Examples
    --------
    >>> found = scale_of_checks([TapeCheck(0.0, 20.0, 20.5, 0.02)])
    >>> found.scale, found.sd
    (1.025, 0.001)
    """
    if not checks:
        raise SurveyError("no_checks", "checks")
    above = below = 0.0
    for index, check in enumerate(checks):
        run, weight = _run_and_weight(check, index)
        above += weight * run * check.taped_m
        below += weight * run * run
    scale, sd = above / below, 1 / math.sqrt(below)
    worst = off = None
    if len(checks) > 1:
        for index, check in enumerate(checks):
            run = check.counter_to_m - check.counter_from_m
            left = check.sd_m * check.sd_m - run * run * sd * sd
            if left > 1e-9 * check.sd_m * check.sd_m:
                size = (check.taped_m - scale * run) / math.sqrt(left)
                if off is None or abs(size) > abs(off) * (1 + 1e-6):
                    worst, off = index, size
    return CounterScale(scale, sd, worst, off)


def check_far_length(chainage_m: float, length_m: float) -> FarCheck:
    """Compare the chainage at the far node with a taped or plan length.

    Parameters
    ----------
    chainage_m : float
        Chainage of the far node [m].
    length_m : float
        Its distance by tape or from the plan [m], along the pipe.

    Returns
    -------
    FarCheck
        Difference (chainage less length) [m] and [% of the length].

    Raises
    ------
    SurveyError
        ``number_not_finite``; ``length_not_positive``; ``counter_not_moved`` if the chainage is less than a
        centimetre.

    References
    ----------
    Within 0.5 % of the true run length or 1 ft, whichever is greater: City of Sunny Isles Beach (Florida),
    Section 02762, 3.2 and 3.5; the foot is taken as 0.3 m.

    Examples
    --------
    >>> check = check_far_length(40.5, 40.0)
    >>> check.difference_m, check.allowed_m, check.flagged
    (0.5, 0.3, True)
    """
    finite(chainage_m, "chainage_m")
    finite(length_m, "length_m")
    if not length_m >= MIN_M:
        raise SurveyError("length_not_positive", "length_m")
    if not chainage_m >= MIN_M:
        raise SurveyError("counter_not_moved", "chainage_m")
    difference = chainage_m - length_m
    allowed = FAR_SHARE * length_m if FAR_SHARE * length_m > MIN_FAR_M else MIN_FAR_M
    flagged = abs(difference) > allowed + 1e-9
    return FarCheck(difference, 100 * difference / length_m, allowed, flagged, length_m / chainage_m)


def segment_starts(segments: Sequence[CounterSegment], start_chainage_m: float, scale: float) -> list[float]:
    """Return the chainage at the start of each part of a run whose counter was reset part-way.

    Parameters
    ----------
    segments : sequence of CounterSegment, length n
        In the order of survey [m].
    start_chainage_m : float
        Chainage where the first begins [m].

    Returns
    -------
    list of float, length n
        Chainages [m]: add (counter - ``counter_from_m``) times scale to place a reading.

    Raises
    ------
    SurveyError
        ``number_not_finite`` with the index of the segment; ``scale_not_positive``.

    Notes
    -----
    A crawler that was driven back before the reset makes a part of negative length; the next one
    then starts where the crawler stood.

    References
    ----------
    Setting the counter to the distance already recorded: City of Sunny Isles Beach (Florida), Section
    02762, 3.2. Here it may be set to anything.

    Examples
    --------
    >>> segment_starts([CounterSegment(0.0, 12.5), CounterSegment(0.0, 8.0)], 0.0, 1.0)
    [0.0, 12.5]
    """
    finite(start_chainage_m, "start_chainage_m")
    finite(scale, "scale")
    if not scale > 0:
        raise SurveyError("scale_not_positive", "scale")
    starts, here = [], start_chainage_m
    for index, segment in enumerate(segments):
        finite(segment.counter_from_m, "segments", index)
        finite(segment.counter_to_m, "segments", index)
        starts.append(here)
        here += (segment.counter_to_m - segment.counter_from_m) * scale
    return starts


def _run_and_weight(check: TapeCheck, index: int) -> tuple[float, float]:
    for value in (check.counter_from_m, check.counter_to_m, check.taped_m, check.sd_m):
        finite(value, "checks", index)
    run = check.counter_to_m - check.counter_from_m
    if not run >= MIN_M:
        raise SurveyError("counter_not_moved", "checks", index)
    if not check.taped_m > 0:
        raise SurveyError("length_not_positive", "checks", index)
    if not check.sd_m >= MIN_SD_M:
        raise SurveyError("sd_not_positive", "checks", index)
    return run, 1 / (check.sd_m * check.sd_m)

"""What a level taken at the far end would settle, from a profile that is there already."""

import math
from typing import TypedDict

from ..numbers.finite import spread
from .levels import LevelProfile

MIN_SD_M = 1e-5  # no level is known better than a hundredth of a millimetre


class TieBenefit(TypedDict):
    """Standard deviation of the far level without a tie there and with one [m]."""

    now_sd_m: float | None
    sd_m: float
    both_ends: bool


def what_a_far_tie_settles(profile: LevelProfile, sd_m: float) -> TieBenefit:
    """Return the spread of the last station without and with a level tie there.

    With ties elsewhere the same as ``what_would_a_tie_settle`` gives for its last station, without solving
    anything again. Without any tie one level settles nothing about the fall: then a level at each end is
    meant, and the spreads are those of the fall from the start.

    Parameters
    ----------
    sd_m : float
        Standard deviation of the level to be taken [m].

    Returns
    -------
    dict
        ``now_sd_m`` [m], None where the level is only bounded; ``sd_m`` [m] with the tie; ``both_ends``.

    References
    ----------
    Two independent measures of one level, weighted by their variances: any text on adjustment.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .levels import level_profile
    >>> setup = LevelSetup("trapezoid", 0.0, 5.0, 0.03, 0.0, 0.0, 0.0, 0.0, 10.0, None)
    >>> profile = level_profile([LevelReading(0.0, 1.0), LevelReading(2.0, 1.0)], [], setup)
    >>> found = what_a_far_tie_settles(profile, 0.04)
    >>> round(found["now_sd_m"], 4), round(found["sd_m"], 4)
    (0.03, 0.024)
    """
    own = max(spread(sd_m, "sd_m"), MIN_SD_M)
    last = profile.stations[-1]
    both = not profile.ties and profile.solution.setup.start_level_m is None
    if both:
        own *= math.sqrt(2)
    if last.level_m is None or last.sd_m is None:
        return {"now_sd_m": None, "sd_m": own, "both_ends": both}
    after = last.sd_m * own / math.sqrt(last.sd_m * last.sd_m + own * own)
    return {"now_sd_m": last.sd_m, "sd_m": after, "both_ends": both}

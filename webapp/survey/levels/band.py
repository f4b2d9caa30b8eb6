"""The band that holds a level 95 times in 100."""

from .levels import LevelStation

SIGMAS_95, SIGMAS_BOUND = 1.96, 3.0


def band_95(station: LevelStation) -> tuple[float, float] | None:
    """Return the lowest and highest level that a station may have.

    Parameters
    ----------
    station : LevelStation
        One station of ``level_profile``.

    Returns
    -------
    tuple of float or None
        Level less and plus 1.96 standard deviations [m]; of a level that is only bounded, the bounds
        widened by three of theirs, because a bound must not be false. None where there is no bound on one
        side.

    References
    ----------
    Two-sided 95 % of the normal distribution, any statistics text.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .levels import level_profile
    >>> setup = LevelSetup("trapezoid", 0.0, 5.0, 0.01, 0.1, 0.0, 0.0, 0.0, 10.0, None)
    >>> start = level_profile([LevelReading(0.0, 1.0), LevelReading(2.0, 1.0)], [], setup).stations[0]
    >>> [round(level, 4) for level in band_95(start)]
    [4.9804, 5.0196]
    """
    if station.low_m is None or station.high_m is None:
        return None
    sigmas = SIGMAS_BOUND if station.level_m is None else SIGMAS_95
    return (
        station.low_m - sigmas * (station.low_sd_m or 0.0),
        station.high_m + sigmas * (station.high_sd_m or 0.0),
    )

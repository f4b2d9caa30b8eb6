"""The band that holds a level 95 times in 100."""

from .levels import LevelStation

SIGMAS_95 = 1.96


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
        widened by theirs. None where there is no bound on one side.

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
    return (
        station.low_m - SIGMAS_95 * (station.low_sd_m or 0.0),
        station.high_m + SIGMAS_95 * (station.high_sd_m or 0.0),
    )

"""Levels at any place of a run, between the stations."""

from bisect import bisect_left

from ..numbers.finite import finite
from .input import SAME_PLACE_M
from .levels import LevelProfile, LevelStation
from .walk import LevelGap


def level_at(profile: LevelProfile, chainage_m: float) -> LevelStation | None:
    """Return the level at a place, straight between the stations on either side.

    Parameters
    ----------
    chainage_m : float
        Where [m].

    Returns
    -------
    LevelStation or None
        A station [m] made for this place; None before the first station and beyond the last. Between
        stations the greater of the two standard deviations stands.

    References
    ----------
    Straight between stations, and the wider spread: our own rule.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .levels import level_profile
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> profile = level_profile([LevelReading(0.0, -1.0)], [], setup)
    >>> round(level_at(profile, 4.5).level_m, 4), level_at(profile, 9.5)
    (4.9215, None)
    """
    place = finite(chainage_m, "chainage_m")
    stations = profile.stations
    k = bisect_left(stations, place - SAME_PLACE_M, key=lambda station: station.chainage_m)
    while k < len(stations):
        here = stations[k]
        if abs(here.chainage_m - place) <= SAME_PLACE_M:
            return here
        if here.chainage_m > place:
            return _between(profile, k, place) if k else None
        k += 1  # rounding may put one before the place
    return None


def _between(profile: LevelProfile, k: int, place: float) -> LevelStation:
    before, here = profile.stations[k - 1], profile.stations[k]
    share = (place - before.chainage_m) / (here.chainage_m - before.chainage_m)
    level = _share(before.level_m, here.level_m, share)
    low, high = _share(before.low_m, here.low_m, share), _share(before.high_m, here.high_m, share)
    walk = profile.solution.walk
    if walk.gaps_done[k] > walk.gaps_done[k - 1]:
        gap = walk.gaps[walk.gaps_done[k - 1]]
        if gap.own_m < gap.length_m:  # the steep piece may lie before this place or behind it
            level, low, high = None, *_within(gap, (before, here), place)
    provenance = "bounded" if level is None else "assumed" if here.known == "assumed" else "computed"
    return LevelStation(
        place,
        level,
        _greater(before.sd_m, here.sd_m),
        low,
        high,
        _greater(before.low_sd_m, here.low_sd_m),
        _greater(before.high_sd_m, here.high_sd_m),
        provenance,
        before.prior_level_m + share * (here.prior_level_m - before.prior_level_m),
        before.prior_sd_m if before.prior_sd_m > here.prior_sd_m else here.prior_sd_m,
    )


def _within(
    gap: LevelGap, ends: tuple[LevelStation, LevelStation], place: float
) -> tuple[float | None, float | None]:
    """Bounds within an unknown rise: from either end no steeper than upright and no flatter than the rest."""
    before, here = ends
    done, left = place - before.chainage_m, here.chainage_m - place
    least, most = (gap.flat, 1.0) if gap.way > 0 else (-1.0, -gap.flat)
    lows = [(before.low_m, least * done), (here.low_m, -most * left)]
    highs = [(before.high_m, most * done), (here.high_m, -least * left)]
    return (
        max((level + change for level, change in lows if level is not None), default=None),
        min((level + change for level, change in highs if level is not None), default=None),
    )


def _share(one: float | None, other: float | None, share: float) -> float | None:
    return None if one is None or other is None else one + share * (other - one)


def _greater(one: float | None, other: float | None) -> float | None:
    if one is None or other is None:
        return None
    return one if one > other else other

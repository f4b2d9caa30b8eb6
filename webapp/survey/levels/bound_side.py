"""Which of two bounds of a level says something: the other one is a vertical pipe."""

from collections.abc import Sequence

from .levels import LevelProfile


def level_senses(profile: LevelProfile) -> list[str]:
    """Return for each station how its bounds are to be said.

    Returns
    -------
    list of str
        One per station: empty where there is a level; ``at_least`` or ``at_most`` where every unknown rise
        on the way from the known level turns the same way, so that the bound on the other side is a
        vertical pipe; ``between`` where they turn both ways or known levels lie on both sides;
        ``unknown`` without any bound.

    References
    ----------
    Decision D5.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .levels import level_profile
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> level_senses(level_profile([LevelReading(0.0, None, 1)], [], setup))
    ['', 'at_least']
    """
    solution = profile.solution
    tied = list(solution.stations)
    floating = solution.setup.start_level_m is None and len(tied) > 0
    if not floating:
        tied = [0, *tied]
    return [_sense(profile, k, tied) for k in range(len(profile.stations))]


def _sense(profile: LevelProfile, k: int, tied: Sequence[int]) -> str:
    station = profile.stations[k]
    if station.level_m is not None:
        return ""
    if station.low_m is None or station.high_m is None:
        return (
            "at_least"
            if station.low_m is not None
            else "at_most"
            if station.high_m is not None
            else "unknown"
        )
    before = [t for t in tied if t <= k]
    after = [t for t in tied if t > k]
    if before and after:
        return "between"
    ways = _ways(profile, before[-1], k, 1) if before else _ways(profile, k, after[0], -1)
    if ways == [1]:
        return "at_least"
    return "at_most" if ways == [-1] else "between"


def _ways(profile: LevelProfile, left: int, right: int, sign: int) -> list[int]:
    """Ways in which the unsettled rises between two stations move the level at the open end."""
    walk = profile.solution.walk
    end = walk.gaps_done[right] + len(walk.gap_parts[right])
    found: list[int] = []
    for u in range(walk.gaps_done[left], end):
        if profile.gaps[u].status == "solved":
            continue
        gap = walk.gaps[u]
        way = sign * gap.way
        if way not in found:
            found.append(way)
    return found

"""The gradients that the levels show within a length, reach by reach, and what in it falls the wrong way."""

from collections.abc import Sequence
from typing import TypedDict

from .levels import LevelProfile
from .values import rise_value

SIGMAS_95 = 1.96
REACH_M = 10.0  # shorter, and the spread of single readings hides the fall
MIN_BACKFALL_M = 0.005


class Backfall(TypedDict):
    """Where the invert rises with the flow, and by how much [m]."""

    from_m: float
    to_m: float
    rise_m: float
    sd_m: float


class Reaches(TypedDict):
    """The flattest reach of a length: its gradient [m/m] with its band, and the greatest backfall."""

    gradient_low: float | None
    gradient: float | None
    gradient_high: float | None
    known: str
    backfall: Backfall | None


def reaches(profile: LevelProfile | None, from_m: float, to_m: float, flow: str) -> Reaches:
    """Return the gradients of a length by reach, the flattest of them, and a backfall that is sure.

    Parameters
    ----------
    from_m, to_m : float
        Chainages [m].
    flow : str
        ``with_flow`` or ``against_flow``.

    Returns
    -------
    dict
        ``gradient_low``, ``gradient``, ``gradient_high`` [m/m along the pipe, positive with the flow]: the
        least of the reaches, each by itself, None where open; ``known``: ``computed``, ``bounded`` where any
        reach is, ``unknown``; ``backfall``: None, or ``from_m``, ``to_m``, ``rise_m``, ``sd_m`` [m] of the
        greatest rise in the direction of the flow that is sure.

    References
    ----------
    The band of a reach is 1.96 standard deviations. A run carries no more than its flattest reach without
    standing above its crown somewhere: own rule.

    Examples
    --------
    >>> reaches(None, 0.0, 9.0, "with_flow")["known"]
    'unknown'
    """
    found: Reaches = {
        "gradient_low": None, "gradient": None, "gradient_high": None, "known": "unknown", "backfall": None,
    }  # fmt: skip
    if profile is None or len(profile.stations) < 2:
        return found
    places = [one.chainage_m for one in profile.stations]
    left, right = nearest(places, from_m), nearest(places, to_m)
    if right <= left:
        return found
    sign = -1.0 if flow == "with_flow" else 1.0
    bands = [_band(profile, i, j, places, sign) for i, j in _windows(places, left, right)]
    low, middle, high = (_known([band[k] for band in bands]) for k in range(3))
    found["gradient_low"], found["gradient"] = _flattest(low, bands), _flattest(middle, bands)
    found["gradient_high"] = min(high, default=None)
    found["known"] = "computed" if found["gradient"] is not None else "bounded"
    found["backfall"] = _backfall(profile, left, right, places, sign)
    return found


def nearest(places: Sequence[float], wanted: float) -> int:
    """Return the index of the place nearest to a wanted one, the first of two as near.

    Parameters
    ----------
    places : sequence of float
        Ascending [m].
    wanted : float
        Place [m].

    Examples
    --------
    >>> nearest([0.0, 2.0, 4.0], 3.0)
    1
    """
    best = 0
    for k, place in enumerate(places):
        if abs(place - wanted) < abs(places[best] - wanted):
            best = k
    return best


def _windows(places: Sequence[float], left: int, right: int) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    start = left
    while start < right:
        end = start + 1
        while end < right and places[end] - places[start] < REACH_M:
            end += 1
        if places[right] - places[end] < REACH_M / 2:
            end = right
        if places[end] > places[start]:
            found.append((start, end))
        start = end
    return found


def _band(
    profile: LevelProfile, i: int, j: int, places: Sequence[float], sign: float
) -> tuple[float | None, float | None, float | None]:
    rise = rise_value(profile.solution, i, j)
    ends = [rise.low_m, rise.value_m, rise.high_m]
    if rise.settled and rise.value_m is not None:
        spread = SIGMAS_95 * (rise.sd_m or 0.0)
        ends = [rise.value_m - spread, rise.value_m, rise.value_m + spread]
    if sign < 0:
        ends = [None if m is None else -m for m in reversed(ends)]
    length = places[j] - places[i]
    low, mean, high = (None if m is None else max(-1.0, min(1.0, m / length)) for m in ends)
    return low, mean, high


def _known(values: Sequence[float | None]) -> list[float]:
    return [value for value in values if value is not None]


def _flattest(known: Sequence[float], bands: Sequence[object]) -> float | None:
    """The least of them, where every reach has one."""
    return min(known) if len(known) == len(bands) else None


def _backfall(
    profile: LevelProfile, left: int, right: int, places: Sequence[float], sign: float
) -> Backfall | None:
    levels = [one.level_m for one in profile.stations]
    best: Backfall | None = None
    start = left
    for k in range(left, right + 1):
        here, beyond = levels[k], levels[k + 1] if k < right else None
        if here is not None and beyond is not None and sign * (beyond - here) < 0:
            continue
        if k > start:
            rise = rise_value(profile.solution, start, k)
            if rise.settled and rise.value_m is not None:
                up, sd_m = -sign * rise.value_m, rise.sd_m or 0.0
                if up - SIGMAS_95 * sd_m > MIN_BACKFALL_M and (best is None or up > best["rise_m"]):
                    best = {"from_m": places[start], "to_m": places[k], "rise_m": up, "sd_m": sd_m}
        start = k + 1
    return best

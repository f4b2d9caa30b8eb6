"""The invert along a length in the direction of the flow, with how unsure its fall and its bow are."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from ..levels.levels import LevelProfile
from ..levels.reaches import nearest
from ..levels.values import rise_value
from .grade_line import Piece
from .waterway import Waterway

MAX_PLACES = 120  # more stations are thinned: in each part the highest and the lowest stay
SAME_M = 1e-6
SURE = 3.0  # standard deviations: the greatest of many places is further off by chance than one is
MIN_M = 0.001


@dataclass(frozen=True)
class InvertLine:
    """Inverts from upstream to downstream: ``places_m`` along the flow, ``levels_m`` above any datum [m].

    ``chainages_m`` of the same places. ``fall_sd_m``: of the fall from end to end; ``bow_sd_m``: of the
    middle against the straight line between the ends [m].
    """

    places_m: list[float]
    levels_m: list[float]
    chainages_m: list[float]
    fall_sd_m: float
    bow_sd_m: float


def invert_line(profile: LevelProfile | None, from_m: float, to_m: float, flow: str) -> InvertLine | None:
    """Return the invert between the stations nearest to two places, upstream first.

    Parameters
    ----------
    from_m, to_m : float
        Chainages [m].
    flow : str
        ``with_flow`` or ``against_flow``.

    Returns
    -------
    InvertLine or None
        None without two stations, or where a rise between two of them is not settled [m].

    References
    ----------
    As ``rise_value``. A crest or a hollow stays where it stands off the straight line between its
    neighbours by more than 3 standard deviations: of what is only the spread of single readings the lowest
    and the highest would make every pipe flatter than it is. Own rule.

    Examples
    --------
    >>> invert_line(None, 0.0, 9.0, "with_flow") is None
    True
    """
    if profile is None or len(profile.stations) < 2:
        return None
    places = [one.chainage_m for one in profile.stations]
    left, right = nearest(places, from_m), nearest(places, to_m)
    levels = _levels(profile, left, right) if right > left else None
    if levels is None:
        return None
    kept = _sure(profile, left, levels, _thinned(levels))
    chainages = [places[left + k] for k in kept]
    inverts = [levels[k] for k in kept]
    if flow != "with_flow":
        chainages.reverse()
        inverts.reverse()
    return InvertLine(
        [abs(one - chainages[0]) for one in chainages], inverts, chainages, *_spreads(profile, left, right)
    )


def line_pieces(
    line: InvertLine, way: Waterway, fall_by_m: float = 0.0, bow_by_m: float = 0.0
) -> list[Piece]:
    """Return the pieces of an invert, its fall and its middle moved by so much.

    Parameters
    ----------
    fall_by_m, bow_by_m : float, optional
        Added to the fall from end to end, and to the middle [m].

    Returns
    -------
    list of Piece
        From upstream to downstream [m].

    Raises
    ------
    SurveyError
        ``chainage_not_ascending`` where no length is left.

    References
    ----------
    Own rule: a tilt and a bow stand for the errors of the levels.

    Examples
    --------
    >>> from ..section.bore import Bore
    >>> from .waterway import waterway
    >>> from .resistance import Resistance
    >>> way = waterway(Bore("circular", 0.3), Resistance("manning", manning_n=0.013))
    >>> line = InvertLine([0.0, 10.0], [0.1, 0.0], [0.0, 10.0], 0.0, 0.0)
    >>> round(line_pieces(line, way, 0.05)[0].fall_m, 6)
    0.15
    """
    length = line.places_m[-1]
    levels = []
    for place, level in zip(line.places_m, line.levels_m, strict=True):
        share = place / length
        levels.append(level + fall_by_m * (1 - share) + bow_by_m * 4 * share * (1 - share))
    places = line.places_m
    found = [Piece(places[k + 1] - places[k], levels[k] - levels[k + 1], way) for k in _apart(line)]
    if not found:
        raise SurveyError("chainage_not_ascending", "line")
    return found


def upper_ends_m(line: InvertLine) -> list[float]:
    """Return the chainages of the upper ends of the pieces of an invert.

    Returns
    -------
    list of float
        One for each piece of ``line_pieces`` [m].

    Examples
    --------
    >>> upper_ends_m(InvertLine([0.0, 10.0], [0.1, 0.0], [30.0, 20.0], 0.0, 0.0))
    [30.0]
    """
    return [line.chainages_m[k] for k in _apart(line)]


def _apart(line: InvertLine) -> list[int]:
    """Places beyond which the next one lies."""
    places = line.places_m
    return [k for k in range(len(places) - 1) if places[k + 1] - places[k] > SAME_M]


def _levels(profile: LevelProfile, left: int, right: int) -> list[float] | None:
    """Levels above the first station; None where a rise is not settled."""
    known = [one.level_m for one in profile.stations[left : right + 1]]
    if None not in known:
        return [float(one or 0.0) - float(known[0] or 0.0) for one in known]
    levels = [0.0]
    for k in range(left, right):
        rise = rise_value(profile.solution, k, k + 1)
        if not rise.settled or rise.value_m is None:
            return None
        levels.append(levels[-1] + rise.value_m)
    return levels


def _thinned(levels: Sequence[float]) -> list[int]:
    """Which stations stay: all, or of each part the highest and the lowest, and the ends."""
    count = len(levels)
    if count <= MAX_PLACES:
        return list(range(count))
    parts = MAX_PLACES // 2 - 1
    kept = {0, count - 1}
    for part in range(parts):
        first, beyond = part * count // parts, (part + 1) * count // parts
        low = high = first
        for k in range(first, beyond):
            low = k if levels[k] < levels[low] else low
            high = k if levels[k] > levels[high] else high
        kept |= {low, high}
    return sorted(kept)


def _sure(profile: LevelProfile, left: int, levels: Sequence[float], kept: Sequence[int]) -> list[int]:
    """Of the stations kept, those that surely stand off the straight line between their neighbours."""
    places = [profile.stations[left + k].chainage_m for k in kept]
    stay = {0, len(kept) - 1}
    ahead = [(0, len(kept) - 1)]
    while ahead:
        i, j = ahead.pop()
        whole = _variance(profile, left + kept[i], left + kept[j]) if j - i > 1 else 0.0
        best, most = -1, SURE
        for k in range(i + 1, j):
            share = (places[k] - places[i]) / (places[j] - places[i])
            off = abs(levels[kept[k]] - levels[kept[i]] - share * (levels[kept[j]] - levels[kept[i]]))
            if off <= MIN_M:
                continue
            first = _variance(profile, left + kept[i], left + kept[k])
            second = _variance(profile, left + kept[k], left + kept[j])
            both = (whole - first - second) * share * (1 - share)
            spread = (1 - share) * (1 - share) * first + share * share * second - both
            score = off / math.sqrt(spread) if spread > SAME_M * SAME_M else off / SAME_M
            if score > most:
                best, most = k, score
        if best >= 0:
            stay.add(best)
            ahead += [(i, best), (best, j)]
    return [kept[k] for k in sorted(stay)]


def _variance(profile: LevelProfile, left: int, right: int) -> float:
    sd_m = rise_value(profile.solution, left, right).sd_m or 0.0
    return sd_m * sd_m


def _spreads(profile: LevelProfile, left: int, right: int) -> tuple[float, float]:
    """Standard deviations of the fall, and of the middle against the straight line between the ends."""
    whole = rise_value(profile.solution, left, right).sd_m or 0.0
    places = [one.chainage_m for one in profile.stations]
    middle = nearest(places, (places[left] + places[right]) / 2)
    if middle in (left, right):
        return whole, 0.0
    first = rise_value(profile.solution, left, middle).sd_m or 0.0
    second = rise_value(profile.solution, middle, right).sd_m or 0.0
    twice = 2 * (first * first + second * second) - whole * whole  # variance of one rise less the other
    return whole, math.sqrt(twice) / 2 if twice > SAME_M * SAME_M else 0.0

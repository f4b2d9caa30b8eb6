"""Unknown rises: which sums of them the ties settle, and between what bounds the rest lie.

Between two neighbouring ties (the start counts as one) only one sum of the unknown rises is seen:
each counts with the share of its length that lies between the two. Beyond the last tie none is seen.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ..numbers.bounded_sums import Least, least_in_box
from ..numbers.linear_algebra import dot, express
from .walk import LevelWalk

SLACK_M = 1e-9


@dataclass(frozen=True)
class GapSum:
    """A sum of unknown rises: ``parts`` (gap, share) and, counted whole, those from first to last - 1."""

    parts: list[tuple[int, float]]
    first: int
    last: int


@dataclass(frozen=True)
class GapSystem:
    """``rows``: the sum seen between tie and tie; ``basis``: the rows that do not follow from others.

    ``factors``: each row from the basis; ``reach``: the sum from the start to each tie from the basis;
    ``linked``: for each group the first and last group that share an unknown rise with it.
    ``low_m``, ``high_m``, ``length_m``: limits and lengths of the gaps, added up.
    """

    stations: list[int]
    rows: list[GapSum]
    basis: list[int]
    factors: list[list[float]]
    reach: list[list[float]]
    linked: list[list[int]]
    low_m: list[float]
    high_m: list[float]
    length_m: list[float]


@dataclass(frozen=True)
class GapExtent:
    """Bounds of a sum of unknown rises [m] and how they change with the sums of the basis.

    ``settled``: one value, not two. ``within``: the limits of the instrument can be kept; if not, any
    inclination is allowed; None for the bounds where even that does not meet the ties.
    """

    settled: bool
    within: bool
    low_m: float | None
    high_m: float | None
    low_slopes: list[float]
    high_slopes: list[float]


def gap_sum(walk: LevelWalk, left: int, right: int) -> GapSum:
    """Return which unknown rises lie between two stations, and with what share.

    Parameters
    ----------
    left, right : int
        Stations, ``left`` not beyond ``right``.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .model import walk_levels
    >>> setup = LevelSetup("trapezoid", 0.0, 0.0, 0.0, 0.1, 0.0, 0.0)
    >>> readings = [LevelReading(0.0, 1.0), LevelReading(4.0, None, 1), LevelReading(10.0, 1.0)]
    >>> gap_sum(walk_levels(readings, [], setup), 0, 1)
    GapSum(parts=[(0, 0.4)], first=0, last=0)
    """
    parts = []
    for gap, share in walk.gap_parts[left]:
        further = 1.0
        for other, so_far in walk.gap_parts[right]:
            if other == gap:
                further = so_far
        if further - share != 0:
            parts.append((gap, further - share))
    first = walk.gaps_done[left] + len(walk.gap_parts[left])
    for gap, share in walk.gap_parts[right]:
        if gap >= first:
            parts.append((gap, share))
    last = walk.gaps_done[right]
    return GapSum(parts, first, last) if last > first else GapSum(parts, 0, 0)


def gap_system(walk: LevelWalk, stations: Sequence[int], anchored: bool) -> GapSystem:
    """Return the sums of unknown rises that ties at some stations see.

    Parameters
    ----------
    stations : sequence of int, length m
        Stations of the ties in ascending order.

    References
    ----------
    Row space of the shares of the unknown rises in the tied levels; any text on linear algebra.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .model import walk_levels
    >>> setup = LevelSetup("span", 0.0, 0.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> readings = [LevelReading(0.0, 1.0), LevelReading(4.0, None, 1)]
    >>> gap_system(walk_levels(readings, [], setup), [1, 2], True).basis
    [1]
    """
    places = [0, *stations]
    rows = [gap_sum(walk, places[i], places[i + 1]) for i in range(len(stations))]
    linked = _linked(walk, stations)
    basis: list[int] = []
    combined: list[list[float]] = []
    for g, row in enumerate(rows):
        if g == 0 and not anchored:
            combined.append([])
            continue
        near = [b for b in basis if b >= linked[g][0]]
        found = _express(row, [rows[b] for b in near])
        if found is None:
            basis.append(g)
            combined.append([1.0 if b == g else 0.0 for b in basis])
        else:
            combined.append([found[near.index(b)] if b in near else 0.0 for b in basis])
    factors = [row + [0.0] * (len(basis) - len(row)) for row in combined]
    reach, total = [], [0.0] * len(basis)
    for factor in factors:
        total = [a + b for a, b in zip(total, factor, strict=True)]
        reach.append(total)
    low, high, length = [0.0], [0.0], [0.0]
    for gap in walk.gaps:
        low.append(low[-1] + gap.low_m)
        high.append(high[-1] + gap.high_m)
        length.append(length[-1] + gap.length_m)
    return GapSystem(list(stations), rows, basis, factors, reach, linked, low, high, length)


def gap_extent(
    system: GapSystem, settled: Sequence[float], wanted: GapSum, first_group: int, last_group: int
) -> GapExtent:
    """Return the bounds of a sum of unknown rises, one value where the ties settle it.

    Parameters
    ----------
    settled : sequence of float, length r
        The sums of the basis [m], as solved.

    Returns
    -------
    GapExtent
        Bounds [m].

    Raises
    ------
    SurveyError
        ``bounds_not_found``, see ``least_in_box``.

    References
    ----------
    Linear programming over the limits of the single rises: V. Chvatal, Linear Programming, 1983.

    Examples
    --------
    >>> system = GapSystem([1], [GapSum([], 0, 2)], [0], [[1.0]], [[1.0]], [[0, 0], [1, 1]],
    ...                    [0.0, 3.0, 6.0], [0.0, 6.0, 12.0], [0.0, 6.0, 12.0])
    >>> extent = gap_extent(system, [8.5], GapSum([(0, 1.0)], 0, 0), 0, 0)
    >>> extent.low_m, extent.high_m
    (3.0, 5.5)
    """
    none = [0.0] * len(system.basis)
    if not wanted.parts and wanted.last <= wanted.first:
        return GapExtent(True, True, 0.0, 0.0, none, none)
    first, last = system.linked[first_group][0], system.linked[last_group][1]
    near = [i for i, g in enumerate(system.basis) if first <= g <= last]
    rows = [system.rows[system.basis[i]] for i in near]
    found = _express(wanted, rows)
    if found is not None:
        slopes = list(none)
        for i, factor in zip(near, found, strict=True):
            slopes[i] = factor
        value = dot(slopes, settled)
        return GapExtent(True, True, value, value, slopes, slopes)
    return _bounded(system, settled, wanted, near)


def gap_alone(system: GapSystem, gap: int) -> tuple[GapSum, int, bool]:
    """Return one unknown rise as a sum, its group, and whether any tie sees it.

    Returns
    -------
    tuple of GapSum, int, bool
        For ``gap_extent``.

    Examples
    --------
    >>> system = GapSystem([1], [GapSum([], 0, 2)], [0], [[1.0]], [[1.0]], [[0, 0], [1, 1]],
    ...                    [0.0, 3.0, 6.0], [0.0, 6.0, 12.0], [0.0, 6.0, 12.0])
    >>> gap_alone(system, 1)
    (GapSum(parts=[(1, 1.0)], first=0, last=0), 0, True)
    """
    for group, row in enumerate(system.rows):
        if _share(row, gap) != 0:
            return GapSum([(gap, 1.0)], 0, 0), group, any(factor != 0 for factor in system.factors[group])
    return GapSum([(gap, 1.0)], 0, 0), len(system.rows), False


def _linked(walk: LevelWalk, stations: Sequence[int]) -> list[list[int]]:
    """Groups that an unknown rise ties together because a tie lies within its length."""
    linked = [[g, g] for g in range(len(stations) + 1)]
    for g, station in enumerate(stations):
        if walk.gap_parts[station]:
            linked[g + 1][0] = linked[g][0]
    for g in range(len(stations) - 1, -1, -1):
        if linked[g + 1][0] == linked[g][0]:
            linked[g][1] = linked[g + 1][1]
    return linked


def _share(row: GapSum, gap: int) -> float:
    for other, share in row.parts:
        if other == gap:
            return share
    return 1.0 if row.first <= gap < row.last else 0.0


def _pieces(sums: Sequence[GapSum]) -> list[tuple[int, int]]:
    """Cut the gaps where any of the sums changes its share: (first, last + 1) of each piece."""
    cuts: set[int] = set()
    for row in sums:
        if row.last > row.first:
            cuts.update((row.first, row.last))
        for gap, _ in row.parts:
            cuts.update((gap, gap + 1))
    edges = sorted(cuts)
    pieces = [(edges[i], edges[i + 1]) for i in range(len(edges) - 1)]
    return [piece for piece in pieces if any(_share(row, piece[0]) != 0 for row in sums)]


def _express(wanted: GapSum, rows: Sequence[GapSum]) -> list[float] | None:
    pieces = _pieces([wanted, *rows])
    table = [[_share(row, start) for start, _ in pieces] for row in rows]
    return express([_share(wanted, start) for start, _ in pieces], table)


def _bounded(system: GapSystem, settled: Sequence[float], wanted: GapSum, near: Sequence[int]) -> GapExtent:
    rows = [system.rows[system.basis[i]] for i in near]
    pieces = _pieces([wanted, *rows])
    table = [[_share(row, start) for start, _ in pieces] for row in rows]
    sums = [settled[i] for i in near]
    weights = [_share(wanted, start) for start, _ in pieces]
    length = [system.length_m[b] - system.length_m[a] for a, b in pieces]
    limits = (
        [system.low_m[b] - system.low_m[a] for a, b in pieces],
        [system.high_m[b] - system.high_m[a] for a, b in pieces],
    )
    none = [0.0] * len(system.basis)
    for low, high in (limits, ([-x for x in length], length)):
        least = least_in_box(weights, table, sums, low, high, SLACK_M)
        most = least_in_box([-w for w in weights], table, sums, low, high, SLACK_M)
        if least is not None and most is not None:
            return GapExtent(
                False, low is limits[0], least.value, -most.value,
                _spread(least, near, none, 1.0), _spread(most, near, none, -1.0),
            )  # fmt: skip
    return GapExtent(False, False, None, None, none, none)


def _spread(found: Least, near: Sequence[int], none: Sequence[float], sign: float) -> list[float]:
    slopes = list(none)
    for i, slope in zip(near, found.slopes, strict=True):
        slopes[i] = sign * slope
    return slopes

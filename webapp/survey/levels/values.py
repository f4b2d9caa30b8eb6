"""Levels and rises of a solved profile, each with its standard deviation or its bounds."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ..numbers.linear_algebra import dot, solve_lower
from .gaps import GapExtent, gap_extent, gap_sum
from .solution import LevelSolution, prior_covariance, settled_sums, tie_row


@dataclass(frozen=True)
class LevelValue:
    """A level or a rise: ``settled`` with value and sd [m], or two bounds with an sd each [m].

    The slopes: how the bounds change with the sums that the ties settle.
    """

    settled: bool
    within: bool
    value_m: float | None
    sd_m: float | None
    low_m: float | None
    high_m: float | None
    low_sd_m: float | None
    high_sd_m: float | None
    low_slopes: list[float]
    high_slopes: list[float]


def level_value(solution: LevelSolution, station: int) -> LevelValue:
    """Return the level of a station with its standard deviation, or its bounds.

    Returns
    -------
    LevelValue
        Levels [m above datum]. O(m2).

    Raises
    ------
    SurveyError
        ``bounds_not_found``, see ``least_in_box``.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .model import walk_levels
    >>> from .solution import solve_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> solution = solve_levels(walk_levels([LevelReading(0.0, 0.0)], [], setup), [], setup)
    >>> round(level_value(solution, 1).sd_m, 6)
    0.015708
    """
    walk, system = solution.walk, solution.system
    group = 0
    while group < len(system.stations) and system.stations[group] <= station:
        group += 1
    base = system.stations[group - 1] if group else 0
    reach = system.reach[group - 1] if group else [0.0] * len(system.basis)
    free = solution.setup.start_level_m is None and bool(system.stations)
    if group == 0 and free:  # carried back from the first tie
        extent = _turned(
            gap_extent(system, settled_sums(solution), gap_sum(walk, station, system.stations[0]), 0, 0)
        )
    else:
        extent = gap_extent(system, settled_sums(solution), gap_sum(walk, base, station), group, group)
    constant = solution.start_m + walk.rise_m[station]
    row = tie_row(solution, station)
    variance = prior_covariance(walk, solution.setup, station, station)
    return _value(solution, _Sum(constant, row, variance), [1.0] * solution.shifts, reach, extent)


def settled_levels(solution: LevelSolution) -> tuple[list[float], list[float]] | None:
    """Return the levels of all stations with their spreads, where no reading is beyond the range.

    Returns
    -------
    tuple of two lists, or None
        Levels [m above datum] and standard deviations [m], one a station: what ``level_value`` gives
        station by station, in a fraction of the time. None where a reading is beyond the range.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .model import walk_levels
    >>> from .solution import solve_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> walk = walk_levels([LevelReading(0.0, 0.0)], [], setup)
    >>> levels, spreads = settled_levels(solve_levels(walk, [], setup))
    >>> levels, round(spreads[1], 6)
    ([5.0, 5.0], 0.015708)
    """
    walk, setup = solution.walk, solution.setup
    if walk.gaps or solution.system.basis:
        return None
    levels, spreads = [], []
    for k in range(len(walk.chainage_m)):
        white = solve_lower(solution.lower, tie_row(solution, k)) if solution.stations else []
        level = solution.start_m + walk.rise_m[k] + dot(white, solution.rest)
        left = prior_covariance(walk, setup, k, k) - dot(white, white)
        if solution.shifts:
            level += solution.unknown[0]
            factor = 1.0 - dot(solution.white[0], white)
            left += factor * (solution.spread[0][0] * factor)
        levels.append(level)
        spreads.append(math.sqrt(left) if left > 0 else 0.0)
    return levels, spreads


def rise_value(solution: LevelSolution, left: int, right: int) -> LevelValue:
    """Return the rise from one station to another, which may be known where the levels are not.

    Parameters
    ----------
    left, right : int
        Stations, ``left`` not beyond ``right``.

    Returns
    -------
    LevelValue
        Rise [m], positive where the later station is higher. O(m2).

    Raises
    ------
    SurveyError
        ``bounds_not_found``, see ``least_in_box``.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .model import walk_levels
    >>> from .solution import solve_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 9.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> solution = solve_levels(walk_levels([LevelReading(0.0, 0.0)], [], setup), [], setup)
    >>> round(rise_value(solution, 0, 1).sd_m, 6)
    0.015708
    """
    walk, system, setup = solution.walk, solution.system, solution.setup
    first = last = 0
    for station in system.stations:
        first += 1 if station <= left else 0
        last += 1 if station < right else 0
    wanted = gap_sum(walk, left, right)
    extent = gap_extent(system, settled_sums(solution), wanted, first, max(first, last))
    constant = walk.rise_m[right] - walk.rise_m[left]
    row = [b - a for a, b in zip(tie_row(solution, left), tie_row(solution, right), strict=True)]
    variance = prior_covariance(walk, setup, left, left) + prior_covariance(walk, setup, right, right)
    variance -= 2 * prior_covariance(walk, setup, left, right)
    none = [0.0] * len(system.basis)
    return _value(solution, _Sum(constant, row, variance), [0.0] * solution.shifts, none, extent)


def posterior_covariance(
    solution: LevelSolution,
    prior: float,
    left: Sequence[float],
    right: Sequence[float],
    left_unknown: Sequence[float],
    right_unknown: Sequence[float],
) -> float:
    """Return the covariance of two quantities after the ties.

    Parameters
    ----------
    left, right : sequence of float, length m
        Their covariances with the tied levels, divided by ``solution.lower``.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .model import walk_levels
    >>> from .solution import solve_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 2.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> solution = solve_levels(walk_levels([LevelReading(0.0, 0.0)], [], setup), [], setup)
    >>> posterior_covariance(solution, 1.0, [], [], [1.0], [1.0])
    5.0
    """
    ours = [f - dot(column, left) for f, column in zip(left_unknown, solution.white, strict=True)]
    theirs = [f - dot(column, right) for f, column in zip(right_unknown, solution.white, strict=True)]
    return prior - dot(left, right) + dot(ours, [dot(row, theirs) for row in solution.spread])


def _turned(extent: GapExtent) -> GapExtent:
    """The same sum taken off instead of added."""
    low = None if extent.high_m is None else -extent.high_m
    high = None if extent.low_m is None else -extent.low_m
    slopes = ([-x for x in extent.high_slopes], [-x for x in extent.low_slopes])
    return GapExtent(extent.settled, extent.within, low, high, *slopes)


class _Sum(NamedTuple):
    """What the readings alone tell of a level or a rise: [m], its row of the solution, its variance [m2]."""

    constant_m: float
    row: Sequence[float]
    variance_m2: float


def _value(
    solution: LevelSolution, read: _Sum, shift: Sequence[float], reach: Sequence[float], extent: GapExtent
) -> LevelValue:
    white = solve_lower(solution.lower, read.row)
    fixed = read.constant_m + dot(white, solution.rest) + dot(reach, settled_sums(solution))
    fixed += dot(shift, solution.unknown[: solution.shifts])

    low_slopes = [a + b for a, b in zip(reach, extent.low_slopes, strict=True)]
    high_slopes = [a + b for a, b in zip(reach, extent.high_slopes, strict=True)]

    def sd(slopes: Sequence[float]) -> float:
        unknown = [*shift, *slopes]
        left = posterior_covariance(solution, read.variance_m2, white, white, unknown, unknown)
        return math.sqrt(left) if left > 0 else 0.0

    if extent.low_m is None or extent.high_m is None:
        return LevelValue(False, False, None, None, None, None, None, None, low_slopes, high_slopes)
    low, high, low_sd = fixed + extent.low_m, fixed + extent.high_m, sd(low_slopes)
    if extent.settled:
        return LevelValue(True, True, low, low_sd, low, low, low_sd, low_sd, low_slopes, low_slopes)
    high_sd = sd(high_slopes)
    return LevelValue(False, extent.within, None, None, low, high, low_sd, high_sd, low_slopes, high_slopes)

"""Levels conditioned on the ties: Gaussian conditioning, unknown rises by least squares with no prior.

The start level counts as an unknown with a prior, so that a start known to metres costs no digits.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ..numbers.linear_algebra import cholesky, dot, inverse, solve_lower
from .gaps import GapSystem, gap_system
from .input import SAME_PLACE_M, LevelSetup, LevelTie
from .model import random_covariance
from .walk import LevelWalk

MIN_TIE_SD_M = 1e-5  # no level is known better than a hundredth of a millimetre
FREE_START_SD_M = 1000.0  # start level not known: as good as no prior


@dataclass(frozen=True)
class LevelSolution:
    """The solved model. ``order``: ties by chainage; ``lower``: triangle of the ties' covariance.

    ``white``: the ties' columns of the unknowns and ``rest`` what is left of the misclosures, both
    divided by that triangle; ``unknown``: shift of the start level (if ``shifts``) and the settled
    sums [m]; ``spread``: their covariance [m2].
    """

    walk: LevelWalk
    setup: LevelSetup
    start_m: float
    start_sd_m: float
    order: list[int]
    stations: list[int]
    sd_m: list[float]
    before_m: list[float]
    system: GapSystem
    shifts: int
    lower: list[list[float]]
    white: list[list[float]]
    rest: list[float]
    unknown: list[float]
    spread: list[list[float]]


def solve_levels(walk: LevelWalk, ties: Sequence[LevelTie], setup: LevelSetup) -> LevelSolution:
    """Condition the levels on the ties.

    Parameters
    ----------
    ties : sequence of LevelTie, length m
        In any order; a standard deviation under 0.01 mm counts as 0.01 mm.

    References
    ----------
    Conditioning of Gaussian variables and generalised least squares: E. M. Mikhail and F. Ackermann,
    Observations and Least Squares, 1976 (from memory).

    Examples
    --------
    >>> from .input import LevelReading
    >>> from .model import walk_levels
    >>> setup = LevelSetup("span", 0.0, 0.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> ties = [LevelTie(9.0, 0.1, 0.0)]
    >>> walk = walk_levels([LevelReading(0.0, 0.0)], ties, setup)
    >>> [round(x, 6) for x in solve_levels(walk, ties, setup).before_m]
    [0.1]
    """
    order = sorted(range(len(ties)), key=lambda i: ties[i].chainage_m)
    stations = _tie_stations(walk, [ties[i].chainage_m for i in order])
    start_m, start_sd_m = _start(walk, setup, ties[order[0]] if order else None, stations)
    sds = [ties[i].sd_m if ties[i].sd_m > MIN_TIE_SD_M else MIN_TIE_SD_M for i in order]
    system = gap_system(walk, stations, setup.start_level_m is not None)
    matrix = [[prior_covariance(walk, setup, a, b) for b in stations] for a in stations]
    for i, sd in enumerate(sds):
        matrix[i][i] += sd * sd
    lower = cholesky(matrix)
    before = [ties[i].level_m - start_m - walk.rise_m[k] for i, k in zip(order, stations, strict=True)]
    shifts = 1 if start_sd_m > 0 else 0
    columns = [[1.0] * len(order)] * shifts
    columns += [[row[i] for row in system.reach] for i in range(len(system.basis))]
    white = [solve_lower(lower, column) for column in columns]
    rest = solve_lower(lower, before)
    normal = [[dot(a, b) for b in white] for a in white]
    if shifts:
        normal[0][0] += 1 / (start_sd_m * start_sd_m)
    spread = inverse(normal)
    right = [dot(column, rest) for column in white]
    unknown = [dot(row, right) for row in spread]
    for column, value in zip(white, unknown, strict=True):
        rest = [a - value * b for a, b in zip(rest, column, strict=True)]
    return LevelSolution(
        walk, setup, start_m, start_sd_m, order, stations, sds, before, system, shifts, lower, white,
        rest, unknown, spread,
    )  # fmt: skip


def settled_sums(solution: LevelSolution) -> list[float]:
    """Return the sums of unknown rises that the ties settle.

    Returns
    -------
    list of float, length r
        In the order of the basis [m].

    Examples
    --------
    >>> from .input import LevelReading
    >>> from .model import walk_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> settled_sums(solve_levels(walk_levels([LevelReading(0.0, 0.0)], [], setup), [], setup))
    []
    """
    return solution.unknown[solution.shifts :]


def tie_row(solution: LevelSolution, station: int) -> list[float]:
    """Return the covariance of a level with the tied levels, the start level left out.

    Returns
    -------
    list of float, length m
        Covariances [m2]. O(m).

    Examples
    --------
    >>> from .input import LevelReading
    >>> from .model import walk_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> tie_row(solve_levels(walk_levels([LevelReading(0.0, 0.0)], [], setup), [], setup), 1)
    []
    """
    return [prior_covariance(solution.walk, solution.setup, station, tie) for tie in solution.stations]


def prior_covariance(walk: LevelWalk, setup: LevelSetup, left: int, right: int) -> float:
    """Return the covariance of two levels before the ties, the start level left out.

    Returns
    -------
    float
        Covariance [m2]. O(1).

    References
    ----------
    Independent errors of the readings, one zero error and one counter scale common to all; any text on the
    propagation of errors.

    Examples
    --------
    >>> from .input import LevelReading
    >>> from .model import walk_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.0, 0.1, 0.0, 0.0, 10.0, 9.0)
    >>> round(prior_covariance(walk_levels([LevelReading(0.0, 0.0)], [], setup), setup, 1, 1) ** 0.5, 6)
    0.015708
    """
    common = dot(walk.common[left], walk.common[right])
    scale = setup.scale_sd * setup.scale_sd * walk.rise_m[left] * walk.rise_m[right]
    return random_covariance(walk, left, right) + common + scale


def _start(
    walk: LevelWalk, setup: LevelSetup, tie: LevelTie | None, stations: Sequence[int]
) -> tuple[float, float]:
    """Start level and its standard deviation; not known and a tie: whatever the tie makes of it."""
    if setup.start_level_m is not None:
        return setup.start_level_m, setup.start_sd_m
    if tie is None:
        return 0.0, 0.0
    return tie.level_m - walk.rise_m[stations[0]], FREE_START_SD_M


def _tie_stations(walk: LevelWalk, chainages: Sequence[float]) -> list[int]:
    stations = []
    k = 0
    for place in chainages:
        while k + 1 < len(walk.chainage_m) and walk.chainage_m[k + 1] <= place + SAME_PLACE_M:
            k += 1
        stations.append(k)
    return stations

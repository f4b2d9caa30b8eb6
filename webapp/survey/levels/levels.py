"""Levels along a run with their uncertainty: readings, ties and readings beyond the range together."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..numbers.linear_algebra import NOTHING, dot, solve_lower
from .checks import Suspect, TieCheck, most_suspicious, suspects, tie_checks
from .gaps import gap_alone, gap_extent
from .input import LevelReading, LevelSetup, LevelTie
from .model import walk_levels
from .solution import LevelSolution, prior_covariance, settled_sums, solve_levels
from .values import level_value, posterior_covariance, rise_value, settled_levels

TIED = ("adjusted", "measured")  # how a level is known where one was taken
UPRIGHT = 1 - 1e-12  # a sine beyond this differs from 1 by rounding alone


@dataclass(frozen=True)
class LevelStation:
    """Level of the invert at a chainage [m above datum], its standard deviation, or its bounds.

    ``known``: ``adjusted`` (a tie, fitted to the readings; what was measured there is the tie's),
    ``measured`` (a start level given, without ties), ``computed``, ``bounded`` (an unknown rise that
    the ties do not settle; ``level_m`` is None) or ``assumed`` (the outermost reading is taken to go on,
    or a start level not given). ``sd_m`` is None where the two bounds have different ones.
    ``prior_level_m`` and ``prior_sd_m``: from the known readings alone, without ties and unknown rises.
    """

    chainage_m: float
    level_m: float | None
    sd_m: float | None
    low_m: float | None
    high_m: float | None
    low_sd_m: float | None
    high_sd_m: float | None
    known: str
    prior_level_m: float
    prior_sd_m: float


@dataclass(frozen=True)
class SolvedGap:
    """A reading beyond the range: ``status`` solved, bounded (by others between the same ties) or open.

    ``own_m``: for how much of the length the crawler itself stood there [m].
    Rise [m] and inclination [deg] where solved, else their bounds. ``consistent`` is False where
    the ties contradict what the instrument showed; nothing is altered for that.
    """

    reading: int
    length_m: float
    own_m: float
    status: str
    consistent: bool
    low_m: float | None
    high_m: float | None
    low_deg: float | None
    high_deg: float | None
    rise_m: float | None
    sd_m: float | None
    sine: float | None
    deg: float | None
    sd_deg: float | None


@dataclass(frozen=True)
class LevelProfile:
    """Everything about the levels of a run. ``scale`` is the correction of the counter scale less one.

    ``zero_deg`` is what the ties add to the zero error of the setup. ``beyond_limit``: readings with
    a number greater than the limit of the instrument. ``blunders``: the most suspicious, if any.
    """

    stations: list[LevelStation]
    ties: list[TieCheck]
    gaps: list[SolvedGap]
    suspects: list[Suspect]
    blunders: list[Suspect]
    zero_deg: float
    zero_sd_deg: float
    scale: float
    scale_sd: float
    rise_m: float | None
    rise_sd_m: float | None
    beyond_limit: list[int]
    solution: LevelSolution


def level_profile(
    readings: Sequence[LevelReading], ties: Sequence[LevelTie], setup: LevelSetup
) -> LevelProfile:
    """Return the levels of a run with their uncertainty.

    Parameters
    ----------
    readings : sequence of LevelReading, length n
        In ascending chainage [m].
    ties : sequence of LevelTie, length m
        Levels taken by other means, in any order.

    Raises
    ------
    SurveyError
        As ``walk_levels``; ``bounds_not_found`` and ``matrix_not_positive`` (not seen to happen).

    References
    ----------
    Gaussian conditioning of a linear model with independent errors of the readings, one common zero error
    and one common counter scale; unknown rises by generalised least squares with no prior: E. M. Mikhail
    and F. Ackermann, Observations and Least Squares, 1976 (from memory).

    Examples
    --------
    >>> setup = LevelSetup("trapezoid", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0)
    >>> readings = [LevelReading(0.0, -1.0), LevelReading(10.0, -1.0)]
    >>> far = level_profile(readings, [LevelTie(10.0, 4.8, 0.005)], setup).stations[-1]
    >>> round(far.level_m, 4), far.known
    (4.8036, 'adjusted')
    """
    walk = walk_levels(readings, ties, setup)
    solution = solve_levels(walk, ties, setup)
    quick = settled_levels(solution)
    stations = [
        _station(solution, k) if quick is None else _settled(solution, k, quick[0][k], quick[1][k])
        for k in range(len(walk.chainage_m))
    ]
    zero_sd = math.sqrt(dot(walk.zero_row, walk.zero_row))
    zero = _common(solution, [dot(walk.zero_row, x) for x in walk.common], zero_sd)
    scale = _common(solution, [x * setup.scale_sd**2 for x in walk.rise_m], setup.scale_sd)
    found = suspects(solution)
    rise = rise_value(solution, 0, len(stations) - 1)
    beyond = [i for i, r in enumerate(readings) if r.deg is not None and abs(r.deg) > setup.limit_deg]
    return LevelProfile(
        stations, tie_checks(solution), [_gap(solution, u, scale) for u in range(len(walk.gaps))],
        found, most_suspicious(found), walk.zero_deg + zero[0], zero[1], scale[0], scale[1],
        rise.value_m, rise.sd_m, beyond, solution,
    )  # fmt: skip


def _known(solution: LevelSolution, k: int, settled: bool) -> str:
    if k in solution.stations:
        return "adjusted"
    if not settled:
        return "bounded"
    if k == 0:
        given = "adjusted" if solution.stations else "measured"
        return "assumed" if solution.setup.start_level_m is None else given
    return "assumed" if solution.walk.assumed[k] else "computed"


def _settled(solution: LevelSolution, k: int, level_m: float, sd_m: float) -> LevelStation:
    walk = solution.walk
    prior = prior_covariance(walk, solution.setup, k, k) + solution.start_sd_m * solution.start_sd_m
    return LevelStation(
        walk.chainage_m[k], level_m, sd_m, level_m, level_m, sd_m, sd_m, _known(solution, k, True),
        solution.start_m + walk.rise_m[k], math.sqrt(prior),
    )  # fmt: skip


def _station(solution: LevelSolution, k: int) -> LevelStation:
    walk, setup = solution.walk, solution.setup
    value = level_value(solution, k)
    provenance = _known(solution, k, value.settled)
    both = all(abs(a - b) < NOTHING for a, b in zip(value.low_slopes, value.high_slopes, strict=True))
    prior = prior_covariance(walk, setup, k, k) + solution.start_sd_m * solution.start_sd_m
    return LevelStation(
        walk.chainage_m[k], value.value_m, value.low_sd_m if both else None, value.low_m, value.high_m,
        value.low_sd_m, value.high_sd_m, provenance, solution.start_m + walk.rise_m[k], math.sqrt(prior),
    )  # fmt: skip


def _common(
    solution: LevelSolution, covariance: Sequence[float], prior_sd: float
) -> tuple[float, float, list[float]]:
    """Correction of an error common to all, its standard deviation, its covariance with the unknowns."""
    white = solve_lower(solution.lower, [covariance[k] for k in solution.stations])
    none = [0.0] * len(solution.white)
    variance = posterior_covariance(solution, prior_sd * prior_sd, white, white, none, none)
    seen = [dot(column, white) for column in solution.white]
    with_unknown = [-dot(row, seen) for row in solution.spread]
    return dot(white, solution.rest), math.sqrt(variance) if variance > 0 else 0.0, with_unknown


def _gap(solution: LevelSolution, u: int, scale: tuple[float, float, list[float]]) -> SolvedGap:
    gap, system = solution.walk.gaps[u], solution.system
    alone, group, seen = gap_alone(system, u)
    extent = gap_extent(system, settled_sums(solution), alone, group, group)
    length = gap.length_m * (1 + scale[0])
    low, high = extent.low_m, extent.high_m
    bounds = (low, high, _angle(low, length), _angle(high, length))
    if not extent.settled or low is None:
        status = "bounded" if seen else "open"
        return SolvedGap(
            gap.reading, gap.length_m, gap.own_m, status, extent.within, *bounds, None, None, None, None, None
        )
    unknown = [0.0] * solution.shifts + extent.low_slopes
    none = [0.0] * len(solution.stations)
    variance = posterior_covariance(solution, 0.0, none, none, unknown, unknown)
    sine, ratio = low / length, 1 + scale[0]
    spread = variance / length**2 + (sine * scale[1] / ratio) ** 2
    spread -= 2 * sine / (length * ratio) * dot(unknown, scale[2])
    sd_deg = None
    if abs(_upright(sine)) < 1:
        sd_deg = math.degrees(math.sqrt(max(spread, 0.0)) / math.sqrt(1 - sine * sine))
    return SolvedGap(
        gap.reading, gap.length_m, gap.own_m, "solved", gap.low_m <= low <= gap.high_m, *bounds, low,
        math.sqrt(max(variance, 0.0)), sine, bounds[2], sd_deg,
    )  # fmt: skip


def _angle(rise_m: float | None, length_m: float) -> float | None:
    """Inclination of a rise over a length; upright where the rise is more than the length."""
    if rise_m is None:
        return None
    return math.degrees(math.asin(_upright(rise_m / length_m)))


def _upright(sine: float) -> float:
    """The sine, or that of upright where rounding alone keeps it from being so."""
    return -1.0 if sine < -UPRIGHT else 1.0 if sine > UPRIGHT else sine

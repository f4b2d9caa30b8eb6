"""Levelling over ground to the chambers: closing a circuit, sharing out its misclosure, a net of levels."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..survey.errors import SurveyError
from ..survey.numbers.finite import finite
from ..survey.numbers.linear_algebra import dot, inverse

SETUP_ALLOWED_M = 0.005


@dataclass(frozen=True)
class LevelClosure:
    """Level on closing and misclosure (observed less known), and what is allowed [m]."""

    observed_m: float
    misclosure_m: float
    allowed_m: float
    within: bool


@dataclass(frozen=True)
class Rise:
    """Observed rise from one point to another [m] with its weight (1 over variance, or relative)."""

    start: str
    end: str
    rise_m: float
    weight: float


@dataclass(frozen=True)
class LevelNet:
    """Levels of the points not fixed, in the order in which the rises first name them.

    ``cofactor``: variance for a weight of one. ``redundancy``: of each rise, how much of an error in it shows
    in its own residual, 0 where nothing checks it. ``sigma0``: standard deviation of weight one from the
    residuals; None if no rise is superfluous.
    """

    points: list[str]
    level_m: list[float]
    cofactor: list[float]
    residual_m: list[float]
    redundancy: list[float]
    sigma0: float | None


def close_levels(
    start_m: float, backsights_m: float, foresights_m: float, known_m: float, setups: int
) -> LevelClosure:
    """Return the misclosure of a levelling run between two known levels.

    Parameters
    ----------
    start_m : float
        Known level at the start [m].
    backsights_m, foresights_m : float
        Sum of the backsights and of the foresights [m].
    known_m : float
        Known level at the end [m].

    Returns
    -------
    LevelClosure
        Levels [m]. ``allowed_m`` is 5 mm times the square root of the set-ups.

    Raises
    ------
    SurveyError
        ``number_not_finite``; ``no_setups``.

    References
    ----------
    Booking and allowable misclosure of 5 mm times the root of the set-ups: levelling exercise "Levelling
    (continued), booking and misclosure", Burnaby Building, 1998.

    Examples
    --------
    >>> closure = close_levels(10.0, 3.975, 4.892, 9.09, 3)
    >>> round(closure.misclosure_m, 6), closure.within
    (-0.007, True)
    """
    for name, value in (
        ("start_m", start_m), ("backsights_m", backsights_m), ("foresights_m", foresights_m),
        ("known_m", known_m),
    ):  # fmt: skip
        finite(value, name)
    finite(setups, "setups")
    if not setups >= 1:
        raise SurveyError("no_setups", "setups")
    observed = start_m + backsights_m - foresights_m
    allowed = SETUP_ALLOWED_M * math.sqrt(setups)
    return LevelClosure(observed, observed - known_m, allowed, abs(observed - known_m) <= allowed)


def share_misclosure(misclosure_m: float, shares: Sequence[float]) -> list[float]:
    """Return the correction of the level of each point, the misclosure shared out along the way.

    Parameters
    ----------
    misclosure_m : float
        Observed less known level at the end [m].
    shares : sequence of float, length n
        What each leg counts: its length, or 1 for each set-up. Not negative, not all zero.

    Returns
    -------
    list of float, length n
        Correction of the level at the end of each leg [m], to be added.

    Raises
    ------
    SurveyError
        ``number_not_finite``, ``share_negative`` with the index; ``shares_all_zero``.

    References
    ----------
    In proportion to distance or to set-ups: any surveying text.

    Examples
    --------
    >>> [round(x, 6) for x in share_misclosure(0.05, [1, 1, 1, 1, 1])]
    [-0.01, -0.02, -0.03, -0.04, -0.05]
    """
    finite(misclosure_m, "misclosure_m")
    total = 0.0
    for index, share in enumerate(shares):
        finite(share, "shares", index)
        if share < 0:
            raise SurveyError("share_negative", "shares", index)
        total += share
    if not total > 0:
        raise SurveyError("shares_all_zero", "shares")
    corrections, so_far = [], 0.0
    for share in shares:
        so_far += share
        corrections.append(-misclosure_m * (so_far / total))
    return corrections


def adjust_net(fixed_m: Mapping[str, float], rises: Sequence[Rise]) -> LevelNet:
    """Return the levels of a net of observed rises by weighted least squares.

    Parameters
    ----------
    fixed_m : mapping of str to float
        Known levels [m] by point.
    rises : sequence of Rise, length n
        Observed rises [m] and weights.

    Returns
    -------
    LevelNet
        Levels and residuals [m].

    Raises
    ------
    SurveyError
        ``number_not_finite``, ``weight_not_positive`` with the index of the rise; ``no_fixed_level``;
        ``nothing_to_adjust``; ``matrix_not_positive`` if a point hangs on no fixed level.

    References
    ----------
    Least squares by observation equations: E. M. Mikhail and F. Ackermann, Observations and Least Squares,
    1976 (from memory). Redundancy numbers: W. Baarda, A testing procedure for use in geodetic networks, 1968
    (from memory).

    Examples
    --------
    >>> net = adjust_net({"A": 10.0}, [Rise("A", "P", 1.0, 1.0), Rise("A", "P", 1.2, 1.0)])
    >>> round(net.level_m[0], 6), round(net.sigma0, 6)
    (11.1, 0.141421)
    """
    points = _points(fixed_m, rises)
    base = next(iter(fixed_m.values()))
    rows, wanted = [], []
    for rise in rises:
        rows.append([float(p == rise.end) - float(p == rise.start) for p in points])
        known = (fixed_m[rise.end] - base if rise.end in fixed_m else 0.0) - (
            fixed_m[rise.start] - base if rise.start in fixed_m else 0.0
        )
        wanted.append(rise.rise_m - known)
    weights = [rise.weight for rise in rises]
    columns = [[row[i] for row in rows] for i in range(len(points))]
    weighted = [[a * w for a, w in zip(column, weights, strict=True)] for column in columns]
    cofactor = inverse([[dot(a, b) for b in columns] for a in weighted])
    right = [dot(column, wanted) for column in weighted]
    shifts = [dot(row, right) for row in cofactor]
    residual = [dot(row, shifts) - value for row, value in zip(rows, wanted, strict=True)]
    over = len(rises) - len(points)
    squares = dot([r * w for r, w in zip(residual, weights, strict=True)], residual)
    sigma0 = math.sqrt(squares / over) if over > 0 else None
    variances = [cofactor[i][i] for i in range(len(points))]
    fixed_by = [dot(row, [dot(line, row) for line in cofactor]) for row in rows]
    redundancy = [1 - w * share for w, share in zip(weights, fixed_by, strict=True)]
    return LevelNet(points, [base + shift for shift in shifts], variances, residual, redundancy, sigma0)


def _points(fixed_m: Mapping[str, float], rises: Sequence[Rise]) -> list[str]:
    if not fixed_m:
        raise SurveyError("no_fixed_level", "fixed_m")
    for value in fixed_m.values():
        finite(value, "fixed_m")
    points: list[str] = []
    for index, rise in enumerate(rises):
        finite(rise.rise_m, "rises", index)
        finite(rise.weight, "rises", index)
        if not rise.weight > 0:
            raise SurveyError("weight_not_positive", "rises", index)
        for name in (rise.start, rise.end):
            if name not in fixed_m and name not in points:
                points.append(name)
    if not points:
        raise SurveyError("nothing_to_adjust", "rises")
    return points

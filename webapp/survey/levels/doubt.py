"""Readings that fit neither the course nor how pipes vary about it: something under the tracks, or a slip."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from .course import Course
from .seen import Seen
from .units import GAP, READ, Unit

LEAST_UNITS = 8  # with fewer nobody can say what is usual
NEAR = 10  # units to either side that say what is usual
FINE, SURE = 0.1, 1.5  # least usual spread, and least of one that stands out, against what was learnt
DOUBT_AT = 4.0  # robust spreads from the course
MAD_TO_SD = 1.4826  # of a normal distribution


@dataclass(frozen=True)
class Odd:
    """A unit whose readings stand out: by how many robust spreads, and by how much (a sine)."""

    unit: int
    spreads: float
    off: float


def odd_units(seen: Sequence[Seen | None], course: Course, pipe_var: float) -> list[Odd]:
    """Return the units whose readings stand out from all others.

    Parameters
    ----------
    pipe_var : float
        Variance of single pipes about the course (of a sine).

    References
    ----------
    Residuals over their spread, that spread by the median of the absolute residuals: F. R. Hampel, The
    influence curve and its role in robust estimation, Journal of the American Statistical Association 69,
    1974 (from memory). From 4 spreads on, against units near: own rule.

    Examples
    --------
    >>> odd_units([], Course([], [], [], [], 0.0, 0.0), 1e-4)
    []
    """
    rows: list[tuple[int, float, float]] = []
    for u, one in enumerate(seen):
        if one is not None:
            off = one.mean - one.zero * course.zero_deg - course.mean[u]
            left = one.var + pipe_var - course.var[u]
            if left > 0:
                rows.append((u, off, math.sqrt(left)))
    if len(rows) < LEAST_UNITS:
        return []
    sizes = [abs(off) / sd for _, off, sd in rows]
    found: list[Odd] = []
    for k, (u, off, sd) in enumerate(rows):
        first = max(0, min(k - NEAR, len(rows) - 2 * NEAR - 1))
        usual = max(_median(sizes[first : first + 2 * NEAR + 1]) * MAD_TO_SD, FINE)
        if sizes[k] > DOUBT_AT * usual and sizes[k] > SURE:
            found.append(Odd(u, off / sd / usual, off))
    return found


def doubted(seen: Sequence[Seen | None], odd: Sequence[Odd]) -> list[Seen | None]:
    """Return what was read with those that stand out in doubt by as much as they do.

    Examples
    --------
    >>> [one.var for one in doubted([Seen(0.05, 0.0, 0.0)], [Odd(0, 9.0, 0.5)])]
    [0.25]
    """
    found = list(seen)
    for one in odd:
        was = found[one.unit]
        if was is not None:
            found[one.unit] = replace(was, var=was.var + one.off * one.off, off=one.off)
    return found


def away_from_gaps(units: Sequence[Unit], seen: Sequence[Seen | None]) -> list[Seen | None]:
    """Return what was read but next to an unknown rise, where pipes are steeper than elsewhere.

    Examples
    --------
    >>> units = [Unit(0.0, 1.0, READ, 0, 1, 1.0, None, 0.0), Unit(1.0, 2.0, GAP, 1, 1, 0.0, None, 0.5)]
    >>> away_from_gaps(units, [Seen(0.1, 0.0, 0.0), None])
    [None, None]
    """
    found: set[int] = set()
    last, gap = -1, False
    for u, unit in enumerate(units):
        if unit.kind == READ:
            if gap:
                found.add(u)
            last, gap = u, False
        elif unit.kind == GAP:
            found.add(last)
            gap = True
    return [None if u in found else one for u, one in enumerate(seen)]


def _median(values: Sequence[float]) -> float:
    ordered = sorted(values)
    return ordered[(len(ordered) - 1) // 2]

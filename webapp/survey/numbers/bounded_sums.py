"""The least value of a weighted sum of quantities that lie between limits and obey a few sums.

The simplex method for variables with limits on both sides, on a dense table. The problems here have
a handful of rows (one per pair of neighbouring ties) and a handful of columns.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError

TINY = 1e-11
ROUNDS = 10_000


@dataclass(frozen=True)
class Least:
    """Least ``value``, and how it changes with each right-hand side: ``slopes``."""

    value: float
    slopes: list[float]


@dataclass
class _Table:
    """``rows`` of the simplex table over all columns, ``right`` the values of the basic ones."""

    rows: list[list[float]]
    right: list[float]
    width: list[float]
    basis: list[int]
    upper: list[bool]


def least_in_box(
    weights: Sequence[float],
    rows: Sequence[Sequence[float]],
    sums: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    slack: float,
) -> Least | None:
    """Return the least of sum(weight x) over low <= x <= high with row . x = sum for every row.

    Parameters
    ----------
    weights : sequence of float, length n
        What each x counts.
    rows : sequence of sequences, shape (r, n)
        Independent rows.
    sums : sequence of float, length r
        What each row must come to.
    low, high : sequence of float, length n
        The limits of each x, finite.

    Returns
    -------
    Least or None
        None if no x within the limits meets the sums.

    Raises
    ------
    SurveyError
        ``bounds_not_found`` if it does not end (not seen to happen).

    References
    ----------
    Simplex method with bounded variables, and the rule of the smallest index against cycling: V. Chvatal,
    Linear Programming, 1983, chapters 3 and 8 (from memory).

    Examples
    --------
    >>> least_in_box([1.0, 0.0], [[1.0, 1.0]], [8.5], [3.0, 3.0], [6.0, 6.0], 1e-9)
    Least(value=3.0, slopes=[0.0])
    """
    count, size = len(weights), len(rows)
    base = 0.0
    for weight, start in zip(weights, low, strict=True):
        base += weight * start
    table, signs = _start(rows, sums, low, high)
    artificial = [1.0 if j >= count else 0.0 for j in range(count + size)]
    _run(table, artificial, count)
    missed = 0.0
    for row, column in enumerate(table.basis):
        if column >= count:
            missed += abs(table.right[row])
    if missed > slack:
        return None
    for i in range(size):  # what is left of a missed sum stays out of the way
        table.width[count + i] = 0.0
    cost = list(weights) + [0.0] * size
    _run(table, cost, count)
    value = base
    for j in range(count):
        if table.upper[j]:
            value += cost[j] * table.width[j]
    for row, column in enumerate(table.basis):
        value += cost[column] * table.right[row]
    slopes = []
    for i in range(size):
        slope = 0.0
        for row, column in enumerate(table.basis):
            slope += cost[column] * table.rows[row][count + i]
        slopes.append(slope * signs[i])
    return Least(value, slopes)


def _start(
    rows: Sequence[Sequence[float]], sums: Sequence[float], low: Sequence[float], high: Sequence[float]
) -> tuple[_Table, list[float]]:
    """A table that measures every x from its lower limit, with one artificial column per row."""
    count, size = len(low), len(rows)
    body, right, signs = [], [], []
    for i, row in enumerate(rows):
        rest = sums[i]
        for factor, start in zip(row, low, strict=True):
            rest -= factor * start
        sign = -1.0 if rest < 0 else 1.0
        body.append([sign * factor for factor in row] + [1.0 if j == i else 0.0 for j in range(size)])
        right.append(sign * rest)
        signs.append(sign)
    width = [b - a for a, b in zip(low, high, strict=True)] + [float("inf")] * size
    basis = [count + i for i in range(size)]
    return _Table(body, right, width, basis, [False] * (count + size)), signs


def _run(table: _Table, cost: Sequence[float], count: int) -> None:
    """Improve until no column of the first ``count`` lowers the cost."""
    for _ in range(ROUNDS):
        entering = _entering(table, cost, count)
        if entering is None:
            return
        _exchange(table, entering)
    raise SurveyError("bounds_not_found", "rows")


def _entering(table: _Table, cost: Sequence[float], count: int) -> int | None:
    for j in range(count):
        if j in table.basis or table.width[j] <= 0:
            continue
        reduced = cost[j]
        for row, column in enumerate(table.basis):
            reduced -= cost[column] * table.rows[row][j]
        if (reduced > TINY) if table.upper[j] else (reduced < -TINY):
            return j
    return None


def _exchange(table: _Table, entering: int) -> None:
    """Move one column from its limit as far as the others allow."""
    way = -1.0 if table.upper[entering] else 1.0
    step, leaving, to_upper = table.width[entering], -1, False
    for row, column in enumerate(table.basis):
        rate = way * table.rows[row][entering]
        if abs(rate) < TINY:
            continue
        room = table.right[row] / rate if rate > 0 else (table.width[column] - table.right[row]) / -rate
        room = room if room > 0 else 0.0
        if room < step or (room == step and leaving >= 0 and column < table.basis[leaving]):
            step, leaving, to_upper = room, row, rate < 0
    for row in range(len(table.basis)):
        table.right[row] -= way * step * table.rows[row][entering]
    if leaving < 0:
        table.upper[entering] = not table.upper[entering]
        return
    value = table.width[entering] - step if way < 0 else step
    table.upper[table.basis[leaving]] = to_upper
    table.upper[entering] = False
    table.basis[leaving] = entering
    table.right[leaving] = value
    pivot = table.rows[leaving][entering]
    table.rows[leaving] = [factor / pivot for factor in table.rows[leaving]]
    for row in range(len(table.basis)):
        factor = table.rows[row][entering]
        if row != leaving and factor != 0:
            ours = table.rows[leaving]
            table.rows[row] = [a - factor * b for a, b in zip(table.rows[row], ours, strict=True)]

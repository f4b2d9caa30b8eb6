"""The simple estimator that the product is held against: pipes with known joints, each with its own slope.

The slope of a pipe is N(m, tau2), a reading N(slope, sd2); tau and m by restricted maximum likelihood; a pipe
without a reading lies at m with a spread of tau; then all of it is conditioned on the levels taken.
"""

import itertools
import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from ...survey.numbers.linear_algebra import cholesky, dot, solve_lower
from .survey import SD_DEG, TAPE_SD_M, TAPED_M, Survey

RAD = math.pi / 180
FREE_M = 1000.0  # a start that nobody levelled
MOST_DEG, STEPS = 8.0, 25
FEW = 3  # with fewer pipes read than this the spread is taken as stated
STATED_DEG = 0.5


@dataclass(frozen=True)
class Pipes:
    """Pipes by the counter [m], the mean reading in each [deg] (None without one) and its variance [deg2]."""

    begins_m: Sequence[float]
    ends_m: Sequence[float]
    deg: Sequence[float | None]
    variance: Sequence[float]


def simple_levels(survey: Survey, counters_m: Sequence[float]) -> list[tuple[float, float]]:
    """Return level and standard deviation [m] at each counter reading; of the rise where no level was taken.

    References
    ----------
    Restricted maximum likelihood of one variance component and Gaussian conditioning: any text on linear
    mixed models (from memory).
    """
    ahead, back, taped = survey.checked
    own = pipes_of(survey, (ahead + back) / 2)
    spread = spread_of(own)
    weights = [1 / (spread + v) for y, v in zip(own.deg, own.variance, strict=True) if y is not None]
    mean = _mean(own, spread)
    scale = taped / TAPED_M
    places = [*(place for place, _, _ in survey.levels), *counters_m]
    rows = [_row(own, place, (scale, mean, spread, 1 / sum(weights))) for place in places]
    tied = [(level, sd) for _, level, sd in survey.levels]
    return _conditioned(rows, tied)


def pipes_of(survey: Survey, zero_deg: float) -> Pipes:
    """Return the pipes of a survey with what was read in them, the zero error taken off."""
    begins = _joints(survey)
    ends = [*begins[1:], survey.end_m]
    sums, counts = [0.0] * len(begins), [0] * len(begins)
    for one in survey.readings:
        if one.deg is not None:
            k = max(bisect_right(begins, one.counter_m) - 1, 0)
            sums[k] += one.deg - zero_deg
            counts[k] += 1
    mean = [s / n if n else None for s, n in zip(sums, counts, strict=True)]
    return Pipes(begins, ends, mean, [SD_DEG**2 / n if n else 0.0 for n in counts])


def _joints(survey: Survey) -> list[float]:
    """Joints as the records tell; halfway between readings where they do not say how long the pipes are."""
    if survey.pipe_m is not None:
        unit = survey.pipe_m / (survey.checked[2] / TAPED_M)
        return [k * unit for k in range(max(math.ceil(survey.end_m / unit), 1))]
    places = [one.counter_m for one in survey.readings]
    return [0.0, *((a + b) / 2 for a, b in itertools.pairwise(places))]


def _mean(own: Pipes, spread: float) -> float:
    whole = total = 0.0
    for y, v in zip(own.deg, own.variance, strict=True):
        if y is not None:
            whole += 1 / (spread + v)
            total += y / (spread + v)
    return total / whole


def spread_of(own: Pipes) -> float:
    """Return the variance of the pipes' slopes [deg2] that the readings make most likely."""
    read = [(y, v) for y, v in zip(own.deg, own.variance, strict=True) if y is not None]
    if len(read) < FEW:
        return STATED_DEG**2
    low, high, golden = 0.0, MOST_DEG, (math.sqrt(5) - 1) / 2

    def cost(tau: float) -> float:
        weights = [1 / (tau * tau + v) for _, v in read]
        whole = sum(weights)
        mean = sum(w * y for w, (y, _) in zip(weights, read, strict=True)) / whole
        squares = sum(w * (y - mean) ** 2 for w, (y, _) in zip(weights, read, strict=True))
        return squares - sum(math.log(w) for w in weights) + math.log(whole)

    left, right = high - golden * high, golden * high
    at_left, at_right = cost(left), cost(right)
    for _ in range(STEPS):
        if at_left < at_right:
            high, right, at_right = right, left, at_left
            left = high - golden * (high - low)
            at_left = cost(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + golden * (high - low)
            at_right = cost(right)
    return (low + high) ** 2 / 4


@dataclass(frozen=True)
class _Row:
    """A rise from the start [m], what it hangs on by itself [m], and on zero, scale and mean [m]."""

    rise_m: float
    own_m: list[float]
    common_m: list[float]


def _row(own: Pipes, place_m: float, fit: tuple[float, float, float, float]) -> _Row:
    """The rise to a place; ``fit``: scale, mean [deg], variance of slopes and of the mean [deg2]."""
    scale, mean, spread, mean_variance = fit
    rise = zero = shared = 0.0
    each = []
    for begin, end, y, v in zip(own.begins_m, own.ends_m, own.deg, own.variance, strict=True):
        length = scale * (min(end, place_m) - begin)
        if length <= 0:
            break
        pull = 0.0 if y is None or spread + v <= 0 else spread / (spread + v)
        angle = mean if y is None else mean + pull * (y - mean)
        turn = length * math.cos(math.radians(angle)) * RAD
        rise += length * math.sin(math.radians(angle))
        zero -= turn
        shared += turn * (1 - pull)
        each.append(turn * math.sqrt(spread * (1 - pull)))
    common = [
        zero * SD_DEG / math.sqrt(2),
        rise * TAPE_SD_M / TAPED_M / scale,
        shared * math.sqrt(mean_variance),
    ]
    return _Row(rise, each, common)


def _conditioned(rows: Sequence[_Row], tied: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Levels and standard deviations of the rows after those of the levels taken."""
    count = len(tied)
    free = FREE_M if count else 0.0

    def together(a: _Row, b: _Row) -> float:
        pairs = sum(x * y for x, y in zip(a.own_m, b.own_m, strict=False))
        # where one ends inside a pipe, the other has gone on in it: the same angle over both
        return pairs + dot(a.common_m, b.common_m) + free * free

    matrix = [[together(a, b) for b in rows[:count]] for a in rows[:count]]
    for k, (_, sd) in enumerate(tied):
        matrix[k][k] += sd * sd
    lower = cholesky(matrix)
    start = tied[0][0] - rows[0].rise_m if count else 0.0
    rest = solve_lower(
        lower, [level - start - row.rise_m for (level, _), row in zip(tied, rows, strict=False)]
    )
    found = []
    for row in rows[count:]:
        white = solve_lower(lower, [together(row, other) for other in rows[:count]])
        left = together(row, row) - dot(white, white)
        found.append((start + row.rise_m + dot(white, rest), math.sqrt(max(left, 0.0))))
    return found

"""The course of a run and how single pipes vary about it, learnt from the readings.

The sine of a pipe's inclination is that of the course at its place plus a part of its own. The course
walks at random from unit to unit. How much the pipes vary and how much the course changes is
integrated over a grid, under priors that are stated here.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from .input import LevelSetup
from .seen import DEG, Seen
from .units import Unit

PIPE_SD_DEG, PIPE_LOG_SD = 0.35, 1.0  # prior: pipes vary by 0.05 to 2.5 degrees about the course
PIPE_NODES, PIPE_FIRST_DEG, PIPE_RATIO = 10, 0.03, 1.7
WALKS_DEG = (
    (0.02, 0.78),
    (0.1, 0.12),
    (0.3, 0.07),
    (1.0, 0.03),
)  # change of the course over 10 m, and its prior
WALK_M = 10.0
STEP_SD_DEG = 1.0  # from one stretch to the next
FIRST_SD_DEG = 10.0  # of the course at the start: as good as no prior
BLOCK, MOST_BLOCKS = 50, 6  # of a long run so many units and places are looked at


@dataclass(frozen=True)
class Variances:
    """Of single pipes about the course, and of the walk of the course over 10 m; of sines."""

    pipe: float
    walk: float


@dataclass(frozen=True)
class Course:
    """The course at each unit: sine, its change with the zero error [1/deg], variance; ``keep`` to the next.

    ``zero_deg`` with ``zero_sd_deg``: what the readings alone say of the zero error.
    """

    mean: list[float]
    zero: list[float]
    var: list[float]
    keep: list[float]
    zero_deg: float
    zero_sd_deg: float


@dataclass(frozen=True)
class Step:
    """From one unit to the next: share of the variance of the walk, and a variance of its own."""

    share: float
    own: float


def steps_of(units: Sequence[Unit], setup: LevelSetup) -> list[Step]:
    """Return the steps of the course, the first of them before the first unit.

    Examples
    --------
    >>> from .units import READ
    >>> units = [Unit(0.0, 4.0, READ, 0, 1, 16.0, None, 0.0), Unit(4.0, 10.0, READ, 1, 2, 36.0, None, 0.0)]
    >>> [one.share for one in steps_of(units, LevelSetup("course", 0.0, None, 0.0, 0.1, 0.0, 0.0))]
    [0.0, 0.5]
    """
    joins = sorted({place for pipes in setup.pipes for place in (pipes.from_m, pipes.to_m)})
    steps = [Step(0.0, 0.0)]
    n = 0
    for before, here in itertools.pairwise(units):
        left, right = (before.from_m + before.to_m) / 2, (here.from_m + here.to_m) / 2
        while n < len(joins) and joins[n] <= left:
            n += 1
        crossed = n < len(joins) and joins[n] < right
        own = STEP_SD_DEG * DEG if crossed else 0.0
        steps.append(Step((right - left) / WALK_M, own * own))
    return steps[: len(units)]


def variances_of(seen: Sequence[Seen | None], steps: Sequence[Step], zero_var: float) -> Variances:
    """Return the posterior means of the two variances.

    Parameters
    ----------
    seen : sequence of Seen or None
        Of each unit.
    zero_var : float
        Variance of the zero error [deg2].

    References
    ----------
    Variance components integrated over a grid under a stated prior; the likelihood by the innovations of a
    Kalman filter: A. C. Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, 1989,
    section 3.4 (from memory). Decision D58.

    Examples
    --------
    >>> found = variances_of([Seen(0.01, 1e-6, 0.0), Seen(0.03, 1e-6, 0.0)], [Step(0.0, 0.0)] * 2, 0.0)
    >>> 0.3 < math.degrees(math.sqrt(found.pipe)) < 1.5
    True
    """
    links = _links(seen, steps)
    scores: list[tuple[float, float, float]] = []
    for node in range(PIPE_NODES):
        sd_deg = PIPE_FIRST_DEG * PIPE_RATIO**node
        off = math.log(sd_deg / PIPE_SD_DEG) / PIPE_LOG_SD
        for walk_deg, share in WALKS_DEG:
            tried = Variances((sd_deg * DEG) ** 2, (walk_deg * DEG) ** 2)
            score = _log_likelihood(links, tried, zero_var) - off * off / 2 + math.log(share)
            scores.append((score, tried.pipe, tried.walk))
    best = max(score for score, _, _ in scores)
    total = pipes = walks = 0.0
    for score, pipe_var, walk_var in scores:
        weight = math.exp(score - best)
        total += weight
        pipes += weight * pipe_var
        walks += weight * walk_var
    return Variances(pipes / total, walks / total)


def course_of(
    seen: Sequence[Seen | None], steps: Sequence[Step], variances: Variances, zero_var: float
) -> Course:
    """Return the course at each unit, from the readings on both sides.

    Parameters
    ----------
    zero_var : float
        Variance of the zero error [deg2].

    References
    ----------
    Smoothing of a random walk: H. E. Rauch, F. Tung and C. T. Striebel, Maximum likelihood estimates of
    linear dynamic systems, AIAA Journal 3(8), 1965 (from memory).

    Examples
    --------
    >>> found = course_of([Seen(0.01, 1e-6, 0.0), None], [Step(0.0, 0.0), Step(1.0, 0.0)],
    ...                   Variances(1e-4, 1e-6), 0.0)
    >>> [round(mean, 4) for mean in found.mean]
    [0.01, 0.01]
    """
    mean, zero, var, ahead = 0.0, 0.0, (FIRST_SD_DEG * DEG) ** 2, []
    info = pull = 0.0
    means, zeros, spreads = [], [], []
    for one, step in zip(seen, steps, strict=True):
        var += step.share * variances.walk + step.own
        ahead.append(var)
        if one is not None:
            total = var + one.var + variances.pipe
            gain, off, turn = var / total, one.mean - mean, one.zero - zero
            mean, zero, var = mean + gain * off, zero + gain * turn, var * (1 - gain)
            info += turn * turn / total
            pull += turn * off / total
        means.append(mean)
        zeros.append(zero)
        spreads.append(var)
    keep = [0.0] * len(means)
    for k in range(len(means) - 2, -1, -1):
        back = spreads[k] / ahead[k + 1]
        means[k] += back * (means[k + 1] - means[k])
        zeros[k] += back * (zeros[k + 1] - zeros[k])
        smooth = spreads[k] * (1 - back) + back * back * spreads[k + 1]
        keep[k] = back * spreads[k + 1] / smooth
        spreads[k] = smooth
    zero_deg, zero_sd = 0.0, 0.0
    if zero_var > 0:
        zero_deg = pull / (info + 1 / zero_var)
        zero_sd = 1 / math.sqrt(info + 1 / zero_var)
    level = [m - z * zero_deg for m, z in zip(means, zeros, strict=True)]
    return Course(level, zeros, spreads, keep, zero_deg, zero_sd)


@dataclass(frozen=True)
class _Link:
    share: float
    own: float
    seen: Seen


def _links(seen: Sequence[Seen | None], steps: Sequence[Step]) -> list[_Link]:
    """The units that were read and the steps between them; of a long run some blocks of them."""
    links, share, own = [], 0.0, 0.0
    for one, step in zip(seen, steps, strict=True):
        share, own = share + step.share, own + step.own
        if one is not None:
            links.append(_Link(share, own, one))
            share = own = 0.0
    if len(links) <= BLOCK * MOST_BLOCKS:
        return links
    chosen: list[_Link] = []
    for n in range(MOST_BLOCKS):
        first = (len(links) - BLOCK) * n // (MOST_BLOCKS - 1)
        begin = _Link(0.0, (FIRST_SD_DEG * DEG) ** 2, links[first].seen)
        chosen += [begin, *links[first + 1 : first + BLOCK]]
    return chosen


def _log_likelihood(links: Sequence[_Link], tried: Variances, zero_var: float) -> float:
    mean, zero, var = 0.0, 0.0, (FIRST_SD_DEG * DEG) ** 2
    logs = square = cross = info = 0.0
    for link in links:
        one = link.seen
        var += link.share * tried.walk + link.own
        total = var + one.var + tried.pipe
        gain, off, turn = var / total, one.mean - mean, one.zero - zero
        mean, zero, var = mean + gain * off, zero + gain * turn, var * (1 - gain)
        logs += math.log(total)
        square += off * off / total
        cross += off * turn / total
        info += turn * turn / total
    if zero_var > 0:
        square -= cross * cross / (info + 1 / zero_var)
        logs += math.log(1 + zero_var * info)
    return -(logs + square) / 2

"""Coverage by simulation: errors drawn from the stated model, bands and ellipses against the truth.

Seeded, so that the same size gives the same figures everywhere.  Independent of the solution: the
truth is walked along directly, and only the product's own functions judge it.
"""

import itertools
import math
import random

from ..survey.levels.input import LevelReading, LevelSetup, LevelTie
from ..survey.levels.levels import LevelProfile, level_profile
from ..survey.plan.ellipse import Ellipse
from ..survey.plan.trace import Bend, Start, TraceLength, trace_plan
from .coverage_capacity import capacity_shares
from .coverage_share import Share
from .coverage_trace import trace_shares
from .inside_ellipse import inside

SIGMAS_95 = 1.959964
LIMIT_DEG = 10.0
SEED = 20261125
# the share that must lie inside, and how far beyond a bound may be in its standard deviations
BANDS, ELLIPSES, BEYOND_SIGMAS = (0.94, 0.96), (0.93, 0.96), 4.0


def coverage(surveys: int) -> list[Share]:
    """Return what became of so many simulated surveys: levels, bounds, ends in plan, runs, capacities."""
    draw = random.Random(SEED)  # noqa: S311 a simulation, not a secret
    within = settled = bounded = kept = 0
    for _ in range(surveys):
        profile, truth = _levels(draw)
        for station, true in zip(profile.stations, truth, strict=True):
            if station.level_m is not None and station.sd_m is not None:
                settled += 1
                within += abs(station.level_m - true) <= SIGMAS_95 * station.sd_m
            else:
                bounded += 1
                kept += _keeps(station.low_m, station.low_sd_m, true) and _keeps(
                    None if station.high_m is None else -station.high_m, station.high_sd_m, -true
                )
    ends = sum(_end_inside(draw) for _ in range(surveys))
    return [
        Share("levels inside their 95 % band", settled, within / max(settled, 1), *BANDS),
        Share(
            f"bounds kept within {BEYOND_SIGMAS:g} standard deviations", bounded, kept / max(bounded, 1), 1, 1
        ),
        Share("far ends inside their 95 % ellipse", surveys, ends / max(surveys, 1), *ELLIPSES),
        *trace_shares(surveys),
        *capacity_shares(surveys),
    ]


def _keeps(low_m: float | None, sd_m: float | None, true_m: float) -> bool:
    return low_m is None or true_m >= low_m - BEYOND_SIGMAS * (sd_m or 0.0) - 1e-9


def _levels(draw: random.Random) -> tuple[LevelProfile, list[float]]:
    """One survey of a made-up pipe, its profile, and the true levels."""
    count = draw.randrange(4, 12)
    shown = [0.0, *itertools.accumulate(draw.uniform(1, 6) for _ in range(count - 1))]
    over = [draw.choice((-1, 1)) if draw.random() < 0.12 else 0 for _ in shown]
    true_deg = [o * draw.uniform(15, 60) if o else draw.uniform(-6, 6) for o in over]
    sd, zero_sd, scale_sd = draw.uniform(0.05, 0.3), draw.uniform(0, 0.2), draw.uniform(0, 0.01)
    start_sd, zero, scale = draw.uniform(0.001, 0.02), draw.gauss(0, zero_sd), draw.gauss(0, scale_sd)
    level = [10.0]
    sines = [math.sin(math.radians(d)) for d in true_deg]
    for k in range(1, count):
        level.append(level[-1] + (1 + scale) * (shown[k] - shown[k - 1]) * (sines[k] + sines[k - 1]) / 2)
    readings = [
        LevelReading(s, None if o else d + zero + draw.gauss(0, sd), o)
        for s, d, o in zip(shown, true_deg, over, strict=True)
    ]
    ties = []
    for k in draw.sample(range(count), draw.randrange(4)):
        tie_sd = draw.uniform(0.002, 0.02)
        ties.append(LevelTie(shown[k], level[k] + draw.gauss(0, tie_sd), tie_sd))
    start = level[0] + draw.gauss(0, start_sd)
    setup = LevelSetup("trapezoid", 0.0, start, start_sd, sd, zero_sd, scale_sd, 0.0, LIMIT_DEG)
    return level_profile(readings, ties, setup), level


def _end_inside(draw: random.Random) -> bool:
    """One run with bends: is its true end inside the ellipse of the reckoned one?"""
    legs = [draw.uniform(3, 30) for _ in range(draw.randrange(1, 5))]
    turns = [draw.uniform(-60, 60) for _ in legs[1:]]
    start_sd, bearing_sd, bend_sd = draw.uniform(0.1, 2), draw.uniform(0.2, 2), draw.uniform(0.2, 2)
    scale_sd, leg_sd = draw.uniform(0.001, 0.01), draw.uniform(0.01, 0.1)
    bearing = draw.uniform(0, 360)
    e, n = draw.gauss(0, start_sd), draw.gauss(0, start_sd)
    true, scale = bearing + draw.gauss(0, bearing_sd), draw.gauss(0, scale_sd)
    for k, leg in enumerate(legs):
        if k:
            true += turns[k - 1] + draw.gauss(0, bend_sd)
        own = leg * (1 + scale) + draw.gauss(0, leg_sd)
        e, n = e + own * math.sin(math.radians(true)), n + own * math.cos(math.radians(true))
    places = list(itertools.accumulate(legs))
    bends = [Bend(place, turn, bend_sd) for place, turn in zip(places, turns, strict=False)]
    length = TraceLength(places[-1], scale_sd, leg_sd)
    trace = trace_plan(Start(0, 0, start_sd, bearing, bearing_sd), bends, length)
    end = trace.points[-1]
    return inside(Ellipse(*end.ellipse), e - end.e_m, n - end.n_m)

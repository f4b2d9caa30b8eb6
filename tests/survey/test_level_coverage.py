"""Coverage by simulation: errors drawn from the stated model, 95 % bands hold the truth at 95 %."""

import math

import numpy as np

from webapp.survey.levels.input import LevelReading, LevelSetup, LevelTie
from webapp.survey.levels.levels import level_profile

SURVEYS = 2000
DEG = math.pi / 180
LIMIT = 10.0


def simulated(rng):
    """One survey of a made-up pipe: what the instruments show, and the true levels."""
    count = int(rng.integers(4, 12))
    shown_m = np.concatenate([[0.0], np.cumsum(rng.uniform(1, 6, count - 1))])
    steep = rng.random(count) < 0.12
    sign = rng.choice([-1, 1], count)
    true_deg = np.where(steep, sign * rng.uniform(15, 60, count), rng.uniform(-6, 6, count))
    sd, zero_sd, scale_sd = rng.uniform(0.05, 0.3), rng.uniform(0, 0.2), rng.uniform(0, 0.01)
    start_sd = rng.uniform(0.001, 0.02)
    zero, scale = rng.normal(0, zero_sd), rng.normal(0, scale_sd)
    slope = np.sin(true_deg * DEG)
    rise = (1 + scale) * np.diff(shown_m) * (slope[1:] + slope[:-1]) / 2
    level = 10 + np.concatenate([[0.0], np.cumsum(rise)])
    read = true_deg + zero + rng.normal(0, sd, count)
    over = np.where(steep, sign, 0)
    readings = [
        LevelReading(float(s), None if o else float(a), int(o))
        for s, a, o in zip(shown_m, read, over, strict=True)
    ]
    tied = rng.choice(count, size=int(rng.integers(0, 4)), replace=False)
    ties = []
    for k in tied:
        tie_sd = rng.uniform(0.002, 0.02)
        ties.append(LevelTie(float(shown_m[k]), float(level[k] + rng.normal(0, tie_sd)), float(tie_sd)))
    start = float(10 + rng.normal(0, start_sd))
    setup = LevelSetup("trapezoid", 0.0, start, start_sd, sd, zero_sd, scale_sd, 0.0, LIMIT)
    return level_profile(readings, ties, setup), level


def test_bands_of_95_percent_hold_the_truth_at_95_percent_of_stations():
    rng = np.random.default_rng(20261125)
    inside = settled = bounded = 0
    worst = 0.0
    for _ in range(SURVEYS):
        profile, level = simulated(rng)
        for station, true in zip(profile.stations, level, strict=True):
            if station.level_m is not None:
                settled += 1
                inside += abs(station.level_m - true) <= 1.959964 * station.sd_m
            else:
                bounded += 1
                short = (station.low_m - true) / station.low_sd_m
                beyond = (true - station.high_m) / station.high_sd_m
                worst = max(worst, short, beyond)
    assert settled > 6 * SURVEYS / 2 and bounded > SURVEYS / 2
    assert 0.94 <= inside / settled <= 0.96, inside / settled
    assert worst < 4, worst

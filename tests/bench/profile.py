"""The level profile of a very long run.

    python3 tests/bench/profile.py [--quick]

Growth from 1,000 to 100,000 readings with 5 ties, and the time of numpy's dense conditioning at the
largest size it can hold here, all in one run. Prints the ratios; exits 1 where the growth is more than
1.25 times linear. Each size is the best of several runs, so that one busy moment counts for nothing.
"""

import argparse
import gc
import sys
import time

import bench_paths  # noqa: F401

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import numpy as np

from webapp.survey.levels.input import LevelReading, LevelSetup, LevelTie
from webapp.survey.levels.levels import level_profile

DEG = np.pi / 180
LIMIT = 1.25
SETUP = LevelSetup("trapezoid", 0.0, 10.0, 0.003, 0.1, 0.05, 0.003)


def case(count):
    """Readings every 0.5 m and five ties, made up."""
    rng = np.random.default_rng(count)
    angle = rng.uniform(-1.5, 0.2, count)
    places = np.arange(count) * 0.5
    level = 10 + np.concatenate([[0], np.cumsum(0.25 * (np.sin(angle[1:] * DEG) + np.sin(angle[:-1] * DEG)))])
    at = [count * i // 5 - 1 for i in range(1, 6)]
    readings = [LevelReading(float(s), float(a)) for s, a in zip(places, angle, strict=True)]
    return readings, [LevelTie(float(places[k]), float(level[k]), 0.005) for k in at], (places, angle, at)


def dense(places, angle, at, ties):
    """The same by full matrices."""
    count = len(places)
    step = np.diff(places)
    acting = np.zeros((count, count))
    for k in range(1, count):
        acting[k] = acting[k - 1]
        acting[k, k - 1] += step[k - 1] / 2
        acting[k, k] += step[k - 1] / 2
    rise = acting @ np.sin(angle * DEG)
    h = acting @ (DEG * np.cos(angle * DEG))
    spread = acting * (DEG * np.cos(angle * DEG) * SETUP.sd_deg)
    prior = spread @ spread.T + SETUP.start_sd_m**2
    prior += SETUP.zero_sd_deg**2 * np.outer(h, h) + SETUP.scale_sd**2 * np.outer(rise, rise)
    left = np.linalg.solve(prior[np.ix_(at, at)] + np.eye(len(at)) * 0.005**2, prior[at])
    level = 10 + rise + left.T @ (np.array([t.level_m for t in ties]) - 10 - rise[at])
    return level, np.sqrt(np.diag(prior - prior[:, at] @ left))


def seconds(function, *args):
    began = time.process_time()
    result = function(*args)
    return time.process_time() - began, result


def best(times, function, *args):
    """The shortest of several runs [s of this process]; the collector is off, as in ``timeit``."""
    taken = []
    for _ in range(times):
        gc.collect()
        gc.disable()
        taken.append(seconds(function, *args)[0])
        gc.enable()
    return min(taken)


def main():
    """Print the table; 1 if the growth is not linear."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--quick", action="store_true", help="a tenth of the sizes")
    quick = 10 if parser.parse_args().quick else 1
    sizes = [1_000 // quick, 10_000 // quick, 100_000 // quick]
    taken = []
    for count in sizes:
        readings, ties, _ = case(count)
        taken.append(best(9 if count < 5_000 else 3, level_profile, readings, ties, SETUP))
        print(f"{count:>7} readings, 5 ties: {taken[-1]:.3f} s, {1e6 * taken[-1] / count:.1f} us a reading")
    growth = taken[2] / taken[0] / (sizes[2] / sizes[0])
    print(f"growth {sizes[0]} to {sizes[2]}: {growth:.2f} times linear, at most {LIMIT} allowed")
    largest = 6_000 // quick  # 8 bytes x n2 x 4 matrices
    readings, ties, (places, angle, at) = case(largest)
    ours, profile = seconds(level_profile, readings, ties, SETUP)
    full, (level, sd) = seconds(dense, places, angle, at, ties)
    apart = max(abs(s.level_m - z) for s, z in zip(profile.stations, level, strict=True))
    spread = max(abs(s.sd_m - z) for s, z in zip(profile.stations, sd, strict=True))
    print(f"{largest:>7} readings: dense {full:.2f} s, product {ours:.3f} s, ratio {full / ours:.1f}")
    print(f"largest difference: level {apart:.1e} m, standard deviation {spread:.1e} m")
    return 1 if growth > LIMIT else 0


if __name__ == "__main__":
    sys.exit(main())

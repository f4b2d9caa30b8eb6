"""Levels pipe by pipe against one dense Gaussian (numpy), and what must hold of bounds and bands."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from level_cases import objects, surveys

from webapp.survey.levels.at import level_at
from webapp.survey.levels.band import band_95
from webapp.survey.levels.course import FIRST_SD_DEG, WALK_M
from webapp.survey.levels.course_walk import walk_course
from webapp.survey.levels.input import LevelReading, LevelSetup, LevelTie, Pipes
from webapp.survey.levels.learn import learn
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.model import random_covariance
from webapp.survey.levels.units import GAP, cut_run

DEG = math.pi / 180
some = settings(max_examples=60, deadline=None)


class Dense:
    """Course, slopes of units and zero error as one Gaussian vector, conditioned on what was read."""

    def __init__(self, units, learnt, setup):
        count = len(units)
        walk = np.cumsum([s.share * learnt.variances.walk + s.own for s in learnt.steps])
        course = (FIRST_SD_DEG * DEG) ** 2 + np.minimum.outer(walk, walk)
        pipes = np.zeros((count, count))  # what each unit has of its own
        for u, (unit, seen) in enumerate(zip(units, learnt.seen, strict=True)):
            length = unit.to_m - unit.from_m
            pipes[u, u] = learnt.variances.pipe
            if seen is None:
                pipes[u, u] *= unit.pipes_m2 / length**2
                pipes[u, u] += learnt.variances.walk * length / (12 * WALK_M)
        prior = np.zeros((2 * count + 1, 2 * count + 1))  # slopes, course, zero
        prior[:count, :count] = course + pipes
        prior[:count, count:-1] = prior[count:-1, :count] = course
        prior[count:-1, count:-1] = course
        prior[-1, -1] = setup.zero_sd_deg**2
        rows, values, noise = [], [], []
        for u, seen in enumerate(learnt.seen):
            if seen is not None:
                row = np.zeros(2 * count + 1)
                row[u], row[-1] = 1, seen.zero
                rows.append(row)
                values.append(seen.mean)
                noise.append(seen.var)
        if rows:
            table = np.array(rows)
            gain = prior @ table.T @ np.linalg.inv(table @ prior @ table.T + np.diag(noise))
            self.mean, self.cov = gain @ np.array(values), prior - gain @ table @ prior
        else:
            self.mean, self.cov = np.zeros(2 * count + 1), prior


def by_hand(units, places):
    """How far each unit has acted at each place."""
    return np.array(
        [
            [0 if u.kind == GAP else min(max(x - u.from_m, 0), u.to_m - u.from_m) for u in units]
            for x in places
        ]
    )


@some
@given(surveys(modes=("course",)))
def test_levels_are_those_of_one_dense_gaussian(case):
    readings, ties, setup = objects(*case)
    whole = Pipes(-1.0, 99.0, 1.5)  # joints are known throughout: cells have an own rule
    setup = LevelSetup(**{**vars(setup), "pipes": (whole,)})
    kept = list(range(len(readings)))
    units = cut_run(readings, ties, setup)
    learnt = learn(units, readings, setup)
    if not units or learnt.odd or learnt.usual != learnt.seen:
        return
    walk = walk_course(readings, kept, ties, setup)
    dense = Dense(units, learnt, setup)
    acts = by_hand(units, walk.chainage_m)
    count = len(units)
    assert walk.rise_m == pytest.approx(list(acts @ dense.mean[:count]), abs=1e-7)
    cov = acts @ dense.cov[:count, :count] @ acts.T
    for j in range(len(walk.chainage_m)):
        for k in range(len(walk.chainage_m)):
            ours = random_covariance(walk, j, k) + walk.common[j][0] * walk.common[k][0]
            assert ours == pytest.approx(cov[j, k], abs=1e-9, rel=1e-5)
    with_zero = acts @ dense.cov[:count, -1]
    assert [walk.zero_row[0] * one[0] for one in walk.common] == pytest.approx(list(with_zero), abs=1e-7)


@some
@given(surveys(modes=("course",)))
def test_units_lie_one_behind_the_other_and_hold_each_reading_once(case):
    readings, ties, setup = objects(*case)
    units = cut_run(readings, ties, setup)
    for before, here in itertools.pairwise(units):
        assert here.from_m == pytest.approx(before.to_m, abs=2e-6)
    held = [i for unit in units for i in range(unit.first, unit.last)]
    assert len(held) == len(set(held))
    for unit in units:
        assert all(readings[i].deg is not None for i in range(unit.first, unit.last))


def read(x, deg):
    return LevelReading(x, deg)


def course(pipes, end_m, **more):
    return LevelSetup("course", 0.0, 10.0, 0.003, 0.1, 0.0, 0.0, 0.0, 10.0, end_m, pipes, **more)


def test_one_reading_in_each_pipe_says_what_it_said_before():
    """By hand: 20 pipes of 1 m, 0.1 degrees each: 1.745 mm times the root of 20 is 7.8 mm."""
    angles = [-1.0 + 0.6 * math.sin(7.0 * k) for k in range(20)]
    readings = [read(k + 0.5, angles[k]) for k in range(20)]
    end = level_profile(readings, [], course((Pipes(0.0, 20.0, 1.0),), 20.0)).stations[-1]
    assert end.level_m == pytest.approx(10 + sum(math.sin(a * DEG) for a in angles), abs=0.002)
    assert end.sd_m == pytest.approx(math.hypot(0.0078, 0.003), rel=0.03)


def test_pipes_without_a_reading_are_in_doubt_by_how_pipes_vary():
    """By hand: 20 of 40 pipes of 1 m unread, root of 20 spreads for them, as much again for their mean.

    The spread of the 20 that were read is 0.36 degrees, that of all that might have been laid 0.5.
    """
    rng = np.random.default_rng(5)
    angles = rng.normal(-1, 0.5, 40)
    readings = [read(k + 0.5, float(angles[k])) for k in range(0, 40, 2)]
    end = level_profile(readings, [], course((Pipes(0.0, 40.0, 1.0),), 40.0)).stations[-1]
    assert math.sqrt(20 + 20) * np.std(angles[::2]) * DEG < end.sd_m < math.sqrt(20 + 20) * 0.5 * DEG


def test_two_readings_in_a_pipe_count_as_two_of_it():
    """Of 10 m the half was read five times as often; before, each reading acted to the middle to the next."""
    readings = [read(x, -2.0) for x in (0.6, 0.9, 1.2, 1.4, 1.7)] + [read(3.0, 0.0)]
    profile = level_profile(readings, [], course((Pipes(0.0, 4.0, 2.0),), 4.0))
    assert profile.stations[-1].level_m == pytest.approx(10 - 2 * math.sin(2 * DEG), abs=0.01)


def test_readings_that_scatter_more_than_stated_widen_the_band():
    rng = np.random.default_rng(2)
    places = [k + x for k in range(30) for x in (0.3, 0.5, 0.7)]
    pipe = rng.normal(-1, 0.5, 30)
    fine = [read(x, float(pipe[int(x)] + rng.normal(0, 0.1))) for x in places]
    rough = [read(x, float(pipe[int(x)] + rng.normal(0, 0.4))) for x in places]
    setup = course((Pipes(0.0, 30.0, 1.0),), 30.0)
    narrow, wide = (level_profile(one, [], setup) for one in (fine, rough))
    assert wide.stations[-1].sd_m > 2.5 * narrow.stations[-1].sd_m
    assert wide.solution.walk.noise.factor > 8 > 1.5 > narrow.solution.walk.noise.factor


def test_debris_under_the_tracks_does_not_move_the_levels_by_all_of_it():
    rng = np.random.default_rng(3)
    angles = rng.normal(-1, 0.3, 30)
    readings = [read(k + 0.5, float(angles[k])) for k in range(30)]
    readings[12] = read(12.5, float(angles[12]) + 6.0)
    profile = level_profile(readings, [], course((Pipes(0.0, 30.0, 1.0),), 30.0))
    true = 10 + sum(math.sin(a * DEG) for a in angles)
    end = profile.stations[-1]
    assert [one.reading for one in profile.solution.walk.odd] == [12]
    assert end.level_m - true < 0.6 * math.sin(6 * DEG)
    assert abs(end.level_m - true) < 1.96 * end.sd_m


@pytest.mark.parametrize("tied", [(), (40.0,), (17.0, 40.0)])
@pytest.mark.parametrize("seed", range(40))
def test_a_short_steep_pipe_never_makes_a_bound_false(seed, tied):
    """One pipe of 1 m beyond the range, read every 5 m: every bound holds the truth, between stations too."""
    rng = np.random.default_rng(seed)
    angles = rng.normal(-1, 0.5, 40)
    steep = 5 * int(rng.integers(1, 7))
    angles[steep] = rng.choice([-1, 1]) * rng.uniform(12, 60)
    level = 10 + np.concatenate([[0], np.cumsum(np.sin(angles * DEG))])
    readings = []
    for x in np.arange(0.5, 40, 5):
        deg = float(angles[int(x)])
        over = 0 if abs(deg) < 10 else 1 if deg > 0 else -1
        readings.append(LevelReading(float(x), None if over else deg, over))
    ties = [LevelTie(x, float(np.interp(x, range(41), level)), 0.003) for x in tied]
    profile = level_profile(readings, ties, course((Pipes(0.0, 40.0, 1.0),), 40.0))
    for x in np.linspace(0, 40, 81):
        station = level_at(profile, float(x))
        low, high = band_95(station)
        true = float(np.interp(x, range(41), level))
        if station.level_m is None:
            assert low - 1e-6 <= true <= high + 1e-6, (x, station)


@some
@given(surveys(modes=("course",)), st.floats(0, 1))
def test_between_stations_there_is_a_level_where_both_have_one_and_no_rise_is_unknown(case, share):
    profile = level_profile(*objects(*case))
    stations = profile.stations
    place = stations[0].chainage_m + share * (stations[-1].chainage_m - stations[0].chainage_m)
    found = level_at(profile, place)
    assert found is not None
    assert (found.level_m is None) == (found.known == "bounded")

"""Levels against dense conditioning (numpy) and linear programming (scipy), and what must hold."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from level_cases import Dense, digits_left, objects, surveys
from scipy.optimize import linprog

from webapp.selfcheck.level_covariance import level_covariance
from webapp.survey.errors import SurveyError
from webapp.survey.levels.falls import length_table, rise_between, what_would_a_tie_settle
from webapp.survey.levels.input import LevelReading, LevelSetup, LevelTie
from webapp.survey.levels.levels import level_profile
from webapp.survey.numbers.bounded_sums import least_in_box

some = settings(max_examples=60, deadline=None)


@some
@given(surveys())
def test_levels_are_those_of_dense_conditioning(case):
    readings, ties, setup = objects(*case)
    profile = level_profile(readings, ties, setup)
    dense = Dense(readings, ties, setup, [s.chainage_m for s in profile.stations])
    for k, station in enumerate(profile.stations):
        low, high, sd, one = dense.level(k)
        assert (station.level_m is not None) == one
        if low is None:
            assert station.low_m is None
            continue
        assert station.low_m == pytest.approx(low, abs=2e-6)
        assert station.high_m == pytest.approx(high, abs=2e-6)
        if one:
            assert station.sd_m == pytest.approx(sd, rel=1e-5, abs=1e-6)


@some
@given(surveys(gaps=False), st.data())
def test_covariances_are_those_of_dense_conditioning(case, data):
    readings, ties, setup = objects(*case)
    setup = dataclasses.replace(setup, start_level_m=1.0)
    profile = level_profile(readings, ties, setup)
    dense = Dense(readings, ties, setup, [s.chainage_m for s in profile.stations])
    j, k = (data.draw(st.integers(0, len(profile.stations) - 1)) for _ in range(2))
    assert level_covariance(profile.solution, j, k) == pytest.approx(dense.after[j, k], abs=1e-9)
    rise, sd = rise_between(profile.solution, j, k)
    assert rise == pytest.approx(profile.stations[k].level_m - profile.stations[j].level_m, abs=1e-9)
    variance = dense.after[j, j] + dense.after[k, k] - 2 * dense.after[j, k]
    assert sd == pytest.approx(math.sqrt(max(variance, 0)), abs=1e-5)


@pytest.mark.parametrize("seed", range(20))
def test_bounds_are_those_of_linear_programming(seed):
    """Rows of shares as ties make them, in random sizes: value and feasibility as scipy has them."""
    rng = np.random.default_rng(seed)
    for _ in range(50):
        n = int(rng.integers(1, 9))
        rows = rng.choice([0.0, 1.0, 0.5, 0.25], size=(int(rng.integers(1, min(n, 4) + 1)), n))
        if np.linalg.matrix_rank(rows) < len(rows):
            continue
        low = rng.uniform(-3, 2, n)
        high = low + rng.uniform(0, 3, n)
        sums = rows @ (low + (high - low) * rng.uniform(-0.1, 1.1, n))
        wanted = rng.choice([0.0, 1.0, 0.5], size=n)
        theirs = linprog(wanted, A_eq=rows, b_eq=sums, bounds=list(zip(low, high, strict=True)))
        ours = least_in_box(list(wanted), rows.tolist(), list(sums), list(low), list(high), 1e-9)
        assert (ours is None) == (theirs.status == 2)
        if ours is not None:
            assert ours.value == pytest.approx(theirs.fun, abs=1e-8)


@some
@given(surveys(), st.floats(-100, 100))
def test_levels_shift_with_the_datum(case, shift):
    readings, ties, setup = objects(*case)
    if setup.start_level_m is None and not ties:
        setup = dataclasses.replace(setup, start_level_m=0.0)
    moved_ties = [dataclasses.replace(t, level_m=t.level_m + shift) for t in ties]
    moved_setup = setup
    if setup.start_level_m is not None:
        moved_setup = dataclasses.replace(setup, start_level_m=setup.start_level_m + shift)
    plain = level_profile(readings, ties, setup)
    moved = level_profile(readings, moved_ties, moved_setup)
    for a, b in zip(plain.stations, moved.stations, strict=True):
        if a.low_m is not None and b.low_m is not None:
            assert b.low_m - a.low_m == pytest.approx(shift, abs=1e-6)
            assert b.high_m - a.high_m == pytest.approx(shift, abs=1e-6)
        if a.low_sd_m is None:
            assert b.low_sd_m is None
        else:
            assert b.low_sd_m == pytest.approx(a.low_sd_m, rel=1e-6, abs=1e-7)


def seen_from_the_end(readings, length_m):
    """The readings as if the run were surveyed from its other end: what rises ahead falls."""
    turned = []
    for r in reversed(readings):
        to = None if r.to_m is None else length_m - r.chainage_m
        at = length_m - (r.chainage_m if r.to_m is None else r.to_m)
        turned.append(LevelReading(at, None if r.deg is None else -r.deg, -r.over, r.sd_deg, to))
    return turned


@some
@given(surveys(gaps=False))
def test_a_run_surveyed_from_its_other_end_mirrors(case):
    """Start and far end tied alike: the same levels and the same spreads, read backwards."""
    readings, _, setup = objects(*case)
    length = 50.0
    setup = dataclasses.replace(
        setup, mode="trapezoid", start_level_m=None, end_chainage_m=length, zero_deg=0.0
    )
    ties = [LevelTie(0.0, 1.0, 0.01), LevelTie(length, 0.4, 0.01)]
    back = [LevelTie(length, 1.0, 0.01), LevelTie(0.0, 0.4, 0.01)]
    there = level_profile(readings, ties, setup).stations
    again = level_profile(seen_from_the_end(readings, length), back, setup).stations[::-1]
    for a, b in zip(there, again, strict=True):
        assert b.chainage_m == pytest.approx(length - a.chainage_m, abs=1e-9)
        assert b.level_m == pytest.approx(a.level_m, abs=1e-6)
        assert b.sd_m == pytest.approx(a.sd_m, abs=1e-7)


@some
@given(surveys(), st.floats(0, 1), st.sampled_from([0.001, 0.02, 0.5]))
def test_a_further_tie_never_widens_the_band(case, share, sd):
    readings, ties, setup = objects(*case)
    before = level_profile(readings, ties, setup)
    place = before.stations[-1].chainage_m * share
    then = what_would_a_tie_settle(readings, ties, setup, place, sd)
    settled = {s.chainage_m: s.sd_m for s in before.stations if s.level_m is not None}
    assert settled or before.gaps
    for chainage, now, sd_m in zip(then.chainage_m, then.now_sd_m, then.sd_m, strict=True):
        if chainage in settled and setup.start_level_m is not None:
            assert now == settled[chainage]
            assert sd_m <= now + digits_left(*case[1:])


def made_up_run(rng, count):
    """True angles with some beyond 10 degrees, as the instrument shows them without error."""
    places = np.concatenate([[0.0], np.cumsum(rng.uniform(0.5, 6, count - 1))])
    true = np.where(rng.random(count) < 0.25, rng.uniform(10, 60, count), rng.uniform(-9, 9, count))
    true = np.where(rng.random(count) < 0.3, -true, true)
    readings = [
        LevelReading(float(s), float(a) if abs(a) < 10 else None, 0 if abs(a) < 10 else int(np.sign(a)))
        for s, a in zip(places, true, strict=True)
    ]
    level = np.concatenate([[0.0], np.cumsum(np.diff(places) * (np.sin(true * math.pi / 180)[:-1] + np.sin(
        true * math.pi / 180)[1:]) / 2)])  # fmt: skip
    return readings, places, level


@pytest.mark.parametrize("seed", range(60))
def test_without_error_the_bounds_hold_the_truth(seed):
    """One-sided bounds, with and without ties: never violated when the readings have no error."""
    rng = np.random.default_rng(seed)
    readings, places, level = made_up_run(rng, 14)
    setup = LevelSetup("trapezoid", 0.0, 0.0, 0.0, 1e-4, 0.0, 0.0)
    tied = sorted(rng.choice(14, size=rng.integers(0, 4), replace=False))
    ties = [LevelTie(float(places[k]), float(level[k]), 1e-4) for k in tied]
    profile = level_profile(readings, ties, setup)
    for station, true in zip(profile.stations, level, strict=True):
        assert station.low_m - 1e-6 <= true <= station.high_m + 1e-6
    assert all(gap.consistent for gap in profile.gaps)


def test_a_tie_that_says_less_than_the_reading_is_reported_and_not_altered():
    readings = [LevelReading(0.0, 2.0), LevelReading(6.0, None, 1), LevelReading(12.0, 2.0)]
    setup = LevelSetup("trapezoid", 0.0, 20.0, 0.0, 0.1, 0.0, 0.0, 0.0, 30.0)
    gap = level_profile(readings, [LevelTie(12.0, 20.9, 0.005)], setup).gaps[0]
    assert (gap.status, gap.consistent) == ("solved", False)
    assert gap.rise_m < gap.length_m * math.sin(math.radians(30))


def test_a_blunder_of_half_a_metre_in_one_of_three_ties_is_named():
    """By hand: over 30 m and 0.1 degrees the spread is centimetres, so 0.5 m stands out."""
    readings = [LevelReading(3.0 * i, -0.7) for i in range(31)]
    fall = math.sin(math.radians(0.7))
    ties = [LevelTie(x, 10 - x * fall, 0.005) for x in (30.0, 60.0, 90.0)]
    ties[1] = dataclasses.replace(ties[1], level_m=ties[1].level_m + 0.5)
    setup = LevelSetup("trapezoid", 0.0, 10.0, 0.003, 0.1, 0.05, 0.003)
    profile = level_profile(readings, ties, setup)
    assert [(s.kind, s.index) for s in profile.blunders] == [("tie", 1)]
    assert profile.blunders[0].size_m == pytest.approx(0.5, abs=0.05)
    assert abs(profile.blunders[0].standardised) > 3.29


def test_a_blunder_that_cannot_be_told_apart_names_all():
    readings = [LevelReading(3.0 * i, 0.0) for i in range(11)]
    setup = LevelSetup("trapezoid", 0.0, 10.0, 0.003, 0.1, 0.0, 0.0)
    profile = level_profile(readings, [LevelTie(30.0, 11.0, 0.005)], setup)
    assert {s.kind for s in profile.blunders} == {"tie", "start", "readings"}


@some
@given(surveys(gaps=False, ties=4), st.data())
def test_the_check_of_a_tie_is_what_leaving_it_out_says(case, data):
    """The standardised size is the difference from the prediction without it, over its spread."""
    readings, ties, setup = objects(*case)
    setup = dataclasses.replace(setup, start_level_m=0.5)
    if not ties:
        return
    profile = level_profile(readings, ties, setup)
    check = data.draw(st.sampled_from(profile.ties))
    if check.rest_m is None:
        return
    without = level_profile(readings, [t for i, t in enumerate(ties) if i != check.tie], setup)
    at = [s for s in without.stations if s.chainage_m == profile.stations[check.station].chainage_m]
    if at:
        tie = ties[check.tie]
        assert check.rest_m == pytest.approx(tie.level_m - at[0].level_m, abs=1e-5)
        sd = math.sqrt(at[0].sd_m ** 2 + max(tie.sd_m, 1e-5) ** 2)
        assert check.rest_sd_m == pytest.approx(sd, rel=1e-4, abs=1e-6)


@settings(max_examples=150, deadline=None)
@given(surveys(broken=True))
def test_whatever_is_put_in_is_computed_or_refused_by_name(case):
    try:
        profile = level_profile(*objects(*case))
    except SurveyError as error:
        assert error.code
        return
    rows = length_table(profile)
    numbers = [v for s in [*profile.stations, *rows] for v in vars(s).values() if isinstance(v, float)]
    assert all(math.isfinite(v) for v in numbers)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("where", ["chainage_m", "deg", "sd_deg", "to_m"])
def test_what_is_no_number_is_refused(bad, where):
    reading = dataclasses.replace(LevelReading(1.0, 1.0), **{where: bad})
    with pytest.raises(SurveyError) as caught:
        level_profile([reading], [], LevelSetup("span", 0.0, 0.0, 0.0, 0.1, 0.0, 0.0))
    assert caught.value.code == "number_not_finite"

"""Reference values of levels, and values worked by hand for falls, ponding, counter and levelling."""

import math

import pytest
from reference import cases, close

from webapp.selfcheck.level_covariance import level_covariance
from webapp.selfcheck.levelling import Rise, adjust_net, share_misclosure
from webapp.selfcheck.levels import TOPICS, level_misclosure_by_distance
from webapp.survey.errors import SurveyError
from webapp.survey.instruments.counter_scale import (
    CounterSegment,
    TapeCheck,
    check_far_length,
    scale_of_checks,
    segment_starts,
)
from webapp.survey.instruments.inclinometer import zero_from_reversal
from webapp.survey.levels.falls import length_table, rise_between, what_would_a_tie_settle
from webapp.survey.levels.input import LevelReading, LevelSetup, LevelTie
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.ponding import standing_water
from webapp.survey.levels.water_check import compare_water
from webapp.survey.section.bore import Bore

TOPICS_WITH_CASES = sorted(TOPICS.keys() - {"level_misclosure_by_distance"})
HERE = [pytest.param(case, id=case["id"]) for topic in TOPICS_WITH_CASES for case in cases(topic)]


def setup(mode="span", limit=10.0, end=None, start=10.0):
    return LevelSetup(mode, 0.0, start, 0.0, 0.1, 0.0, 0.0, 0.0, limit, end)


def valley(down=-1.0, up=0.5):
    """Down for 10 m, up for 10 m, down for 10 m."""
    readings = [LevelReading(0.0, down), LevelReading(10.0, up), LevelReading(20.0, down)]
    return level_profile(readings, [], setup(end=30.0))


@pytest.mark.parametrize("case", HERE)
def test_reference_values(case):
    computed = TOPICS[case["topic"]](case["inputs"])
    for key, expected in case["expected"].items():
        tolerance = case["tolerance"].get(key, 0)
        assert close(computed[key], expected, tolerance), (key, computed[key], expected)


def test_a_misclosure_shared_out_by_distance():
    """By hand: 12 mm over legs of 100, 200 and 300 m; -2, -4 and -6 mm, together -12 mm."""
    found = level_misclosure_by_distance({"misclosure_m": 0.012, "leg_length_m": [100, 200, 300]})
    assert found["leg_correction_m"] == pytest.approx([-0.002, -0.004, -0.006])
    assert found["correction_m"] == pytest.approx([-0.002, -0.006, -0.012])


def test_falls_of_single_pipes():
    """By hand: 10 m at -1 degree falls 0.17452 m, 1 in 57.29, one reading's 0.1 degrees is 17.45 mm."""
    rows = length_table(valley())
    assert [row.direction for row in rows] == ["falling", "rising", "falling"]
    assert rows[0].fall_m == pytest.approx(0.174524, abs=1e-6)
    assert rows[0].one_in == pytest.approx(57.29, abs=0.01)
    assert rows[0].sd_m == pytest.approx(0.01745, abs=1e-5)
    assert rows[0].sd_deg == pytest.approx(0.1, abs=1e-9)
    assert rows[1].fall_m == pytest.approx(-0.087265, abs=1e-6)


def test_a_length_beyond_the_range_has_bounds_and_no_gradient():
    profile = level_profile([LevelReading(0.0, None, -1)], [], setup(end=2.0))
    row = length_table(profile)[0]
    assert row.known == "bounded" and row.one_in is None and row.fall_m is None
    assert row.low_fall_m == pytest.approx(2 * math.sin(math.radians(10)))
    assert row.high_fall_m == pytest.approx(2.0)


def test_rises_beyond_a_gap_are_known_though_levels_are_not():
    readings = [LevelReading(0.0, None, -1), LevelReading(2.0, -1.0), LevelReading(12.0, -1.0)]
    profile = level_profile(readings, [], setup(end=22.0))
    assert profile.stations[2].level_m is None
    rise, sd = rise_between(profile.solution, 1, 3)
    assert rise == pytest.approx(-20 * math.sin(math.radians(1)))
    assert sd == pytest.approx(math.sqrt(2) * 10 * math.radians(0.1) * math.cos(math.radians(1)))


def test_a_start_not_known_is_carried_back_from_the_first_tie():
    """By hand: 10 m falling at 1 degree before a tie at 5.000 m."""
    profile = level_profile(
        [LevelReading(0.0, -1.0)], [LevelTie(10.0, 5.0, 0.002)], setup(end=10.0, start=None)
    )
    first = profile.stations[0]
    assert first.level_m == pytest.approx(5 + 10 * math.sin(math.radians(1)), abs=1e-6)
    assert first.sd_m == pytest.approx(math.sqrt(0.002**2 + 0.0174506**2), abs=1e-6)
    assert first.known == "assumed"


def test_a_gap_before_the_first_tie_bounds_a_start_not_known():
    readings = [LevelReading(0.0, None, -1), LevelReading(2.0, 0.0)]
    profile = level_profile(readings, [LevelTie(5.0, 3.0, 0.002)], setup(end=5.0, start=None))
    first = profile.stations[0]
    assert first.low_m == pytest.approx(3 + 2 * math.sin(math.radians(10)), abs=1e-6)
    assert first.high_m == pytest.approx(5.0, abs=1e-6)
    assert profile.gaps[0].status == "open"
    assert profile.stations[1].level_m == pytest.approx(3.0, abs=1e-6)


def test_what_a_tie_at_the_far_end_would_settle():
    """By hand: spread 0.3 m without, with a tie of 0.4 m: 0.3 x 0.4 / 0.5 = 0.24 m."""
    wide = LevelSetup("span", 0.0, 10.0, 0.3, 0.0, 0.0, 0.0, 0.0, 10.0, 10.0)
    found = what_would_a_tie_settle([LevelReading(0.0, 0.0)], [], wide, 10.0, 0.4)
    assert (found.far_now_sd_m, found.far_sd_m) == pytest.approx((0.3, 0.24))


def test_a_sag_its_depth_length_volume_and_spread():
    """By hand: 87.27 mm deep; 5.000 m on the way down, 10 m on the way up; rectangular 0.4 m wide.

    The wet triangle is 15.00 m long, so the volume is 0.4 x 15.00 x 0.08727 / 2 = 0.2618 m3.
    """
    water = standing_water(valley(), "with_flow", Bore("rectangular", 0.5, 0.4))
    (sag,) = water.sags
    assert sag.depth_m == pytest.approx(0.087265, abs=1e-6)
    assert (sag.low_m, sag.spill_m) == (10.0, 20.0)
    assert sag.length_m == pytest.approx(15.0, abs=0.001)
    assert sag.volume_m3 == pytest.approx(0.2618, abs=1e-4)
    assert sag.sd_m == pytest.approx(0.017453, abs=1e-5)
    assert sag.sure and not sag.open_end and not sag.fills
    (back,) = water.backfalls
    assert (back.from_m, back.to_m, back.sure) == (10.0, 20.0, True)
    assert back.rise_m == pytest.approx(sag.depth_m)


def test_a_sag_seen_against_the_flow_is_deeper_and_open():
    """By hand: water running back must rise to the start; the far end lies 174.5 - 87.3 + 174.5 mm lower."""
    sags = standing_water(valley(), "against_flow").sags
    assert sags[0].depth_m == pytest.approx(0.261789, abs=1e-5)
    assert sags[0].open_end


def test_a_direction_not_known_takes_the_lower_crest_and_no_backfall():
    water = standing_water(valley(-0.5, 1.0), "unknown")
    assert [round(s.depth_m, 4) for s in water.sags] == [0.0873]
    assert water.sags[0].spill_m == 0.0
    assert water.backfalls == []


def test_a_level_pipe_holds_no_water():
    readings = [LevelReading(float(i), 0.0) for i in range(5)]
    water = standing_water(level_profile(readings, [], setup("trapezoid")), "with_flow")
    assert water.sags == [] and water.backfalls == []


def test_the_volume_in_a_circular_pipe_is_that_of_fine_slices():
    sag = standing_water(valley(), "with_flow", Bore("circular", 0.3)).sags[0]
    radius, depth, slices, area = 0.15, sag.depth_m, 20_000, 0.0
    for i in range(slices):
        half = math.acos(1 - depth * (i + 0.5) / slices / radius)
        area += radius * radius * (half - math.sin(half) * math.cos(half)) / slices
    assert sag.volume_m3 == pytest.approx(area * sag.length_m, rel=1e-4)


def test_water_seen_against_water_computed():
    """By hand: 87.3 mm of 300 mm is 29 %; sd 17.5 and 15 mm together 23 mm, two of them 46 mm."""
    water = standing_water(valley(), "with_flow")
    checks = compare_water(water, [10.0, 10.0, 10.0, 29.0], [35, 50, 5, 0], 0.3, 5.0, 0.0)
    assert [c.verdict for c in checks] == ["agrees", "deeper", "shallower", "agrees"]
    assert checks[0].difference_m == pytest.approx(0.105 - 0.087265, abs=1e-6)


def test_several_tape_checks_weigh_by_their_spread():
    """By hand: equal lengths, spreads 10 and 20 mm: weights 4 to 1."""
    found = scale_of_checks([TapeCheck(0, 20, 20.1, 0.01), TapeCheck(0, 20, 20.2, 0.02)])
    assert found.scale == pytest.approx((4 * 20.1 + 20.2) / 5 / 20)
    assert found.sd == pytest.approx(1 / math.sqrt(400 / 0.0001 + 400 / 0.0004))
    assert abs(found.worst_standardised) == pytest.approx(0.1 / math.sqrt(0.0001 + 0.0004))


@pytest.mark.parametrize(
    ("chainage", "length", "allowed", "flagged"),
    [(40.2, 40, 0.3, False), (40.31, 40, 0.3, True), (99.51, 100, 0.5, False), (99.49, 100, 0.5, True)],
)
def test_the_far_node_is_flagged_beyond_the_larger_of_half_a_percent_and_300_mm(
    chainage, length, allowed, flagged
):
    check = check_far_length(chainage, length)
    assert (check.allowed_m, check.flagged) == (pytest.approx(allowed), flagged)
    assert check.factor * chainage == pytest.approx(length)


def test_a_counter_reset_part_way_goes_on_counting():
    parts = [CounterSegment(2.0, 12.0), CounterSegment(0.0, 5.0), CounterSegment(7.0, 9.0)]
    assert segment_starts(parts, 1.0, 1.02) == pytest.approx([1.0, 11.2, 16.3])


def test_two_way_zero_check():
    assert zero_from_reversal(0.8, -0.4, 0.1) == pytest.approx((0.2, 0.1 / math.sqrt(2)))


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: scale_of_checks([]), "no_checks"),
        (lambda: scale_of_checks([TapeCheck(0, 0, 20, 0.01)]), "counter_not_moved"),
        (lambda: scale_of_checks([TapeCheck(0, 20, 20, 0)]), "sd_not_positive"),
        (lambda: check_far_length(0.0, 40.0), "counter_not_moved"),
        (lambda: check_far_length(40.0, math.nan), "number_not_finite"),
        (lambda: segment_starts([CounterSegment(5, math.inf)], 0.0, 1.0), "number_not_finite"),
        (lambda: share_misclosure(0.1, [0, 0]), "shares_all_zero"),
        (lambda: adjust_net({}, []), "no_fixed_level"),
        (lambda: adjust_net({"A": 1.0}, []), "nothing_to_adjust"),
        (lambda: adjust_net({"A": 1.0}, [Rise("P", "Q", 1.0, 1.0)]), "matrix_not_positive"),
        (lambda: zero_from_reversal(math.inf, 0, 0.1), "number_not_finite"),
        (lambda: standing_water(valley(), "uphill"), "flow_unknown_word"),
        (lambda: level_profile([], [], setup()), "no_readings"),
        (lambda: level_profile([LevelReading(0, 1)], [LevelTie(-1, 0, 0)], setup()), "tie_before_start"),
        (lambda: level_profile([LevelReading(0, 1)], [LevelTie(9, 0, 0)], setup(end=5.0)), "tie_beyond_end"),
        (lambda: level_profile([LevelReading(0, None)], [], setup()), "reading_incomplete"),
        (lambda: level_profile([LevelReading(0, 1)], [], setup("other")), "mode_unknown"),
        (lambda: level_profile([LevelReading(0, 1)], [], setup(limit=0.0)), "limit_out_of_range"),
        (lambda: level_covariance(valley().solution, 0, 9), "station_unknown"),
    ],
)
def test_refusals(call, code):
    with pytest.raises(SurveyError) as caught:
        call()
    assert caught.value.code == code


def test_ties_that_contradict_each_other_by_metres_are_a_finding():
    ties = [LevelTie(10.0, 9.9, 0.002), LevelTie(10.0, 12.9, 0.002)]
    profile = level_profile([LevelReading(0.0, 0.0)], ties, setup(end=20.0))
    assert {s.kind for s in profile.blunders} == {"tie"}
    assert all(math.isfinite(s.level_m) for s in profile.stations)


def test_a_reading_above_the_limit_is_stated():
    profile = level_profile([LevelReading(0.0, 1.0), LevelReading(1.0, 12.0)], [], setup())
    assert profile.beyond_limit == [1]

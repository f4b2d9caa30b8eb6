"""Levels against values worked by hand, and what must hold for any run."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.survey.errors import SurveyError
from webapp.survey.profile import Reading, integrate

angles = st.floats(-9, 9)
steps = st.lists(st.tuples(st.floats(0.1, 20), angles), min_size=1, max_size=20)


def readings_of(pairs):
    chainage, out = 0.0, []
    for step, deg in pairs:
        out.append(Reading(chainage, deg))
        chainage += step
    return out


def test_inclinometer_error_table():
    """0.1 degrees over 30 m is 52 mm (tolerance table: inclinometer error, computed)."""
    stations = integrate([Reading(0, -0.1), Reading(30, -0.1)], 0.0, 10.0, 0.0)
    assert stations[-1].low_m == pytest.approx(-0.052, abs=0.0005)


def test_one_in_eighty_over_forty_metres_of_pipe():
    """By hand: sine of atan(1/80) is 0.0124990; times 40 m is 0.49996 m."""
    deg = -math.degrees(math.atan(1 / 80))
    stations = integrate([Reading(0, deg), Reading(40, deg)], 10.0, 10.0, 0.0)
    assert stations[-1].low_m == pytest.approx(10 - 0.49996, abs=1e-5)
    assert [s.known for s in stations] == ["computed", "computed"]


def test_beyond_the_range_is_at_least_never_a_number():
    """By hand: 10 degrees over the 5 m on which the reading acts is at least 0.868 m down."""
    readings = [Reading(0, 0.0), Reading(5, None, -1), Reading(10, 0.0)]
    last = integrate(readings, 0.0, 10.0, 0.0)[-1]
    assert last.known == "bounded"
    assert last.high_m == pytest.approx(-5 * math.sin(math.radians(10)), abs=1e-12)
    assert last.low_m == pytest.approx(-5.0)


def test_before_the_first_and_beyond_the_last_reading_is_assumed():
    stations = integrate([Reading(2, -1.0), Reading(4, -1.0)], 0.0, 10.0, 0.0, 6.0)
    assert [(s.chainage_m, s.known) for s in stations] == [
        (0.0, "computed"),
        (2, "assumed"),
        (4, "computed"),
        (6.0, "assumed"),
    ]


def test_no_reading_gives_no_level():
    assert integrate([], 5.0, 10.0, 0.0, 30.0) == []


@pytest.mark.parametrize(
    ("readings", "limit", "code", "index"),
    [
        ([Reading(0, 1.0)], 0, "limit_out_of_range", None),
        ([Reading(0, None, 0)], 10, "reading_incomplete", 0),
        ([Reading(5, 1.0), Reading(4, 1.0)], 10, "chainage_not_ascending", 1),
    ],
)
def test_refusals(readings, limit, code, index):
    with pytest.raises(SurveyError) as caught:
        integrate(readings, 0.0, limit, 0.0)
    assert (caught.value.code, caught.value.index) == (code, index)


@given(steps, st.floats(-100, 100))
def test_levels_shift_with_the_start_level(pairs, shift):
    plain = integrate(readings_of(pairs), 0.0, 10.0, 0.0)
    moved = integrate(readings_of(pairs), shift, 10.0, 0.0)
    for a, b in zip(plain, moved, strict=True):
        assert b.low_m - a.low_m == pytest.approx(shift, abs=1e-9)


@given(steps)
def test_no_level_changes_more_than_the_pipe_is_long(pairs):
    stations = integrate(readings_of(pairs), 0.0, 10.0, 0.0)
    for a, b in itertools.pairwise(stations):
        assert abs(b.low_m - a.low_m) <= b.chainage_m - a.chainage_m + 1e-9


@given(steps, st.data())
def test_losing_a_reading_to_the_range_never_excludes_the_truth(pairs, data):
    """A reading above the limit, shown only as over range: the true level stays within the bounds."""
    readings = readings_of(pairs)
    which = data.draw(st.integers(0, len(readings) - 1))
    true_deg = data.draw(st.floats(10, 60)) * data.draw(st.sampled_from([-1, 1]))
    truth = list(readings)
    truth[which] = Reading(readings[which].chainage_m, true_deg)
    shown = list(readings)
    shown[which] = Reading(readings[which].chainage_m, None, 1 if true_deg > 0 else -1)
    for a, b in zip(integrate(truth, 0.0, 10.0, 0.0), integrate(shown, 0.0, 10.0, 0.0), strict=True):
        assert b.low_m - 1e-9 <= a.low_m <= b.high_m + 1e-9

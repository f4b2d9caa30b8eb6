"""Clock positions within a run: by hand from the sine rule, and the same on both sides."""

import math

import pytest
from hypothesis import strategies as st
from parity import parity
from twins import agree

from webapp.survey.coding.run_clock import clock_suggestions, round_stretch_at
from webapp.survey.errors import SurveyError

ROUND = {"shape": "circular", "height_mm": 450, "from_counter_m": 0.0, "to_counter_m": 20.0}


def stretch(name, **fields):
    return {"id": name, "fields": ROUND | fields}


def hours(found):
    return [(row["hour"], row["nearest_hour"]) for row in found]


def test_seen_at_3_from_low_in_a_pipe_by_hand():
    """beta = alpha + asin((x cos alpha + (R - h) sin alpha) / R), alpha 90 deg, x 0.

    R 225 mm, h 60 mm: asin(165 / 225) = asin(0.73333) = 47.167 deg; beta 137.167 deg is 4.572 h, nearest 5.
    To the wall: sqrt(225^2 - 165^2) = sqrt(23400) = 152.97 mm.
    """
    (row,) = clock_suggestions(450, 60, [3])
    assert row["true_hours"] == pytest.approx(4.572, abs=0.0005)
    assert row["nearest_hour"] == 5
    assert row["wall_distance_m"] == pytest.approx(0.15297, abs=0.00001)


def test_seen_at_1_from_high_in_a_pipe_by_hand():
    """The same formula, alpha 30 deg, h 400 mm above R 225 mm: R - h = -175 mm.

    (R - h) sin alpha = -87.5 mm; asin(-87.5 / 225) = asin(-0.38889) = -22.885 deg; beta 7.115 deg is
    0.237 h, nearest 12. To the wall: sqrt(225^2 - 87.5^2) - 175 cos 30 deg = 207.289 - 151.554 = 55.73 mm.
    """
    (row,) = clock_suggestions(450, 400, [1])
    assert row["true_hours"] == pytest.approx(0.2372, abs=0.0005)
    assert row["nearest_hour"] == 12
    assert row["wall_distance_m"] == pytest.approx(0.05573, abs=0.00002)


def test_crown_and_invert_stay_and_left_mirrors_right():
    assert clock_suggestions(450, 60, [12, 6]) == []
    assert hours(clock_suggestions(450, 60, [3, 9])) == [(3, 5), (9, 7)]


@pytest.mark.parametrize("camera_mm", [225, 234, 216, 450, 0, 900])
def test_nothing_near_the_axis_or_with_the_lens_at_or_beyond_the_wall(camera_mm):
    assert clock_suggestions(450, camera_mm, list(range(1, 13))) == []


def test_an_hour_that_is_none_is_refused():
    with pytest.raises(SurveyError) as caught:
        clock_suggestions(450, 60, [13])
    assert caught.value.code == "clock_out_of_range"


def test_the_stretch_here_is_found_and_no_other():
    run = [stretch("a"), stretch("b", from_counter_m=20.0, to_counter_m=30.0, height_mm=300)]
    assert round_stretch_at(run, 7.5)["id"] == "a"
    assert round_stretch_at(run, 25)["id"] == "b"
    assert round_stretch_at(run, 20) is None, "two sizes meet"
    assert round_stretch_at(run, 30.1) is None


@pytest.mark.parametrize(
    "change", [{"shape": "egg"}, {"shape": None}, {"height_mm": None}, {"to_counter_m": None},
               {"from_counter_m": None}, {"size_known": "unknown"}]
)  # fmt: skip
def test_no_stretch_without_a_round_pipe_of_known_size(change):
    assert round_stretch_at([stretch("a")], 5)["id"] == "a"
    assert round_stretch_at([stretch("a", **change)], 5) is None


@parity("coding/run_clock", st.floats(0.9, 5000), st.floats(-0.1, 1.1), st.integers(0, 13))
def test_both_sides_agree_on_hours(twin, diameter_mm, share, odd):
    seen = [*range(1, 13), odd]
    found = agree(
        twin,
        "survey/coding/run_clock",
        "clock_suggestions",
        clock_suggestions,
        diameter_mm,
        share * diameter_mm,
        seen,
    )
    assert all(row["nearest_hour"] != row["hour"] and math.isfinite(row["true_hours"]) for row in found or [])


def test_both_sides_draw_the_line_in_the_same_place(twin):
    counts = []
    for share in range(1, 100):
        args = (450.0, 4.5 * share, list(range(1, 13)))
        counts.append(
            len(agree(twin, "survey/coding/run_clock", "clock_suggestions", clock_suggestions, *args))
        )
    assert max(counts) == 10
    assert counts[49] == 0
    assert counts == counts[::-1], "as far below the axis as above"


ENDS = st.sampled_from([None, 0.0, 5.0, 10.0, 20.0])
FIELDS = st.fixed_dictionaries({
    "shape": st.sampled_from(["circular", "circular", "egg", None]),
    "height_mm": st.sampled_from([300, 450, None]),
    "size_known": st.sampled_from(["measured", "unknown", None]),
    "from_counter_m": ENDS, "to_counter_m": ENDS,
})  # fmt: skip


@parity("coding/run_clock", st.lists(FIELDS, max_size=4), st.sampled_from([0.0, 3.0, 5.0, 10.0, 15.0]))
def test_both_sides_find_the_same_stretch(twin, rows, counter_m):
    run = [{"id": str(i), "fields": fields} for i, fields in enumerate(rows)]
    agree(twin, "survey/coding/run_clock", "round_stretch_at", round_stretch_at, run, counter_m)

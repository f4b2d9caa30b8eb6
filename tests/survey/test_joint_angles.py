"""An angle at a joint turns the trace like any bend; without its direction it is asked for, never guessed."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from leave_cases import RUN, TABLES, changed, several, sound
from run_made import figures_of
from test_run_model import records
from test_run_plan_and_capacity import CODES, TOOLS, bearing

from webapp.figures.run_records import RunRecords
from webapp.survey.plan.run_trace import TraceFacts, run_trace
from webapp.survey.plan.turns import turns_a_joint
from webapp.survey.review.leave_site import open_items

WAYS = {"left": -1, "right": 1, "up": 0, "down": 0}


def angled(at_m=30.0, angle=10, **more):
    return {"code": "BAJ", "characterisation_1": "C", "quantification_1": angle, "counter_m": at_m, **more}


def traced(*seen, **run):
    run = {"start_bearing": bearing(0.0, sd_deg=0.5), "end_counter_m": 50.0} | run
    return run_trace(TraceFacts(run, [], [], records(*seen), CODES, TOOLS, None, None))


def end_of(found):
    return found["trace"]["points"][-1]


def test_an_angle_at_a_joint_by_hand():
    """30 m north, 10 degrees right, 20 m: 20 sin 10 = 3.473 m east, 30 + 20 cos 10 = 49.696 m north."""
    found = traced(angled(turns_to="right"))
    end = end_of(found)
    assert (end["e_m"], end["n_m"]) == (pytest.approx(3.4730, abs=1e-4), pytest.approx(49.6962, abs=1e-4))
    assert [(b["id"], b["joint"], b["sd_deg"]) for b in found["bends"]] == [("00", True, 5.0)]
    assert found["left_out"] == [] and len(found["trace"]["points"]) == 3


def test_the_whole_way_through_the_figures_of_a_run():
    run = {"start_bearing": bearing(0.0), "end_counter_m": 50.0}
    seen = records(angled(turns_to="left"), {"code": "BAB", "counter_m": 40.0})
    found = figures_of("r", run, {}, RunRecords(observations=seen))
    assert found.trace["bends"][0]["deflection_deg"] == -10
    crack = found.placed[1]
    assert crack["e_m"] == pytest.approx(-10 * math.sin(math.radians(10)), abs=1e-4)


@pytest.mark.parametrize("hour", range(1, 13))
def test_a_clock_position_alone_is_never_read_as_a_direction(hour):
    found, bare = traced(angled(clock={"hour_from": hour})), traced(angled())
    assert found == bare
    assert found["left_out"] == [{"id": "00", "code": "joint_without_direction"}]
    assert end_of(found)["e_m"] == pytest.approx(0, abs=1e-9)
    # left or right by 10 degrees over 20 m is 3.5 m: the ellipse must hold either
    straight = end_of(traced())
    across = 20 * math.radians(math.hypot(10, 5)) * 2.4477
    assert end_of(found)["ellipse"]["semi_major_m"] == pytest.approx(
        math.hypot(across, straight["ellipse"]["semi_major_m"]), rel=0.02
    )


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(sorted(WAYS)), st.floats(0, 45), st.floats(0, 50), st.integers(1, 12), st.booleans())
def test_the_direction_alone_says_which_way(way, angle, at_m, hour, clocked):
    clock = {"clock": {"hour_from": hour}} if clocked else {}
    found = traced(angled(at_m, angle, turns_to=way, **clock))
    wanted = [WAYS[way] * angle] if WAYS[way] else []
    assert [b["deflection_deg"] for b in found["bends"]] == wanted and found["loose"] == []
    end = end_of(found)
    turn = math.radians(WAYS[way] * angle)
    assert end["e_m"] == pytest.approx((50 - at_m) * math.sin(turn), abs=1e-6)
    assert end["n_m"] == pytest.approx(at_m + (50 - at_m) * math.cos(turn), abs=1e-6)


@pytest.mark.parametrize(
    ("fields", "code", "least_sd"),
    [
        (angled(angle=None, turns_to="left"), "joint_without_angle", 6),
        (angled(angle=120, turns_to="left"), "joint_angle_out_of_range", 6),
        ({"code": "BCC", "characterisation_1": "A", "counter_m": 30.0}, "bend_without_angle", 30),
        ({"code": "BCC", "quantification_1": 22, "counter_m": 30.0}, "bend_without_side", 22),
    ],
)
def test_what_cannot_be_followed_widens_the_ellipse(fields, code, least_sd):
    found = traced(fields)
    assert [one["code"] for one in found["left_out"]] == [code]
    assert found["loose"][0]["sd_deg"] >= least_sd
    assert end_of(found)["ellipse"]["semi_major_m"] > 20 * math.radians(least_sd) * 2.4


def test_angled_joints_over_a_length_are_not_taken_for_one():
    start = angled(20.0, 3, turns_to="left", continuous={"role": "start", "number": 1})
    finish = angled(29.0, None, turns_to="left", continuous={"role": "finish", "number": 1})
    found = traced(start, finish)
    assert (found["bends"], found["left_out"][0]["code"]) == ([], "joint_angle_over_length")
    assert found["loose"][0] == {"id": "00", "chainage_m": 24.5, "sd_deg": pytest.approx(math.hypot(15, 1.5))}


def test_only_an_angle_is_a_turn():
    for kind in ("A", "B"):
        assert traced(angled(characterisation_1=kind, turns_to="left")) == traced()
    row = next(r for r in CODES if r["code"] == "BAJ")
    assert turns_a_joint(row, {"characterisation_1": "C"})
    assert not turns_a_joint(row, {}) and not turns_a_joint(None, {"characterisation_1": "C"})


def test_the_leave_list_asks_which_way_and_stops_asking():
    def requested(**fields):
        records_here = sound()
        angle = {"code": "BAJ", "characterisation_1": "C", "quantification_1": 4} | fields
        several(changed("observation", "break", **angle))(records_here, {})
        return [one for one in open_items(records_here, {}, TABLES) if one["code"] == "direction_missing"]

    (one,) = requested()
    assert (one["run_id"], one["record_id"], one["field"], one["severity"]) == (
        RUN, "break", "turns_to", "site",
    )  # fmt: skip
    assert requested(turns_to="left") == requested(characterisation_1="B") == []
    (bend,) = requested(code="BCC", characterisation_1=None, clock=None)
    assert bend["field"] == "characterisation_1"
    assert (
        requested(code="BCC", characterisation_1="A") == requested(code="BCC", characterisation_2="A") == []
    )


def test_at_a_change_of_pipe_it_is_a_bend_and_no_second_joint():
    pipes = records(
        {"from_counter_m": 0, "to_counter_m": 30, "material": "vitrified_clay"},
        {"from_counter_m": 30, "to_counter_m": 50, "material": "pvc_u"},
    )
    run = {"start_bearing": bearing(0.0), "end_counter_m": 50.0}
    found = figures_of(
        "r", run, {}, RunRecords(stretches=pipes, observations=records(angled(turns_to="left")))
    )
    assert [b["chainage_m"] for b in found.trace["bends"]] == [30.0]
    assert [(one["material"], one["count"]) for one in found.trace["joints"]] == [
        ("vitrified_clay", 14), ("pvc_u", 9),
    ]  # fmt: skip

"""Standing water, flows and rules of a run: by hand, and the same on both sides."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from parity import parity
from test_run_model import metres, optional, records, runs, ties
from test_run_plan_and_capacity import FALL, PIPE, ROUGH, TOOLS, inclinations, pipes, profile_of
from twins import agree, as_json

from webapp import tables
from webapp.survey.errors import SurveyError
from webapp.survey.flow.run_capacity import run_capacity
from webapp.survey.flow.stretch_flow import stretch_flows, stretch_rules
from webapp.survey.levels.band import band_95
from webapp.survey.levels.falls import rise_between, what_would_a_tie_settle
from webapp.survey.levels.input import LevelTie
from webapp.survey.levels.levels import LevelStation, level_profile
from webapp.survey.levels.run_model import run_model
from webapp.survey.levels.run_water import run_water
from webapp.survey.levels.tie_benefit import what_a_far_tie_settles

RULES = tables.load("minimum_gradients")
FLOWING = {"direction": "with_flow"}


def incl(pct):
    sense = "rising" if pct > 0 else "falling"
    return {"size": abs(pct), "unit": "pct", "sense": sense}


def capacity_of(run, stretches, profile):
    return run_capacity(run, records(*stretches), [], ROUGH, profile, TOOLS)["rows"]


def sagging():
    """1 % down for 10 m, 0.5 % up for 10 m, 1 % down again: 10 pipes."""
    read = [
        {"counter_m": m, "inclination": incl(p)}
        for m, p in ((0, -1), (10, -1), (10.001, 0.5), (20, 0.5), (20.001, -1), (40, -1))
    ]
    return read, profile_of(FLOWING, read)


def water_seen(*at):
    return [{"code": "BDD", "counter_m": m, "quantification_1": pct} for m, pct in at]


def test_a_sag_by_hand_depth_length_and_volume():
    """It spills 50 mm above its lowest point, is 15 m long, and a level-bedded wedge of it is two wedges."""
    _, profile = sagging()
    rows = capacity_of(FLOWING, [PIPE | {"height_mm": 600}], profile)
    found = run_water(FLOWING, [], profile, rows, TOOLS)
    (sag,), (rise,) = found["sags"], found["backfalls"]
    assert sag["depth_m"] == pytest.approx(0.05, abs=2e-4)
    assert sag["length_m"] == pytest.approx(15.0, abs=0.02)
    assert (rise["from_m"], rise["to_m"]) == (pytest.approx(10, abs=0.01), pytest.approx(20, abs=0.01))
    assert rise["rise_m"] == pytest.approx(0.05, abs=2e-4)
    # a shallow segment of a circle is about 4/3 * sqrt(2 r) * h^1.5; along a wedge that is 2/5 of the length
    segment = 4 / 3 * math.sqrt(2 * 0.3) * 0.05**1.5
    assert sag["volume_m3"] == pytest.approx(segment * 2 / 5 * 15.0, rel=0.02)


def test_water_seen_is_compared_less_the_running_water():
    _, profile = sagging()
    rows = capacity_of(FLOWING, [PIPE | {"height_mm": 600}], profile)
    found = run_water(
        FLOWING, records(*water_seen((2, 10), (10, 18), (11, 90), (30, 12))), profile, rows, TOOLS
    )
    assert [c["verdict"] for c in found["checks"]] == ["agrees", "agrees", "deeper", "agrees"]
    assert found["checks"][1]["flow_depth_m"] == pytest.approx(0.06)
    assert found["checks"][1]["observed_m"] == pytest.approx(0.08 * 0.6)


def test_no_backfall_without_a_direction_and_no_volume_without_a_bore():
    _, profile = sagging()
    found = run_water({}, records(*water_seen((2, 10))), profile, [], TOOLS)
    assert (found["flow"], found["backfalls"], found["checks"]) == ("unknown", [], [])
    assert found["sags"][0]["volume_m3"] is None


def test_a_flow_by_hand():
    """Half of the capacity of a pipe, wall friction being nearly quadratic, runs near half full."""
    rows = capacity_of(FLOWING, [PIPE], profile_of({}, FALL))
    (found,) = stretch_flows(rows, rows[0]["capacity"]["mean_m3_s"] / 2, 0.7, 1.0)
    assert found["at"] == "middle"
    assert found["depth_m"] == pytest.approx(0.075, abs=0.002)
    assert (found["by_velocity"], found["by_shear"]) == (True, True)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"left_out": "size_not_known"}, "size_not_known"),
        ({"gradient": None, "gradient_low": None}, "gradient_unknown"),
        ({"gradient": -0.01}, "gradient_adverse"),
    ],
)
def test_a_flow_that_cannot_be_computed_says_why(change, code):
    rows = capacity_of(FLOWING, [PIPE], profile_of({}, FALL))
    assert stretch_flows([rows[0] | change], 0.005, 0.7, 1.0)[0]["left_out"] == code
    assert stretch_flows(rows, -1.0, 0.7, 1.0)[0]["left_out"] == "flow_out_of_range"


def test_the_rules_beside_a_gradient():
    """1 in 80 at 150 mm with its band: steeper than 1 in 150; a band from 1 in 200 to 1 in 100 cannot say."""
    rows = capacity_of(FLOWING, [PIPE | {"height_mm": 150}], profile_of({}, FALL))
    by_name = {one["rule"]: one for one in stretch_rules(rows[0] | {"gradient_low": 0.01}, RULES, 0.002, 5)}
    assert {k: v["verdict"] for k, v in by_name.items()} == dict.fromkeys(by_name, "steeper")
    assert by_name["foul_drains"]["one_in"] == 150
    unsure = stretch_rules(rows[0] | {"gradient_low": 0.005, "gradient_high": 0.01}, RULES, 0.002, 5)
    assert {one["verdict"] for one in unsure} == {"cannot_say"}
    flat = stretch_rules(rows[0] | {"gradient_low": 0.001, "gradient_high": 0.002}, RULES, 0.002, 0)
    assert [one["verdict"] for one in flat] == ["cannot_say", "flatter", "flatter"]
    assert flat[0]["findings"] == ["too_few_wcs"]


FEW_READINGS = st.lists(
    st.fixed_dictionaries({"counter_m": metres, "inclination": inclinations}), min_size=2, max_size=6
)


@parity("levels/tie_benefit", runs, ties, FEW_READINGS, each=10)
def test_both_sides_see_what_a_far_tie_settles(twin, run, tied, read):
    model = run_model(run, records(*read), records(*tied), [], [], TOOLS)
    try:
        profile = level_profile(model.readings, model.ties, model.setup)
    except SurveyError:
        return

    def ours(_, sd):
        return what_a_far_tie_settles(profile, sd)

    agree(twin, "survey/levels/tie_benefit", "what_a_far_tie_settles", ours, as_json(profile), 0.01)


@settings(max_examples=150, deadline=None)
@given(runs, ties, FEW_READINGS)
def test_a_far_tie_settles_what_solving_again_says(run, tied, read):
    model = run_model(run, records(*read), records(*tied), [], [], TOOLS)
    try:
        profile = level_profile(model.readings, model.ties, model.setup)
        far_m = profile.stations[-1].chainage_m
        there = model.ties or [LevelTie(0.0, 0.0, 0.01)]
        again = what_would_a_tie_settle(model.readings, there, model.setup, far_m, 0.01)
        both = [*there, LevelTie(far_m, 0.0, 0.01)]
        fall_sd = rise_between(
            level_profile(model.readings, both, model.setup).solution, 0, len(profile.stations) - 1
        )[1]
    except SurveyError:
        return
    assume(len(profile.stations) > 1)
    found = what_a_far_tie_settles(profile, 0.01)
    assert found["both_ends"] == (not model.ties)
    if found["both_ends"]:
        assert found["sd_m"] == pytest.approx(fall_sd, rel=1e-5, abs=1e-7)
    else:
        assert found["now_sd_m"] == again.far_now_sd_m
        assert found["sd_m"] == pytest.approx(again.far_sd_m, rel=1e-5, abs=1e-7)


bounds = st.one_of(st.none(), st.floats(-50, 50))
spreads = st.one_of(st.none(), st.floats(0, 9))


@parity("levels/band", bounds, bounds, spreads, spreads)
def test_both_sides_give_one_band(twin, low, high, low_sd, high_sd):
    station = LevelStation(1.0, None, None, low, high, low_sd, high_sd, "bounded", 0.0, 0.0)
    agree(twin, "survey/levels/band", "band_95", lambda _: band_95(station), as_json(station), within=0.0)


observed = st.lists(
    optional(
        counter_m=metres,
        code=st.sampled_from(["BDD", "BBC"]),
        quantification_1=st.sampled_from([None, 0, 5, 45, 100, 120]),
    ),
    max_size=5,
)
directed = st.tuples(runs, optional(direction=st.sampled_from(["with_flow", "against_flow", "unknown"]))).map(
    lambda two: {**two[0], **two[1]}
)
taken = st.lists(
    st.fixed_dictionaries({"counter_m": metres, "inclination": inclinations}), min_size=2, max_size=6
)


@parity(
    "levels/run_water",
    "flow/stretch_flow",
    directed,
    pipes,
    observed,
    taken,
    st.sampled_from([0.0, 0.004, 3.0]),
    st.sampled_from([0, 5]),
    each=10,
    keep=[RULES],
)
def test_both_sides_agree_on_water_flow_and_rules(twin, run, stretches, seen, read, flow, wcs):
    model = run_model(run, records(*read), [], records(*stretches), [], TOOLS)
    try:
        profile = level_profile(model.readings, model.ties, model.setup)
    except SurveyError:
        return
    rows = run_capacity(run, records(*stretches), records(*seen), ROUGH, profile, TOOLS)["rows"]

    def water(run, seen, _, rows, __):
        return run_water(run, seen, profile, rows, TOOLS)

    args = (run, records(*seen), as_json(profile), rows, as_json(TOOLS))
    agree(twin, "survey/levels/run_water", "run_water", water, *args)
    agree(twin, "survey/flow/stretch_flow", "stretch_flows", stretch_flows, rows, flow, 0.7, 1.0)
    for row in rows:
        agree(twin, "survey/flow/stretch_flow", "stretch_rules", stretch_rules, row, RULES, flow, wcs)

"""Levels at a place, extent and places along a trace: by hand, and the same on both sides."""

from itertools import pairwise

import pytest
from hypothesis import strategies as st
from parity import parity
from test_run_model import checks, deg, optional, readings, records, ties
from test_run_plan_and_capacity import (
    CODES,
    PLACE,
    TOOLS,
    bearing,
    more_runs,
    pipes,
    places,
    seen,
)
from twins import agree, as_json

from webapp.survey.errors import SurveyError
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.levels.at import level_at
from webapp.survey.levels.bound_side import level_senses
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import node_invert, run_model
from webapp.survey.plan.run_extent import run_extent
from webapp.survey.plan.run_places import ellipse_outline, far_end, places_along
from webapp.survey.plan.run_trace import TraceFacts, run_trace

TIED = [{"counter_m": 0.0, "invert_level_m": 10.0, "sd_m": 0.01}]


def profile_of(run, read, tied=(), stretches=()):
    model = run_model(run, records(*read), records(*tied), records(*stretches), [], TOOLS)
    return level_profile(model.readings, model.ties, model.setup)


def shown(*pairs):
    def inclination(d):
        return d if isinstance(d, dict) else deg(abs(d), "rising" if d > 0 else "falling")

    return [{"counter_m": m, "inclination": inclination(d)} for m, d in pairs]


OVER = {"over_range": True, "sense": "falling"}


def test_half_way_between_two_stations_by_hand():
    """20 m at 1 degree falling from 10.000: 0.3490 m down at the end, 0.1745 m half way."""
    profile = profile_of({}, shown((0, -1.0), (20, -1.0)), TIED)
    middle, end = level_at(profile, 10.0), level_at(profile, 20.0)
    assert middle.level_m == pytest.approx(9.8255, abs=1e-4)
    assert (middle.known, middle.sd_m) == ("computed", end.sd_m)
    assert level_at(profile, 20.5) is None and level_at(profile, -0.5) is None


def test_between_bounds_there_is_no_level():
    profile = profile_of({}, shown((0, -1.0), (10, OVER), (20, -1.0)), TIED)
    here = level_at(profile, 12.0)
    assert here.level_m is None and here.known == "bounded" and here.low_m < here.high_m


def test_how_far_a_run_was_surveyed():
    run = {"end_counter_m": 52.0, "expected_length_m": 68.0, "end_reason": "obstruction"}
    found = run_extent(run, [], [], TOOLS)
    assert (found["surveyed_m"], found["surveyed_known"], found["remaining_m"]) == (52.0, "measured", 16.0)
    reached = run_extent(run | {"end_reason": "node_reached"}, [], [], TOOLS)
    assert reached["remaining_m"] is None and reached["far_check"]["flagged"]
    last = run_extent({}, records({"counter_m": 5.0}), records({"counter_m": 7.5}), TOOLS)
    assert (last["surveyed_m"], last["surveyed_known"]) == (7.5, "assumed")
    assert run_extent({}, [], [], TOOLS)["surveyed_known"] == "unknown"
    nowhere = {"end_counter_m": 0.0, "expected_length_m": 9.0, "end_reason": "node_reached"}
    assert run_extent(nowhere, [], [], TOOLS)["far_check"] is None


def test_the_far_end_and_an_observation_after_a_bend_by_hand():
    """30 m north, 45 degrees right, 20 m: the end is 46.35 m away at 17.76 degrees."""
    bend = {"code": "BCC", "characterisation_1": "B", "quantification_1": 45, "counter_m": 30.0}
    run = {"start_bearing": bearing(0.0), "end_counter_m": 50.0, "start_node_id": "00"}
    nodes = records({"position": PLACE})
    seen_here = records(bend, {"counter_m": 40.0}, {"counter_m": 60.0}, {})
    facts = TraceFacts(run, nodes, [], seen_here, CODES, TOOLS, None, None)
    found = run_trace(facts)
    end = far_end(found)
    assert (end["distance_m"], end["bearing_deg"]) == (
        pytest.approx(46.352, abs=1e-3),
        pytest.approx(17.764, abs=1e-3),
    )
    assert end["radius_m"] == found["trace"]["points"][-1]["ellipse"]["semi_major_m"]
    assert (end["lat_deg"], end["lon_deg"]) == tuple(found["places"][-1].values())
    placed = places_along(seen_here, found, facts)
    assert [p["id"] for p in placed] == ["00", "01"]
    assert placed[1]["e_m"] == pytest.approx(7.0711, abs=1e-4)
    assert placed[1]["n_m"] == pytest.approx(37.0711, abs=1e-4)
    assert placed[1]["lat_deg"] > PLACE["lat_deg"]


def test_the_outline_of_an_ellipse_is_closed_and_anticlockwise():
    ring = ellipse_outline(4.0, 2.0, 30.0)
    assert ring[0] == ring[-1] and len(ring) == 49
    area = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairwise(ring)) / 2
    assert area == pytest.approx(3.14159 * 8, rel=0.004) and area > 0


@parity("plan/run_extent", more_runs, readings, seen, st.sampled_from([None, 0, 7.5, 33]), checks, each=10)
def test_both_sides_see_the_same_extent(twin, run, read, observed, expected, checked):
    held = instruments_of(records(*checked), "run")
    args = (run | {"expected_length_m": expected}, records(*read), records(*observed), as_json(held))
    agree(twin, "survey/plan/run_extent", "run_extent", lambda *a: run_extent(*a[:3], held), *args)


@parity("plan/run_places", more_runs, readings, seen, places, st.sampled_from([None, 2.5]), each=10)
def test_both_sides_place_things_alike(twin, run, read, observed, nodes, declination):
    facts = TraceFacts(
        run, records(*nodes), records(*read), records(*observed), CODES, TOOLS, declination, None
    )
    try:
        found = run_trace(facts)
    except SurveyError:
        return
    agree(twin, "survey/plan/run_places", "far_end", far_end, found)
    asked = {"run": run, "nodes": facts.nodes, "readings": facts.readings, "instruments": as_json(TOOLS)}
    args = (facts.observations, found, asked)
    agree(twin, "survey/plan/run_places", "places_along", lambda *a: places_along(*a[:2], facts), *args)


@parity("plan/run_places", st.floats(0, 50), st.floats(0, 50), st.floats(0, 180), cases=200)
def test_both_sides_outline_alike(twin, major, minor, azimuth):
    agree(twin, "survey/plan/run_places", "ellipse_outline", ellipse_outline, major, minor, azimuth)


@pytest.mark.parametrize(
    ("pairs", "ties", "expected"),
    [
        ([(0, 1.0), (10, OVER), (20, 1.0)], TIED, ["", "at_most", "at_most"]),
        ([(0, 1.0), (10, OVER), (20, 1.0)], [TIED[0] | {"counter_m": 20.0}], ["at_least", "at_least", ""]),
        ([(0, 1.0), (10, OVER | {"sense": "rising"}), (20, OVER), (30, 1.0)], TIED,
         ["", "at_least", "between", "between"]),
    ],
)  # fmt: skip
def test_the_side_of_a_vertical_pipe_says_nothing(pairs, ties, expected):
    assert level_senses(profile_of({}, shown(*pairs), ties)) == expected


@parity("levels/bound_side", more_runs, readings, ties, pipes, each=10)
def test_both_sides_say_bounds_alike(twin, run, read, tied, stretches):
    try:
        profile = profile_of(run, read, tied, stretches)
    except SurveyError:
        return
    agree(twin, "survey/levels/bound_side", "level_senses", lambda _: level_senses(profile), as_json(profile))


@parity(
    "levels/run_model",
    optional(
        cover_level_m=st.floats(-500, 9000),
        dipped_depth_m=st.floats(0, 100),
        cover_level_sd_m=st.sampled_from([0, 0.02, None]),
        dipped_depth_sd_m=st.just(0.01),
    ),
    cases=100,
)
def test_both_sides_take_the_dip_off_the_cover(twin, fields):
    agree(twin, "survey/levels/run_model", "node_invert", node_invert, fields)

"""Declination and positions as their sources state them: by hand, and how they widen the search area."""

import datetime
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from run_made import figures_of
from test_run_model import records
from test_run_plan_and_capacity import CODES, PLACE, TOOLS, bearing

from webapp.declination import declination
from webapp.figures.run_records import RunRecords
from webapp.survey.errors import SurveyError
from webapp.survey.plan import position_accuracy, trace_basis
from webapp.survey.plan.run_trace import TraceFacts, run_trace

few = settings(max_examples=200, deadline=None)


def turned(job, **own):
    run = {
        "start_node_id": "00",
        "start_bearing": bearing(90.0, "magnetic", sd_deg=3.0, **own),
        "end_counter_m": 40.0,
    }
    return figures_of("r", run, job, RunRecords(nodes=records({"position": PLACE}))).trace


@pytest.mark.parametrize(
    ("job", "sd", "known"),
    [
        ({"declination_sd_deg": 4.0, "declination_known": "model", "declination_model": "WMM-2025"}, 4.0,
         "computed"),
        ({"declination_known": "model"}, 0.7, "assumed"),
        ({"declination_known": "map"}, 1.0, "assumed"),
        ({}, 1.0, "assumed"),
        ({"declination_sd_deg": 0.2, "declination_known": "map"}, 0.2, "measured"),
    ],
)  # fmt: skip
def test_the_declination_brings_its_own_spread(job, sd, known):
    found = turned({"declination_deg": 2.0, **job})
    used = found["declination"]
    assert (used["deg"], used["sd_deg"], used["sd_known"]) == (2.0, sd, known)
    assert used["model"] == job.get("declination_model", "")
    assert (found["bearing_read_sd_deg"], found["bearing_sd_deg"]) == (
        3.0,
        pytest.approx(math.hypot(3.0, sd)),
    )
    run = {"start_bearing": bearing(90.0, sd_deg=3.0), "end_counter_m": 40.0}
    assert (
        run_trace(TraceFacts(run, [], [], [], CODES, TOOLS, 2.0, None))["declination"] is None
    )  # true north needs none


def test_the_assumed_spread_of_a_model_covers_the_published_one_but_near_the_poles():
    """WMM2025 error model: root of 0.26 squared plus (5417 / H) squared; 0.7 at H = 8,335 nT."""
    for lon in (-100, -20, 5, 25, 60, 120, 150):
        for lat in range(-45, 61, 5):
            found = declination(lat, lon, datetime.date(2026, 11, 29))
            assert 0.26 < found.sd_deg < trace_basis.ASSUMED["model_sd_deg"], (lat, lon)
    assert math.hypot(0.26, 5417 / 8_335) == pytest.approx(0.7, abs=1e-3)


@pytest.mark.parametrize(
    ("position", "pct", "radius"),
    [
        ({"accuracy_m": 10.0, "source": "phone", "accuracy_pct": 68}, 68, 16.2142),  # root(ln .05 / ln .32)
        ({"accuracy_m": 10.0, "source": "phone"}, 63, 17.3582),  # root(ln .05 / ln .37)
        ({"accuracy_m": 10.0, "source": "receiver"}, 95, 10.0),
        ({"accuracy_m": 10.0, "source": "typed", "accuracy_pct": 50}, 50, 20.7895),  # root(ln .05 / ln .5)
        ({"accuracy_m": 10.0}, 95, 10.0),
        ({"source": "phone"}, 63, None),
    ],
)
def test_a_radius_is_read_as_its_source_states_it(position, pct, radius):
    assert position_accuracy.stated_pct(position) == pct
    found = position_accuracy.radius_95_m(position)
    assert found == (radius if radius is None else pytest.approx(radius, abs=1e-3))


@few
@given(st.floats(0, 1000), st.floats(1, 94.9), st.floats(1, 99.9))
def test_the_less_often_it_holds_the_wider_it_is(stated, less, more):
    radius = [position_accuracy.radius_95_m({"accuracy_m": stated, "accuracy_pct": p}) for p in (less, more)]
    assert radius[0] >= stated
    assert (radius[0] >= radius[1]) == (less <= more) or radius[0] == pytest.approx(radius[1])


@pytest.mark.parametrize("pct", [0, 100, math.nan, "95", True])
def test_a_share_that_is_none_is_refused(pct):
    with pytest.raises(SurveyError) as caught:
        position_accuracy.radius_95_m({"accuracy_m": 1.0, "accuracy_pct": pct})
    assert caught.value.code == "share_out_of_range"


def test_a_far_end_is_named_with_its_position():
    run = {
        "start_node_id": "00", "finish_node_id": "01", "start_bearing": bearing(88.0), "end_counter_m": 40.0,
        "end_reason": "node_reached",
    }  # fmt: skip
    there = {"lat_deg": 52.0, "lon_deg": -1.5 + 0.000583, "accuracy_m": 3.0, "source": "phone"}
    found = figures_of(
        "r", run, {}, RunRecords(nodes=records({"position": PLACE}, {"position": there}))
    ).trace
    assert found["tie"] == {"radius_m": pytest.approx(5.2075, abs=1e-3), "known": "measured", "stated_m": 3.0,
                            "stated_pct": 63.0, "source": "phone"}  # fmt: skip

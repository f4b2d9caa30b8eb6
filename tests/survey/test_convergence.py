"""The grid convergence that turns a bearing: as typed in, else computed, and the trace says which."""

import pytest
from hypothesis import strategies as st
from parity import parity
from run_made import figures_of
from twins import agree

from webapp.figures.run_records import RunRecords
from webapp.survey.plan.trace_basis import TraceBasis, basis_of, convergence_used

PLACE = {"lat_deg": 54.0, "lon_deg": -1.5}
NODE = {"id": "n", "fields": {"position": PLACE}}
RUN = {
    "start_node_id": "n",
    "start_bearing": {"bearing_deg": 90.0, "north": "grid", "sd_deg": 1.0},
    "end_counter_m": 20.0,
}


def trace_of(job, nodes=(NODE,)):
    found = figures_of("r", RUN, job, RunRecords(nodes=nodes))
    return found.trace, found.refused


def test_the_computed_convergence_turns_the_bearing_and_says_so():
    trace, _ = trace_of({"grid_central_meridian_deg": -3.0})
    assert trace["convergence"] == {"deg": pytest.approx(1.2136, abs=1e-4), "known": "computed"}
    assert trace["bearing_deg"] == pytest.approx(91.2136, abs=1e-4)
    assert (trace["north"], trace["missing"]) == ("true", [])
    assert trace["places"] is not None


def test_a_typed_convergence_always_counts():
    trace, _ = trace_of({"grid_central_meridian_deg": -3.0, "grid_convergence_deg": -2.0})
    assert trace["convergence"] == {"deg": -2.0, "known": "typed"}
    assert trace["bearing_deg"] == pytest.approx(88.0)


def test_without_a_meridian_or_a_position_it_is_missing():
    assert trace_of({})[0]["missing"] == ["convergence"]
    nowhere, _ = trace_of({"grid_central_meridian_deg": -3.0}, ())
    assert nowhere["missing"] == ["start_position", "convergence"]
    assert nowhere["convergence"] is None


def test_a_meridian_on_the_other_side_of_the_earth_is_refused_with_its_code():
    trace, refused = trace_of({"grid_central_meridian_deg": 120.0})
    assert trace is None
    assert refused == {"trace": "too_far_from_meridian"}


def test_a_bearing_from_true_north_needs_none():
    found = figures_of(
        "r",
        RUN | {"start_bearing": {"bearing_deg": 90.0, "north": "true"}},
        {"grid_central_meridian_deg": 120.0},
        RunRecords(nodes=[NODE]),
    )
    assert found.trace["convergence"] is None and found.trace["bearing_deg"] == 90.0


@parity(
    "plan/trace_basis",
    st.none() | st.floats(-5, 5),
    st.none() | st.tuples(st.floats(-89, 89), st.floats(-180, 180)),
    st.none() | st.floats(-180, 180),
)
def test_both_sides_use_the_same_convergence(twin, typed, place, meridian):
    start = None if place is None else {"lat_deg": place[0], "lon_deg": place[1]}
    job = {} if meridian is None else {"grid_central_meridian_deg": meridian}
    basis = basis_of(job, [], [])
    plain = {"central_meridian_deg": meridian}
    agree(
        twin,
        "survey/plan/trace_basis",
        "convergence_used",
        lambda a, b, _: convergence_used(a, b, basis),
        typed,
        start,
        plain,
    )
    assert TraceBasis().central_meridian_deg is None

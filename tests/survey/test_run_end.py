"""The end of a run is recorded once, either way in; everything that goes on ends there."""

import pytest
from hypothesis import strategies as st
from leave_cases import RUN, TABLES, item, sound
from parity import parity
from twins import agree

from webapp.survey.coding.run_end import (
    closed_stretches,
    end_observation,
    ended_run,
    recorded_end,
    start_off_m,
)
from webapp.survey.review.leave_site import open_items


def codes(records):
    return [one["code"] for one in open_items(records, {}, TABLES)]


def without_finish(records):
    records["observation"] = [o for o in records["observation"] if o["id"] != "finish"]
    return records


def test_end_of_run_alone_is_enough():
    assert codes(without_finish(sound())) == []


def test_the_observation_alone_is_enough():
    records = sound()
    records["run"][0]["fields"].update(end_reason=None, end_counter_m=None)
    assert codes(records) == []


@pytest.mark.parametrize(
    "kind,reason", [("A", "obstruction"), ("B", "water"), ("C", "other"), ("Z", "other")]
)
def test_a_run_abandoned_by_an_observation_alone_is_ended(kind, reason):
    records = sound()
    records["run"][0]["fields"].update(end_reason=None, end_counter_m=None, expected_length_m=None,
                                       start_bearing={"bearing_deg": 20, "north": "true"})  # fmt: skip
    item(records, "observation", "finish").update(code="BDC", characterisation_1=kind)
    assert [code for code in codes(records) if code != "other_end"] == []
    assert ended_run({}, records["observation"])["end_reason"] == reason


def test_two_ends_that_differ_are_named():
    records = sound()
    item(records, "observation", "finish").update(code="BDC", characterisation_1="A", counter_m=18.0)
    assert codes(records) == ["end_reason_differs", "end_place_differs"]
    assert {one["record_id"] for one in open_items(records, {}, TABLES)} == {RUN}


@pytest.mark.parametrize(
    "reason,node,reported",
    [("node_reached", "manhole", ("BCE", "A", None)), ("node_reached", None, ("BCE", "Z", "node_reached")),
     ("obstruction", None, ("BDC", "A", None)), ("water", None, ("BDC", "B", None)),
     ("end_of_cable", None, ("BDC", "Z", "end_of_cable"))],
)  # fmt: skip
def test_the_end_of_a_run_comes_to_an_observation(reason, node, reported):
    made = end_observation(
        {"end_counter_m": 7.0, "end_reason": reason}, {"node_type": node} if node else None
    )
    assert (made["code"], made["characterisation_1"], made["remark_for"]) == reported and made[
        "counter_m"
    ] == 7.0
    assert end_observation({"end_reason": reason}, None) is None


OBSERVED = st.lists(
    st.fixed_dictionaries(
        {"code": st.sampled_from(["BCE", "BDC", "BAB", "BCD"])},
        optional={"counter_m": st.sampled_from([None, 0.0, 1.5, 7.0, 7.05]),
                  "characterisation_1": st.sampled_from(["A", "B", "Z", None])},
    ), max_size=4,
)  # fmt: skip
RUNS = st.fixed_dictionaries(
    {}, optional={"end_counter_m": st.sampled_from([None, 7.0, 9.0]),
                  "counter_zero_m": st.sampled_from([0.5, 3.0]),
                  "end_reason": st.sampled_from([None, "", "node_reached", "water", "view_lost"])}
)  # fmt: skip
PIPES = st.lists(
    st.fixed_dictionaries({}, optional={"from_counter_m": st.sampled_from([0.0, 3.0, 9.0]),
                                        "to_counter_m": st.sampled_from([None, 5.0])}), max_size=3,
)  # fmt: skip


@parity("coding/run_end", RUNS, OBSERVED, PIPES)
def test_both_sides_end_a_run_alike(twin, run, observed, pipes):
    seen = [{"id": f"o{n}", "fields": fields} for n, fields in enumerate(observed)]
    stretches = [{"id": f"s{n}", "fields": fields} for n, fields in enumerate(pipes)]
    agree(twin, "survey/coding/run_end", "ended_run", ended_run, run, seen)
    agree(twin, "survey/coding/run_end", "recorded_end", recorded_end, seen)
    agree(
        twin,
        "survey/coding/run_end",
        "closed_stretches",
        closed_stretches,
        stretches,
        run.get("end_counter_m"),
    )
    for one in seen:
        agree(twin, "survey/coding/run_end", "start_off_m", start_off_m, run, one["fields"])

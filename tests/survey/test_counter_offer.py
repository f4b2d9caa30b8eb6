"""A new record never offers a counter behind the camera; what stands where it cannot be is named."""

import pytest
from hypothesis import strategies as st
from leave_cases import RUN, TABLES, item, sound
from parity import parity
from twins import agree, found_by_name

from webapp import tables
from webapp.survey.coding.run_end import START_WITHIN_M
from webapp.survey.instruments.counter_offer import PLACES, offered_counter
from webapp.survey.review.leave_site import open_items
from webapp.survey.review.plausibility import FindingFacts, run_findings, sentence

CODES = tables.load("observation_codes")["rows"]
FINDINGS = tables.load("findings")["rows"]


def made(*reported):
    """Records in the order of their making: kind, counter, further fields."""
    records = {"reading": []}
    for at, (kind, counter_m, more) in enumerate(reported):
        name = PLACES.get(kind, "counter_m")
        records.setdefault(kind, []).append({"id": f"{at:02}", "fields": {name: counter_m, **more}})
    return records


def offer(*reported, run=None):
    return offered_counter(run or {}, made(*reported))


READ = ("reading", 16.5, {})


@pytest.mark.parametrize("kind", [kind for kind in PLACES if kind != "reading"])
def test_what_was_recorded_farther_on_is_offered_whatever_it_is(kind):
    assert offer(READ, (kind, 20.0, {})) == {"counter_m": 20.0, "whence": kind, "last_m": None}


@pytest.mark.parametrize("kind", [kind for kind in PLACES if kind != "reading"])
def test_what_is_recorded_late_does_not_move_the_camera_back(kind):
    assert offer(READ, (kind, 0.0, {})) == {"counter_m": 16.5, "whence": "reading", "last_m": 0.0}


def test_a_reading_farther_back_says_where_the_crawler_stands_now():
    assert offer(READ, ("reading", 10.0, {}), ("observation", 10.4, {}))["counter_m"] == 10.4


def test_a_drive_begins_with_a_reset_of_the_counter():
    reset = {"counter_reset": {"had_shown_m": 16.5, "set_to_m": 0.0}}
    assert offer(READ, ("reading", 0.2, reset))["counter_m"] == 0.2
    late = ("observation", 12.0, {"counter_part": 1})
    assert offer(READ, ("reading", 0.2, reset), late) == {
        "counter_m": 0.2,
        "whence": "reading",
        "last_m": None,
    }
    assert offer(READ, ("reading", None, reset)) == {"counter_m": 0.0, "whence": "reset", "last_m": None}


def test_a_level_known_from_outside_is_no_place_of_the_camera():
    assert offer(READ, ("level_tie", 40.0, {}))["counter_m"] == 16.5


def test_a_picture_of_something_stands_where_that_stands():
    assert offer(("photo", 20.0, {"belongs_to": "x"}), READ)["counter_m"] == 16.5


def test_before_anything_the_counter_at_chainage_zero():
    assert offer(run={"counter_zero_m": 0.6}) == {"counter_m": 0.6, "whence": "zero", "last_m": None}
    assert offer() is None


def findings_of(run, observations, others=()):
    found = run_findings(FindingFacts(run, [], observations, others, None, 90.0), CODES)
    return [
        (one["code"], sentence(tables.messages(), FINDINGS, one))
        for one in found
        if one["field"].endswith("counter_m")
    ]


def start(counter_m):
    fields = {"code": "BCD", "characterisation_1": "A", "counter_m": counter_m}
    return {"id": "start", "fields": fields}


def test_a_start_node_far_down_the_pipe_is_a_finding():
    ((code, words),) = findings_of({"counter_zero_m": 0.5}, [start(16.5)])
    assert code == "start_off_zero" and "16.5 m" in words and "0.5 m" in words
    assert [code for code, _ in findings_of({}, [start(16.5)])] == ["start_off_zero"]
    assert findings_of({"counter_zero_m": 16.5}, [start(16.5)]) == []
    assert findings_of({}, [start(START_WITHIN_M)]) == []


@pytest.mark.parametrize(
    "kind,name",
    [("level_tie", "counter_m"), ("remark", "counter_m"), ("photo", "counter_m"),
     ("stretch", "from_counter_m")],
)  # fmt: skip
def test_a_record_of_any_kind_beyond_the_end_is_a_finding(kind, name):
    other = {"id": "o", "fields": {name: 21.0}}
    ((code, words),) = findings_of({"end_counter_m": 20.0}, [], [other])
    assert code == "beyond_end" and "21 m" in words and "20 m" in words
    assert findings_of({"end_counter_m": 21.0}, [], [other]) == []


def listed(records):
    return [(one["code"], one["record_id"]) for one in open_items(records, {}, TABLES)]


def test_both_are_on_the_list_before_leaving():
    records = sound()
    item(records, "observation", "start")["counter_m"] = 16.5
    item(records, "level_tie", "far")["counter_m"] = 20.01
    assert listed(records) == [("start_misplaced", "start"), ("tie_beyond_finish", "far")]
    records["run"][0]["fields"].update(end_counter_m=20.01, expected_length_m=None)
    item(records, "observation", "start")["counter_m"] = 0.5
    assert listed(records) == []
    assert records["run"][0]["id"] == RUN


KINDS = st.sampled_from([*PLACES, "level_tie"])
AT = st.sampled_from([None, 0.0, 0.5, 3.0, 3.0000001, 12.5, 16.5, 20.0])
MORE = st.sampled_from(
    [{}, {}, {"counter_part": 1}, {"counter_part": 2}, {"belongs_to": "x"}, {"from_part": 1},
     {"counter_reset": {"had_shown_m": 12.5, "set_to_m": 0.5}}]
)  # fmt: skip


@parity(
    "instruments/counter_offer",
    st.lists(st.tuples(KINDS, AT, MORE), max_size=8),
    st.sampled_from([None, 0.0, 0.6]),
)
def test_both_sides_offer_the_same(twin, reported, zero_m):
    run = {} if zero_m is None else {"counter_zero_m": zero_m}
    agree(twin, "survey/instruments/counter_offer", "offered_counter", offered_counter, run, made(*reported))


def test_both_sides_find_the_same(twin):
    ties = [{"id": "t", "fields": {"counter_m": 21.0}}, {"id": "s", "fields": {"from_counter_m": 30.0}}]
    run = {"end_counter_m": 20.0, "counter_zero_m": 0.5}
    facts = {
        "run": run, "readings": [], "observations": [start(16.5)], "others": ties, "cable_length_m": None,
        "limit_deg": 90.0,
    }  # fmt: skip
    assert len(found_by_name(twin, facts, CODES)) == 3

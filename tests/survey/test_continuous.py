"""What goes on along the pipe: each fault by itself, rules that always hold, and the two sides alike."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parity import parity
from twins import agree

from webapp import tables
from webapp.survey.coding import continuous
from webapp.survey.review.plausibility import sentence


def seen(*rows):
    """Observations from (role, number, code, counter) and whatever fields follow."""
    records = []
    for index, (role, number, code, at_m, *more) in enumerate(rows):
        fields = {"code": code, "counter_m": at_m, "continuous": {"role": role, "number": number}}
        records.append({"id": f"o{index}", "fields": fields | (more[0] if more else {})})
    return records


def reported(*rows, end=None):
    """Codes and records of the faults."""
    found = continuous.continuous_items(seen(*rows), end)
    for one in found["faults"]:
        assert "{" not in sentence(tables.messages(), tables.load("findings")["rows"], one)
    return [(one["code"], one["record_id"]) for one in found["faults"]]


def test_parts_carry_the_quantities_that_hold_there():
    rows = seen(
        ("finish", 1, "BDD", 21.8, {"quantification_1": 10}),
        ("start", 1, "BDD", 15.6, {"quantification_1": 10}),
        ("change", 1, "BDD", 20.0, {"quantification_1": 5}),
        ("change", 1, "BDD", 18.6, {"quantification_1": 35}),
        ("start", 2, "BBC", 22.0),
    )
    dip, sand = continuous.continuous_items([*rows, {"id": "x", "fields": {"code": "BAB"}}], None)["items"]
    assert (dip["start_id"], dip["finish_id"], dip["change_ids"]) == ("o1", "o0", ["o3", "o2"])
    lengths = [
        (p["from_counter_m"], p["to_counter_m"], p["fields"]["quantification_1"]) for p in dip["parts"]
    ]
    assert lengths == [(15.6, 18.6, 10), (18.6, 20.0, 35), (20.0, 21.8, 5)]
    assert (sand["open"], sand["to_counter_m"], sand["parts"][0]["to_counter_m"]) == (True, None, None)


SOUND = (("start", 1, "BBC", 2), ("finish", 1, "BBC", 5))
FAULTS = {
    "continuous_not_finished": ((SOUND[0],), "o0"),
    "continuous_not_started": ((*SOUND, ("finish", 2, "BBC", 6)), "o2"),
    "continuous_finish_before_start": ((("finish", 1, "BBC", 1), SOUND[0]), "o0"),
    "continuous_started_twice": ((*SOUND, ("start", 1, "BBC", 7), ("finish", 1, "BBC", 9)), "o2"),
    "continuous_codes_differ": ((SOUND[0], ("finish", 1, "BBB", 5)), "o1"),
    "continuous_change_outside": ((*SOUND, ("change", 1, "BBC", 6)), "o2"),
    "continuous_overlap": ((*SOUND, ("start", 2, "BBC", 4), ("finish", 2, "BBC", 8)), "o2"),
    "continuous_without_place": ((*SOUND, ("change", 1, "BBC", None)), "o2"),
    "continuous_beyond_end": ((*SOUND, ("start", 3, "BBC", 6), ("finish", 3, "BBC", 9)), "o3"),
}


@pytest.mark.parametrize("code", FAULTS)
def test_each_fault_is_told_once_of_the_record_that_has_it(code):
    rows, record_id = FAULTS[code]
    assert reported(*rows, end=8.5 if code == "continuous_beyond_end" else None) == [(code, record_id)]


def test_what_is_sound_has_no_fault():
    assert reported(*SOUND, ("start", 1, "BDD", 3), ("finish", 1, "BDD", 5), end=5) == []
    # the same code beside it at another clock position, or of another kind, is another thing
    assert (
        reported(*SOUND, ("start", 2, "BBC", 2, {"clock": {"hour_from": 9}}), ("finish", 2, "BBC", 5)) == []
    )
    assert (
        reported(*SOUND, ("start", 2, "BBC", 2, {"characterisation_1": "B"}), ("finish", 2, "BBC", 5)) == []
    )


def test_the_next_number_is_free(twin):
    rows = seen(("start", 4, "BBC", 2), ("finish", 2, "BBC", 3))
    for some in ([], rows, rows[1:]):
        agree(twin, "survey/coding/continuous", "next_number", continuous.next_number, some)
    assert continuous.next_number(rows) == 5


def test_what_is_still_open_overlaps_up_to_the_end():
    rows = (("start", 1, "BBC", 2), ("start", 2, "BBC", 40), ("finish", 2, "BBC", 42))
    assert ("continuous_overlap", "o1") in reported(*rows)
    assert ("continuous_overlap", "o1") not in reported(*rows, end=30.0)
    backward = (("start", 1, "BBC", 2), ("finish", 1, "BBC", 1), ("start", 2, "BBC", 3))
    assert [code for code, _ in reported(*backward)] == [
        "continuous_finish_before_start",
        "continuous_not_finished",
    ]


marks = st.tuples(
    st.sampled_from(["start", "start", "finish", "finish", "change"]),
    st.integers(1, 2),
    st.sampled_from(["BBC", "BBC", "BAB"]),
    st.sampled_from([0, 1.5, 2, 2, 3.25, 7, 9, None]),
    st.sampled_from(
        [{}, {}, {"clock": {"hour_from": 5, "hour_to": 7}}, {"clock": None, "quantification_1": 0}]
    ),
)
ends = st.sampled_from([None, 3, 8.0])


@parity("coding/continuous", st.lists(marks, max_size=9), ends)
def test_both_sides_agree_and_lose_nothing(twin, rows, end):
    records = seen(*rows)
    args = ("survey/coding/continuous", "continuous_items", continuous.continuous_items, records, end)
    found = agree(twin, *args)
    items, faults = found["items"], found["faults"]
    reported_of = {one["record_id"] for one in faults}
    paired = [i for item in items for i in (item["start_id"], item["finish_id"], *item["change_ids"]) if i]
    assert len(paired) == len(set(paired))
    assert {record["id"] for record in records} <= {*paired, *reported_of}
    for item in items:
        assert item["open"] == (item["finish_id"] is None)
        parts, end_m = item["parts"], item["to_counter_m"]
        assert parts[-1]["to_counter_m"] == end_m
        assert item["from_counter_m"] == parts[0]["from_counter_m"]
        for one, after in itertools.pairwise(parts):
            assert one["from_counter_m"] < one["to_counter_m"] == after["from_counter_m"]
    assert [i["from_counter_m"] for i in items] == sorted(i["from_counter_m"] for i in items)


@settings(max_examples=60, deadline=None)
@given(st.lists(marks, max_size=9), st.randoms(use_true_random=False))
def test_the_order_of_writing_changes_nothing_where_places_differ(rows, order):
    rows = [row for place, row in {row[3]: row for row in rows if row[3] is not None}.items()]
    turned = list(rows)
    order.shuffle(turned)

    def lengths(some):
        items = continuous.continuous_items(seen(*some), None)["items"]
        return [(i["number"], i["code"], i["from_counter_m"], i["to_counter_m"]) for i in items]

    assert lengths(rows) == lengths(turned)

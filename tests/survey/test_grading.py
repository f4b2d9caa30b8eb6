"""Condition classes worked by hand for both sample jobs, every row of the limits, what must always hold."""

import math

import pytest
from grading_cases import ACTIONS, CODES, SCHEME, grade, observations
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp import tables
from webapp.survey.coding.continuous import continuous_items
from webapp.survey.errors import SurveyError
from webapp.survey.flow.narrowing import FORMS, capacity_left
from webapp.survey.grading.actions import suggested_actions
from webapp.survey.grading.class_limits import class_by_limits, class_by_share
from webapp.survey.grading.grading import GOALS, classes_of, pipe_of
from webapp.survey.grading.points import extra_points
from webapp.survey.wording.condition import step_words

few = settings(max_examples=120, deadline=None)
ROUND = {"pipe": "rigid", "kind": "circular", "bore": {"kind": "circular", "height_m": 0.15, "width_m": None},
         "gradient": 0.01, "roughness_mm": 0.15}  # fmt: skip


@pytest.mark.parametrize("index", range(len(SCHEME["rows"])))
def test_every_row_gives_its_classes(index):
    """An observation made for the row gets exactly the classes that the row says, and names the row."""
    row = SCHEME["rows"][index]
    fields = {"code": row["code"]}
    for name in ("characterisation_1", "characterisation_2"):
        if row[name]:
            fields[name] = row[name][-1]
        elif name == "characterisation_1":
            other = [r for r in SCHEME["rows"] if r["code"] == row["code"] and r["goal"] == row["goal"]]
            assert len(other) == 1 or row["pipe"] != "any" or row["characterisation_2"], "rows overlap"
    pipe = ROUND | {"pipe": "flexible" if row["pipe"] == "flexible" else "rigid"}

    def found(size):
        return classes_of(fields | {"quantification_1": size}, pipe, SCHEME)[row["goal"]]

    if row["rule"] == "flat":
        assert (found(7)["low"], found(7)["high"], found(7)["row"]) == (row["class"], row["class"], index)
    elif row["rule"] == "limits":
        for one, limit in row["limits"].items():
            assert (found(limit)["low"], found(limit)["high"]) == (int(one), int(one))
            if limit:
                assert found(limit - 0.001)["high"] < int(one)
        assert found(row["limits"][max(row["limits"])])["row"] == index
    else:
        shares = [found(size) for size in (0, 1, 20, 45, 99)]
        assert {one["row"] for one in shares} == {index}
        for one in shares:
            assert one["high"] == class_by_share(one["left_low_pct"], SCHEME["capacity_left_pct"])
    assert row["basis"] == "indicative" and row["certainty"] == "common practice, no source"


def test_the_rows_name_codes_letters_and_units_of_the_code_table():
    by_code = {row["code"]: row for row in CODES}
    for row in SCHEME["rows"]:
        code = by_code[row["code"]]
        for name in ("characterisation_1", "characterisation_2"):
            assert set(row[name]) <= {one["value"] for one in code[name]}, row
        if row["rule"] != "flat":
            assert row["unit"] in code["quantification_1"]["unit"].replace(",", " ").split(), row


def test_every_fabric_and_operation_code_has_a_row():
    graded = {row["code"] for row in SCHEME["rows"]}
    own = {row["code"] for row in CODES if row["group"] in ("fabric", "operation")}
    assert own - graded == set()


@few
@given(st.sampled_from(FORMS), st.floats(0, 130), st.floats(0, 130), st.sampled_from([0.1, 0.15, 0.9]))
def test_a_worse_size_never_has_a_better_class(form, one, other, height_m):
    bore = {"kind": "circular", "height_m": height_m, "width_m": None}
    small, large = (capacity_left(form, size, bore, "circular", 0.01, 1.5) for size in sorted((one, other)))
    limits = SCHEME["capacity_left_pct"]
    for end in ("low_pct", "high_pct"):
        assert class_by_share(large[end], limits) >= class_by_share(small[end], limits)


@few
@given(
    st.sampled_from([r for r in SCHEME["rows"] if r["rule"] == "limits"]),
    st.floats(0, 200),
    st.floats(0, 200),
)
def test_a_greater_size_never_has_a_better_class(row, one, other):
    low, high = sorted((one, other))
    assert class_by_limits(low, row["limits"]) <= class_by_limits(high, row["limits"])


@few
@given(st.lists(observations(continuous=False), max_size=5), observations(continuous=False))
def test_another_observation_never_lowers_a_class(some, another):
    def graded(fields):
        records = [{"id": f"o{k}", "fields": one} for k, one in enumerate(fields)]
        stretch = {"from_counter_m": 0, "shape": "circular", "height_mm": 150, "material": "vitrified_clay"}
        return grade({}, [{"id": "s", "fields": stretch}], records, [], [], 40.0, 1.0)

    before, after = graded(some)["run"], graded([*some, another])["run"]
    for goal in GOALS:
        for end in ("low", "high"):
            assert after["goals"][goal][end] >= before["goals"][goal][end]
    assert (after["number_high"] or -math.inf) >= (before["number_high"] or -math.inf)


def test_what_is_not_recorded_is_an_interval_and_never_a_guess():
    unknown = pipe_of(None, None, SCHEME)
    single = {"code": "BAB", "characterisation_1": "B", "characterisation_2": "A"}
    sizeless = classes_of(single, ROUND, SCHEME)["stability"]
    assert (sizeless["low"], sizeless["high"], sizeless["findings"]) == (1, 5, ["size_not_recorded"])
    kindless = classes_of({"code": "BAC"}, ROUND, SCHEME)["operation"]
    assert (kindless["low"], kindless["high"], kindless["findings"]) == (1, 5, ["kind_not_recorded"])
    either = classes_of({"code": "BAA", "characterisation_1": "A", "quantification_1": 5}, unknown, SCHEME)
    assert (either["stability"]["low"], either["stability"]["high"]) == (2, 4)  # flexible 3, rigid 4
    assert either["stability"]["findings"] == ["pipe_not_known"]
    assert either["operation"]["findings"] == ["shape_not_known"]
    assert (either["operation"]["low"], either["operation"]["high"]) == (1, 5)
    shape_alone = pipe_of({"shape": "circular"}, None, SCHEME)
    deep = classes_of({"code": "BBC", "quantification_1": 50}, shape_alone, SCHEME)["operation"]
    assert deep["left_of"] == "area" and deep["left_low_pct"] == pytest.approx(50)
    assert "rests_on_area" in deep["findings"]


def test_what_calls_for_action_at_once():
    def found(fields, run=None):
        records = [{"id": "o", "fields": {"counter_m": 1.0, **fields}}]
        stretch = {"id": "s", "fields": {"from_counter_m": 0, "shape": "circular", "height_mm": 300}}
        one = grade(run or {}, [stretch], records, [], [], 40.0, 1.0)
        actions = suggested_actions(one, {}, ACTIONS, 1.0)[0]["actions"]
        listed = [(i["condition"], i["sure"]) for g in one["graded"] for i in g["immediate"]]
        return listed, [a["action"] for a in actions]

    assert found({"code": "BAC", "characterisation_1": "C"}) == (
        [("collapse", True)],
        ["dig_expose"],  # what is dug out is mended there
    )
    assert found({"code": "BAC"})[0] == [("collapse", False)]
    assert found({"code": "BBD", "characterisation_1": "A", "quantification_1": 5})[0] == [
        ("soil_coming_in", True)
    ]
    assert found({"code": "BAP"})[0] == [("cavity", True)]
    assert found({"code": "BBG"})[0] == [("escaping", True)]
    assert found({"code": "BBE", "characterisation_1": "A", "quantification_1": 90})[0] == [
        ("loss_of_function", True)
    ]
    assert found({"code": "BBE", "characterisation_1": "A", "quantification_1": 40})[0] == []
    drip = {"code": "BBF", "characterisation_1": "B"}
    assert found(drip)[0] == []
    assert found(drip, {"protection_zone": "II"})[0] == [("protection_zone", True)]
    assert found(drip, {"protection_zone": "III_A"})[0] == []


def test_points_follow_the_guideline_s_table():
    run = {
        "water_carried": "foul",
        "protection_zone": "outside",
        "groundwater": "below",
        "soil": "sandy_loam",
    }
    # tightness 30 + 0 + 10 + 15 + 10 (lower half) + 10 (joint); stability 10 + 20; operation 40 + 20
    found = extra_points({"clock": {"hour_from": 5, "hour_to": 7}, "at_joint": True}, run, SCHEME)
    assert [found[goal]["recorded"] for goal in GOALS] == [75, 30, 60]
    assert found["missing"] == [] and all(found[g]["low"] == found[g]["high"] for g in GOALS)
    across = extra_points({"clock": {"hour_from": 2, "hour_to": 5}, "at_joint": False}, run, SCHEME)
    assert across["missing"] == ["clock"]  # over 3 o'clock: either half
    round_it = extra_points({"clock": {"hour_from": 12, "hour_to": 12}, "at_joint": False}, run, SCHEME)
    assert [round_it[goal]["recorded"] for goal in GOALS] == [65, 50, 60]


def test_something_continuous_counts_by_its_length_in_each_stretch():
    first = {"from_counter_m": 0, "to_counter_m": 10, "shape": "circular", "height_mm": 300}
    stretches = [
        {"id": "a", "fields": first},
        {"id": "b", "fields": {"from_counter_m": 10, "to_counter_m": 20}},
    ]
    part = {"code": "BBC", "quantification_1": 30}
    seen = [{"id": k, "fields": {**part, "counter_m": at, "continuous": {"role": role, "number": 1}}}
            for k, at, role in (("x", 8.0, "start"), ("y", 14.0, "finish"))]  # fmt: skip
    items = continuous_items(seen, 20.0)["items"]
    found = grade({}, stretches, seen, items, [], 20.0, 1.01)
    assert [(g["stretch_id"], g["length_m"]) for g in found["graded"]] == [
        ("a", pytest.approx(2.02)), ("b", pytest.approx(4.04)),
    ]  # fmt: skip
    assert [g["classes"]["operation"]["left_of"] for g in found["graded"]] == ["capacity", None]
    open_end = continuous_items(seen[:1], None)["items"]
    lone = grade({}, [], seen[:1], open_end, [], None, 1.0)
    assert lone["graded"][0]["length_m"] is None and lone["run"]["length_number_high"] is None


def test_much_damage_is_renewed():
    stretch = [{"id": "s", "fields": {"from_counter_m": 0, "to_counter_m": 20, "material": "concrete"}}]

    def actions(seen, items=()):
        found = grade({}, stretch, seen, items, [], 20.0, 1.0)
        return [
            (a["action"], a["reasons"][0]["why"])
            for a in suggested_actions(found, {}, ACTIONS, 1.0)[0]["actions"]
        ]

    crack = {"code": "BAB", "characterisation_1": "C", "quantification_1": 6}
    rare = [{"id": f"c{k}", "fields": {**crack, "counter_m": k}} for k in (1, 5, 9)]
    assert actions(rare) == [("repair_point", "damage")]
    assert actions([*rare, {"id": "c4", "fields": {**crack, "counter_m": 12}}]) == [("renew", "many")]
    long = [{"id": k, "fields": {**crack, "counter_m": at, "continuous": {"role": role, "number": 1}}}
            for k, at, role in (("x", 2.0, "start"), ("y", 8.0, "finish"))]  # fmt: skip
    assert actions(long, continuous_items(long, 20.0)["items"]) == [("renew", "long")]


def test_a_code_without_a_row_is_listed_and_not_passed_over():
    seen = [
        {"id": "o", "fields": {"code": "XYZ", "counter_m": 1.0}},
        {"id": "p", "fields": {"code": "BDA", "counter_m": 1.0}},
    ]
    found = grade({}, [], seen, [], [], None, 1.0)
    assert found["ungraded"] == [{"record_id": "o", "code": "XYZ"}]
    assert suggested_actions(found, {}, ACTIONS, 1.0)[0]["actions"][0]["reasons"][0]["why"] == "ungraded"


def test_the_steps_name_every_point_and_its_source():
    crack = {"code": "BAB", "characterisation_1": "C", "quantification_1": 3, "counter_m": 2.0}
    crack |= {"characterisation_2": "A", "clock": {"hour_from": 6}, "at_joint": True}
    records = [{"id": "o", "fields": crack}]
    stretch = [{"id": "s", "fields": {"from_counter_m": 0, "material": "vitrified_clay"}}]
    one = grade({"water_carried": "foul"}, stretch, records, [], [], None, 1.0)["graded"][0]
    assert step_words(tables.messages(), one, "tightness", SCHEME) == [
        "3 mm: class 3, marked, from 2 mm (indicative, limits set by Fallbook).",
        "Class to number: 200 points.",
        "+30 points: foul water (BFR Abwasser, Annex A-3, Tab. A-3-3).",
        "+10 points: lower half (3 to 9 o’clock) (BFR Abwasser, Annex A-3, Tab. A-3-3).",
        "+10 points: at a joint (BFR Abwasser, Annex A-3, Tab. A-3-3).",
        "Number from what is recorded: 250.",
        "Not known: the water protection zone, the groundwater, the soil around the pipe. "
        "With all that these may add: 250 to 690.",
        "So: class 3, marked; 250 to 690 points.",
    ]


@pytest.mark.parametrize(
    ("form", "size", "code"), [("bent", 1, "form_unknown"), ("step", -1, "size_out_of_range")]
)
def test_what_cannot_be_is_refused_by_name(form, size, code):
    with pytest.raises(SurveyError) as caught:
        capacity_left(form, size, None, None, None, 1.5)
    assert caught.value.code == code

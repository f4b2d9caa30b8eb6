"""Advice that cannot hurt: what a hazard forbids, one plan a stretch, and nothing surer than it is."""

import pytest
from grading_cases import ACTIONS, CODES, HAZARDS, SCHEME, grade, runs
from hypothesis import given

from webapp import tables
from webapp.survey.coding.continuous import continuous_items
from webapp.survey.grading.actions import suggested_actions
from webapp.survey.grading.grading import GOALS, classes_of, pipe_of
from webapp.survey.grading.hazards import hazards
from webapp.survey.grading.prohibitions import with_prohibitions
from webapp.survey.wording.next_steps import forbidden_words

NEEDS = {row["action"]: set(row["acts"]) for row in ACTIONS["actions"]}
PIPE = {"shape": "circular", "height_mm": 300, "material": "vitrified_clay"}
ROUND = pipe_of(PIPE, None, SCHEME)


def plan(*fields, end_m=40.0, stretches=((0.0, 40.0),), conflicts=None):
    """The plan of a run with these observations."""
    seen = [{"id": f"o{k}", "fields": {"counter_m": 10.0, **one}} for k, one in enumerate(fields)]
    if conflicts:
        seen[0]["conflicts"] = conflicts
    pipes = [
        {"id": f"s{k}", "fields": {**PIPE, "from_counter_m": a, "to_counter_m": b}}
        for k, (a, b) in enumerate(stretches)
    ]
    return planned({}, pipes, seen, end_m, 1.0)


def planned(run, pipes, seen, end_m, scale, carried=()):
    items = continuous_items(seen, end_m)["items"]
    grading = grade(run, pipes, seen, items, carried, end_m, scale)
    dangers = hazards(seen, items, end_m, HAZARDS)
    return with_prohibitions(
        suggested_actions(grading, {}, ACTIONS, scale), dangers, HAZARDS, ACTIONS, 0.0, scale
    )


def done(one):
    return [act["action"] for act in one["actions"]]


def forbidden(one):
    return {ban["act"] for ban in one["forbidden"]}


def test_a_cable_through_the_bore_stops_everything_that_touches_it():
    (one,) = plan(
        {"code": "BBE", "characterisation_1": "G", "quantification_1": 60},
        {"code": "BBA", "characterisation_1": "C", "quantification_1": 40, "counter_m": 20.0},
    )
    assert done(one)[0] == "find_owner" and "clean" not in done(one) and "dig_expose" not in done(one)
    assert {"jet", "cut", "dig", "pull"} <= forbidden(one)
    assert "clean" in [act["action"] for act in one["waiting"]]
    assert "Do not jet: foreign pipe or cable through the bore at 10.00 m." in forbidden_words(
        tables.messages(), one["forbidden"], ACTIONS
    )


def test_an_obstruction_of_unknown_kind_may_be_a_cable():
    (one,) = plan({"code": "BBE", "quantification_1": 60})
    assert "find_owner" in done(one) and "clean" not in done(one)


@pytest.mark.parametrize(
    "observation",
    [
        {"code": "BBD", "characterisation_1": "A", "quantification_1": 30},
        {"code": "BAP"},
        {"code": "BAO"},
        {"code": "BAD", "characterisation_1": "B"},
        {"code": "BBF", "characterisation_1": "D"},
        {"code": "BAC", "characterisation_1": "C"},
        {"code": "BAD", "characterisation_1": "D"},
    ],
)
def test_where_soil_can_run_in_nobody_jets_and_the_ground_is_checked(observation):
    (one,) = plan(
        observation, {"code": "BBA", "characterisation_1": "C", "quantification_1": 50, "counter_m": 30.0}
    )
    assert done(one)[0] == "check_ground" and "clean" not in done(one)
    assert "jet" in forbidden(one) and "load" in forbidden(one)


def test_a_collapse_forbids_jetting_in_every_stretch_of_the_run():
    first, second = plan(
        {"code": "BAC", "characterisation_1": "C", "counter_m": 35.0},
        {"code": "BBC", "characterisation_1": "A", "quantification_1": 40, "counter_m": 5.0},
        stretches=((0.0, 20.0), (20.0, 40.0)),
    )
    assert "clean" not in done(first) and "jet" in forbidden(first) and "load" not in forbidden(first)
    assert done(second)[0] == "check_ground"


def test_bad_air_keeps_people_out():
    (one,) = plan({"code": "BDF", "characterisation_1": "B"})
    assert done(one) == ["report_air"] and forbidden(one) == {"enter"}


def test_one_plan_and_not_dig_clean_and_renew_side_by_side():
    cracks = [
        {
            "code": "BAB",
            "characterisation_1": "C",
            "characterisation_2": "A",
            "quantification_1": 5,
            "counter_m": float(m),
        }
        for m in range(1, 9)
    ]
    (one,) = plan({"code": "BBA", "characterisation_1": "B", "quantification_1": 6}, *cracks)
    assert done(one) == ["renew"]
    (one,) = plan(
        {"code": "BAC", "characterisation_1": "C"}, {"code": "BBA", "quantification_1": 30, "counter_m": 3.0}
    )
    assert done(one) == ["check_ground", "dig_expose"]


def test_a_width_that_was_not_recorded_does_not_press():
    (one,) = plan({"code": "BAB", "characterisation_1": "B", "characterisation_2": "A"})
    (act,) = one["actions"]
    assert (act["action"], act["urgency"], act["urgency_most"], act["sure"]) == (
        "repair_point", "medium_term", "at_once", False,
    )  # fmt: skip
    (sized,) = plan(
        {"code": "BAB", "characterisation_1": "B", "characterisation_2": "A", "quantification_1": 12}
    )
    assert (sized["actions"][0]["urgency"], sized["actions"][0]["sure"]) == ("at_once", True)


@pytest.mark.parametrize("kind", ["B", "C"])
@pytest.mark.parametrize("width_mm", [0.5, 2, 3.5, 5, 7])
def test_several_cracks_are_graded_above_one(kind, width_mm):
    def of(pattern):
        fields = {
            "code": "BAB",
            "characterisation_1": kind,
            "quantification_1": width_mm,
            "characterisation_2": pattern,
        }
        return classes_of(fields, ROUND, SCHEME)["stability"]

    assert of("C")["low"] > of("A")["low"] or of("A")["low"] == 5
    unknown = classes_of(
        {"code": "BAB", "characterisation_1": kind, "quantification_1": width_mm}, ROUND, SCHEME
    )
    assert unknown["stability"]["low"] == of("A")["low"] and unknown["stability"]["high"] == of("C")["high"]


def test_a_size_in_millimetres_is_not_a_percentage():
    from webapp.survey.coding.code_quantities import quantity_for
    from webapp.survey.coding.codes import find_code

    for code, percent in (("BAK", "DE"), ("BAL", "E")):
        row = find_code(CODES, code)
        for letter in (one["value"] for one in row["characterisation_1"]):
            unit = quantity_for(row, "quantification_1", letter)["unit"]
            assert unit == ("%" if letter in percent else "mm"), (code, letter)
            rules = [r for r in SCHEME["rows"] if r["code"] == code and letter in r["characterisation_1"]]
            assert all(r["rule"] != "capacity" or unit == "%" for r in rules)


def test_disputed_roots_are_an_interval_and_so_is_their_urgency():
    roots = {"code": "BBA", "characterisation_1": "C", "quantification_1": 25}
    (settled,) = plan(roots)
    (one,) = plan(roots, conflicts={"quantification_1": [["a:1", 25], ["b:1", 30]]})
    low, high = (
        classes_of(roots | {"quantification_1": size}, ROUND, SCHEME)["operation"]["low"] for size in (25, 30)
    )
    assert low < high
    assert settled["actions"][0]["urgency"] == settled["actions"][0]["urgency_most"]
    assert one["actions"][0]["urgency"] == settled["actions"][0]["urgency"]
    assert one["actions"][0]["urgency_most"] != one["actions"][0]["urgency"]
    assert one["actions"][0]["reasons"][0]["values"] == {"low": low, "high": high}


def test_a_disputed_code_may_be_a_hazard():
    (one,) = plan(
        {"code": "BAB", "characterisation_1": "A"}, conflicts={"code": [["a:1", "BAB"], ["b:1", "BAP"]]}
    )
    assert "check_ground" in done(one) and "jet" in forbidden(one)


@given(runs())
def test_no_do_contradicts_a_do_not(case):
    pipes, seen = case["stretches"], case["observations"]
    for one in planned(case["run"], pipes, seen, case["end_counter_m"], case["scale"], case["carried"]):
        acts = forbidden(one)
        for act in one["actions"]:
            assert not NEEDS[act["action"]] & acts
        for act in one["waiting"]:
            assert NEEDS[act["action"]] & acts
        assert not (("none" in done(one)) and (len(one["actions"]) > 1 or one["waiting"]))
        assert len(set(done(one))) == len(done(one))
        assert not {"renew", "repair_point"} <= set(done(one))


@given(runs())
def test_a_value_in_dispute_only_widens(case):
    pipes, seen = case["stretches"], case["observations"]
    plain = [{"id": one["id"], "fields": one["fields"]} for one in seen]
    items = continuous_items(seen, case["end_counter_m"])["items"]
    rest = items, case["carried"], case["end_counter_m"], case["scale"]
    wide = grade(case["run"], pipes, seen, *rest)["run"]["goals"]
    narrow = grade(case["run"], pipes, plain, *rest)["run"]["goals"]
    for goal in GOALS:
        low = max(1, narrow[goal]["low"])  # 0: nothing graded, which 1 is no worse than
        assert wide[goal]["low"] <= low and wide[goal]["high"] >= narrow[goal]["high"]


def test_every_hazard_says_what_it_forbids_and_asks_for():
    acts = {row["act"] for row in ACTIONS["acts"]}
    for row in HAZARDS:
        assert set(row["do_not"]) <= acts and (row["do"] is None or row["do"] in NEEDS)
        assert row["do"] is None or not NEEDS[row["do"]] & set(row["do_not"])

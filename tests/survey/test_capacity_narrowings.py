"""What narrows a bore takes from its capacity, and where nobody can say how much there is no number."""

import math

import pytest
from capacity_cases import CLEAN, CRACK, NARROW, PIPE, ROUGH, SCHEME, carried, case, records, worked
from grading_cases import CODES
from hypothesis import given

from webapp.survey.flow import (
    grade_line,
    invert_line,
    wall_roughness,
    waterway,
)
from webapp.survey.flow.narrowing import capacity_left
from webapp.survey.flow.open_flow import full_flow
from webapp.survey.flow.resistance import Resistance
from webapp.survey.section.bore import Bore

OF_NO_SIZE = ("blocks", "unsized")
NARROWED = [
    {"code": "BBA", "characterisation_1": "C", "quantification_1": 80},
    {"code": "BBE", "characterisation_1": "A", "quantification_1": 90},
    {"code": "BBB", "characterisation_1": "A", "quantification_1": 30},
    {"code": "BAJ", "characterisation_1": "B", "quantification_1": 60},
    {"code": "BAK", "characterisation_1": "E", "quantification_1": 25},
    {"code": "BBC", "characterisation_1": "A", "quantification_1": 30},
    {"code": "BAA", "characterisation_1": "A", "quantification_1": 15},
    {"code": "BBD", "characterisation_1": "A", "quantification_1": 40},
    {"code": "BAL", "characterisation_1": "E", "quantification_1": 30},
    {"code": "BAI", "characterisation_1": "A", "characterisation_2": "C", "quantification_1": 20},
]


@pytest.mark.parametrize("one", NARROWED, ids=lambda one: one["code"])
def test_every_narrowing_takes_from_the_capacity(one):
    now = carried(one | {"counter_m": 20.0})
    assert now < 0.97 * CLEAN
    found = worked(seen=(CRACK, one | {"counter_m": 20.0}))[2]
    without = found["bottleneck"]["reasons"][0]["without_m3_s"]
    assert without == pytest.approx(CLEAN) or (
        one["code"] == "BBB" and now < without < CLEAN
    )  # a rougher wall
    row = found["rows"][0]
    assert row["narrowings"][0]["code"] == one["code"]
    assert row["capacity"]["low_m3_s"] < now < row["capacity"]["high_m3_s"]


def test_a_connecting_pipe_sticking_in_is_bounded():
    row = worked(seen=(CRACK, {"code": "BAG", "counter_m": 20.0, "quantification_1": 40}))[2]["rows"][0]
    assert row["capacity"]["known"] == "bounded" and row["capacity"]["mean_m3_s"] is None
    assert row["capacity"]["low_m3_s"] < 0.7 * CLEAN


@pytest.mark.parametrize(
    ("seen", "why"),
    [
        ({"code": "BAC", "characterisation_1": "C"}, "bore_collapsed"),
        ({"code": "BAC"}, "bore_collapsed"),  # its kind was not recorded: it may be
        ({"code": "BAD", "characterisation_1": "D"}, "bore_collapsed"),
        ({"code": "BAC", "characterisation_1": "A", "quantification_1": 200}, "narrowing_without_size"),
        ({"code": "BAK", "characterisation_1": "A", "quantification_1": 60}, "narrowing_without_size"),
        ({"code": "BAL", "characterisation_1": "C"}, "narrowing_without_size"),
        ({"code": "BBE", "characterisation_1": "A", "quantification_1": 110}, "bore_blocked"),
        ({"code": "BBA", "characterisation_1": "C"}, "narrowing_without_size"),
        ({"code": "BDG", "characterisation_1": "A"}, "length_not_seen"),
        ({"code": "BDD", "quantification_1": 95}, "length_not_seen"),
    ],
)
def test_no_number_where_none_can_be_had(seen, why):
    found = worked(seen=(CRACK, seen | {"counter_m": 20.0}))[2]
    row = found["rows"][0]
    assert (row["left_out"], row["capacity"]) == (why, None)
    assert found["bottleneck"] == {"index": None, "reasons": [], "rivals": [], "no_number": [0]}


def test_a_continuous_narrowing_counts_in_every_stretch_that_it_reaches():
    marks = [
        {"code": "BBC", "counter_m": m, "quantification_1": 40, "continuous": {"role": role, "number": 1}}
        for m, role in ((15.0, "start"), (35.0, "finish"))
    ]
    pipes = PIPE | {"to_counter_m": 20.0}, PIPE | {"from_counter_m": 20.0}
    rows = worked(seen=(CRACK, *marks), pipes=pipes)[2]["rows"]
    assert [bool(row["narrowings"]) for row in rows] == [True, True]


def test_disputed_roots_widen_the_band():
    roots = {"code": "BBA", "characterisation_1": "C", "counter_m": 20.0, "quantification_1": 10}
    plain = worked(seen=(CRACK, roots))[2]["rows"][0]["capacity"]
    wide = worked(seen=(CRACK, roots), conflicts={"quantification_1": [["a", 10], ["b", 60]]})[2]["rows"][0]
    assert wide["capacity"]["low_m3_s"] < 0.6 * plain["low_m3_s"] and wide["capacity"]["mean_m3_s"] is None


def test_a_wall_in_use_is_not_a_new_pipe():
    foul = wall_roughness.wall_roughness({"material": "pvc_u"}, [], "foul", ROUGH)
    assert (foul["low_mm"], foul["mm"], foul["high_mm"]) == (0.03, 1.5, 3.0)
    rain = wall_roughness.wall_roughness({"material": "pvc_u"}, [], "surface_water", ROUGH)
    assert rain["mm"] == 0.6 and rain["high_mm"] == 1.5
    scale = records({"code": "BBB", "characterisation_1": "A"})
    assert wall_roughness.wall_roughness({"material": "grey_iron"}, scale, "foul", ROUGH)["high_mm"] == 30
    typed = wall_roughness.wall_roughness({"roughness_mm": 0.6}, [], "foul", ROUGH)
    assert (typed["low_mm"], typed["mm"], typed["high_mm"]) == (0.3, 0.6, 1.2)


@pytest.mark.parametrize("k_s_mm", [0.06, 0.15, 0.6, 1.5, 3.0])
def test_the_band_holds_walls_in_use(k_s_mm):
    """The audit's range of walls, 0.06 to 3 mm: each true flow lies in the band of a foul pipe."""
    found = worked(run={"water_carried": "foul"})[2]["rows"][0]
    true = full_flow(
        Bore("circular", 0.3), math.sin(math.radians(0.6)), Resistance("colebrook_white", k_s_mm / 1000)
    )
    assert found["capacity"]["low_m3_s"] <= true["discharge_m3_s"] <= found["capacity"]["high_m3_s"]


def test_one_table_says_how_each_code_narrows_and_the_classes_agree_with_it():
    forms = {}
    for row in NARROW["rows"]:
        forms.setdefault(row["code"], []).append(row)
    for row in SCHEME["rows"]:
        if row["rule"] == "capacity":
            (same,) = [one for one in forms[row["code"]] if one["form"] not in OF_NO_SIZE]
            assert same["form"] == row["form"] and same["characterisation_2"] == row["characterisation_2"]
            letters = {
                one["value"]
                for one in next(c for c in CODES if c["code"] == row["code"])["characterisation_1"]
            }
            assert set(same["characterisation_1"] or letters) == set(row["characterisation_1"] or letters)
    graded = {row["code"] for row in SCHEME["rows"] if row["rule"] == "capacity"}
    assert {row["code"] for row in NARROW["rows"] if row["form"] not in OF_NO_SIZE} == graded


@given(*case)
def test_no_number_exceeds_any_single_narrowing_or_reach(read, seen, lengths, flow, water, end_m):
    run = {"direction": flow, "water_carried": water}
    _, facts, found = worked(read, seen, lengths, run, end_m=end_m)
    for row in found["rows"]:
        if row["capacity"] is None or row["capacity"]["high_m3_s"] is None:
            continue
        fields = next(one["fields"] for one in facts.stretches if one["id"] == row["id"])
        width = fields.get("width_mm")
        bore = Bore(fields["shape"], fields["height_mm"] / 1000, width and width / 1000)
        most = row["capacity"]["mean_m3_s"]
        wall = Resistance("colebrook_white", row["roughness_mm"] / 1000)
        if most is None:
            continue
        even = full_flow(bore, row["carries"]["gradient"], wall)["discharge_m3_s"]
        for one in row["narrowings"]:
            assert most <= even * one["left_pct"] / 100 * (1 + 1e-9)
        assert most <= even * (1 + 1e-9)
        line = invert_line.invert_line(facts.profile, row["from_m"], row["to_m"], flow)
        pieces = invert_line.line_pieces(line, waterway.waterway(bore, wall))
        for k in range(len(pieces)):  # each reach by itself, with nothing that holds the water up below it
            alone = [*pieces[k:]]
            for last in range(1, len(alone) + 1):
                assert grade_line.first_over_crown(alone[:last], most * 0.9999, 0.0, 1e-4) is None
        assert row["capacity"]["low_m3_s"] <= most * (1 + 1e-9)
        assert row["capacity"]["high_m3_s"] >= most * (1 - 1e-9)
    if found["whole"]:
        assert found["whole"]["mean_m3_s"] <= min(
            row["capacity"]["mean_m3_s"] for row in found["rows"] if row["capacity"]["mean_m3_s"] is not None
        )
    if found["bottleneck"] and found["bottleneck"]["index"] is not None:
        weights = [
            row["capacity"]["mean_m3_s"]
            if row["capacity"]["mean_m3_s"] is not None
            else row["capacity"]["low_m3_s"]
            for row in found["rows"]
            if row["capacity"] and row["capacity"]["high_m3_s"] is not None
        ]
        least = found["rows"][found["bottleneck"]["index"]]["capacity"]
        assert min(weights) == (least["mean_m3_s"] if least["mean_m3_s"] is not None else least["low_m3_s"])


@pytest.mark.parametrize("material", ["pvc_u", "grey_iron", "concrete"])
def test_a_share_is_one_number_in_capacities_and_classes(material):
    """What a deposit leaves is printed beside the capacity and as the working of a class."""
    silt = {"code": "BBC", "characterisation_1": "A", "counter_m": 20.0, "quantification_1": 35}
    rust = {"code": "BBB", "characterisation_1": "A", "counter_m": 22.0, "quantification_1": 3}
    row = worked(seen=(CRACK, silt, rust), pipes=(PIPE | {"material": material},))[2]["rows"][0]
    graded = capacity_left(
        "deposit_depth", 35, row["laid"], "circular", row["carries"]["gradient"],
        row["carries"]["roughness_mm"],
    )  # fmt: skip
    assert row["narrowings"][0]["left_pct"] == graded["low_pct"]

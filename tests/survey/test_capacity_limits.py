"""What a run carries as it is: every narrowing counts, and no number where none can be had."""

import json
import math
from dataclasses import asdict
from pathlib import Path

import pytest
from grading_cases import CODES
from hypothesis import given
from hypothesis import strategies as st
from parity import parity
from scipy import optimize
from twins import agree

from webapp.survey.coding.continuous import continuous_items
from webapp.survey.coding.run_end import closed_stretches
from webapp.survey.coding.visibility import visibility
from webapp.survey.errors import SurveyError
from webapp.survey.flow import (
    capacity_band,
    capacity_limits,
    disputed_pipe,
    grade_line,
    invert_line,
    narrowed_lengths,
    wall_roughness,
    waterway,
    whole_run,
)
from webapp.survey.flow.capacity_limits import CapacityFacts, limited_capacity
from webapp.survey.flow.narrowing import capacity_left
from webapp.survey.flow.open_flow import full_flow
from webapp.survey.flow.resistance import Resistance, friction_slope
from webapp.survey.flow.run_capacity import run_capacity
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.levels import reaches
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import run_model
from webapp.survey.section.bore import Bore

TABLES = Path(__file__).resolve().parents[2] / "webapp" / "tables"


def table(name):
    return json.loads((TABLES / f"{name}.json").read_text(encoding="utf-8"))


ROUGH, NARROW, SIGHT, SCHEME = (
    table("roughness")["rows"], table("narrowings"), table("visibility"), table("grading_limits"),
)  # fmt: skip
TOOLS = instruments_of([], "run")
PIPE = {"from_counter_m": 0.0, "to_counter_m": 40.0, "shape": "circular", "height_mm": 300,
        "size_known": "measured", "material": "concrete"}  # fmt: skip
OF_NO_SIZE = ("blocks", "unsized")
CRACK = {"code": "BAB", "counter_m": 0.5}


def records(*fields):
    return [{"id": f"{k:02d}", "fields": one} for k, one in enumerate(fields)]


def fall(*pairs):
    """Readings: counter and degrees, falling positive."""
    return [
        {
            "counter_m": m,
            "inclination": {"size": abs(d), "unit": "deg", "sense": "falling" if d >= 0 else "rising"},
        }
        for m, d in pairs
    ]


EVEN = fall(*((float(m), 0.6) for m in range(0, 41, 2)))


NODES = [
    {"id": "a", "fields": {"cover_level_m": 1.8}},
    {"id": "b", "fields": {"cover_level_m": 2.5}},
]
ENDS = {"start_node_id": "a", "finish_node_id": "b", "end_reason": "node_reached"}


def worked(read=EVEN, seen=(CRACK,), pipes=(PIPE,), run=None, conflicts=None, end_m=40.0, nodes=()):
    run = {"direction": "with_flow", "end_counter_m": end_m} | (run or {})
    observed, lengths = records(*seen), closed_stretches(records(*pipes), end_m)
    if conflicts:
        observed[-1]["conflicts"] = conflicts
    model = run_model(run, records(*read), [], lengths, [], TOOLS)
    try:
        profile = level_profile(model.readings, model.ties, model.setup) if model.readings else None
    except SurveyError:
        profile = None
    items = continuous_items(observed, end_m)["items"]
    account = visibility(run, lengths, observed, items, end_m, TOOLS.scale, SIGHT)
    facts = CapacityFacts(
        run, lengths, observed, items, account, end_m, profile, TOOLS.scale, nodes, bool(nodes)
    )
    plain = run_capacity(run, lengths, observed, ROUGH, profile, TOOLS)
    return plain, facts, limited_capacity(plain, facts, ROUGH, NARROW)


def carried(*seen, **more):
    row = worked(seen=(CRACK, *seen), **more)[2]["rows"][0]
    return row["capacity"]["mean_m3_s"] if row["capacity"] else None


CLEAN = carried()
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


def test_a_backfall_gives_no_comfortable_number():
    """What stands in the backfall takes headroom; the average over the stretch knows nothing of it."""
    back = fall(*((float(m), -1.0 if 16 <= m < 24 else 1.2) for m in range(0, 41, 2)))
    plain, _, found = worked(read=back)
    row = found["rows"][0]
    assert row["backfall"]["rise_m"] > 0.1 and "backfall_in_it" in row["capacity"]["findings"]
    assert 0 < row["capacity"]["mean_m3_s"] < 0.6 * row["even_m3_s"]
    assert 14 <= row["first_full_m"] <= 18
    assert plain["rows"][0]["capacity"]["mean_m3_s"] > row["capacity"]["mean_m3_s"] * 1.6


def test_a_short_backfall_gets_its_number_back():
    back = fall(*((float(m), -1.2 if 18 <= m < 22 else 0.6) for m in range(0, 41, 2)))
    row = worked(read=back)[2]["rows"][0]
    assert 0.02 < row["backfall"]["rise_m"] < 0.07
    assert row["left_out"] is None
    assert 0.5 * row["even_m3_s"] < row["capacity"]["mean_m3_s"] < row["even_m3_s"]


def test_water_that_stands_to_the_crown_gives_no_number():
    back = fall(*((float(m), -3.0 if 16 <= m < 24 else 2.6) for m in range(0, 41, 2)))
    row = worked(read=back)[2]["rows"][0]
    assert (row["left_out"], row["capacity"]) == ("sag_fills_bore", None)


def test_a_stretch_that_averages_a_backfall_has_no_number():
    back = fall(*((float(m), -0.8 if 6 <= m < 34 else 0.6) for m in range(0, 41, 2)))
    row = worked(read=back)[2]["rows"][0]
    assert row["capacity"]["mean_m3_s"] is None and row["capacity"]["findings"] == ["gradient_adverse"]


def test_a_flat_reach_takes_from_the_average():
    flat_first = fall(*((float(m), 0.15 if m < 20 else 1.05) for m in range(0, 41, 2)))
    row = worked(read=flat_first)[2]["rows"][0]
    flat = full_flow(Bore("circular", 0.3), row["gradient"], Resistance("colebrook_white", 0.0015))
    assert flat["discharge_m3_s"] < row["capacity"]["mean_m3_s"] < 0.85 * row["even_m3_s"]
    assert found_reason(worked(read=flat_first)[2], "even_fall") == pytest.approx(row["even_m3_s"])


def test_under_the_cover_at_the_upper_end_it_passes_more():
    found = worked(run=ENDS, nodes=NODES)[2]
    whole, row = found["whole"], found["rows"][0]
    assert whole["mean_m3_s"] == row["capacity"]["mean_m3_s"]
    assert (whole["surcharge"]["node_id"], whole["surcharge"]["level_m"]) == ("a", 1.8)
    start_m = 0.0  # without a tie the levels are above the start of the run
    drop_m, area = 1.8 - start_m - 0.3 + 40 * math.sin(math.radians(0.6)), math.pi * 0.3**2 / 4
    wall = Resistance("colebrook_white", 0.0015)

    def needed(flow):  # friction all along, half a velocity head at the entrance, a whole one inside the pipe
        return 40 * friction_slope(wall, 0.075, flow / area) + 1.5 * (flow / area) ** 2 / (2 * 9.80665)

    by_hand = optimize.brentq(lambda q: needed(q) - drop_m, 0.01, 1.0)
    assert whole["surcharge"]["discharge_m3_s"] == pytest.approx(by_hand, rel=1e-4)
    assert worked()[2]["whole"]["surcharge"] is None
    upstream = worked(
        run=ENDS | {"direction": "against_flow"},
        nodes=NODES,
        read=fall(*((float(m), -0.6) for m in range(0, 41, 2))),
    )[2]
    assert upstream["whole"]["surcharge"]["node_id"] == "b"


def test_several_stretches_carry_no_more_than_the_least_of_them():
    pipes = PIPE | {"to_counter_m": 20.0}, PIPE | {"from_counter_m": 20.0, "height_mm": 225}
    found = worked(pipes=pipes)[2]
    means = [row["capacity"]["mean_m3_s"] for row in found["rows"]]
    assert found["bottleneck"]["index"] == 1 and found["whole"]["mean_m3_s"] <= min(means)
    assert found["whole"]["mean_m3_s"] > 0.8 * min(means)
    gap = PIPE | {"to_counter_m": 20.0}, PIPE | {"from_counter_m": 24.0}
    assert worked(pipes=gap)[2]["whole"] is None


def test_an_adverse_stretch_between_falling_ones_leaves_the_run_a_number():
    read = fall(*((float(m), -0.8 if 18 <= m < 22 else 0.8) for m in range(0, 41, 2)))
    pipes = (
        PIPE | {"to_counter_m": 18.0},
        PIPE | {"from_counter_m": 18.0, "to_counter_m": 22.0},
        PIPE | {"from_counter_m": 22.0},
    )
    found = worked(read=read, pipes=pipes)[2]
    assert found["rows"][1]["capacity"]["findings"] == ["gradient_adverse"]
    assert found["bottleneck"]["no_number"] == [1]
    least = min(found["rows"][k]["capacity"]["mean_m3_s"] for k in (0, 2))
    assert 0.3 * least < found["whole"]["mean_m3_s"] <= least


def found_reason(found, code):
    return next(one["without_m3_s"] for one in found["bottleneck"]["reasons"] if one["code"] == code)


def test_a_fall_that_is_only_bounded_gives_no_number():
    over = [
        *EVEN[:10],
        {"counter_m": 20.0, "inclination": {"over_range": True, "sense": "falling"}},
        *EVEN[11:],
    ]
    assert worked(read=over)[2]["rows"][0]["left_out"] == "fall_only_bounded"


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


metres = st.sampled_from([0.0, 4.0, 9.5, 10.0, 20.0, 30.0, 40.0])
some = st.fixed_dictionaries(
    {"code": st.sampled_from([*(row["code"] for row in NARROW["rows"]), "BAB", "BDG", "BDD"])},
    optional={
        "counter_m": metres,
        "characterisation_1": st.sampled_from(["A", "B", "C", "D", "E"]),
        "characterisation_2": st.sampled_from(["A", "B", "C"]),
        "quantification_1": st.sampled_from([0, 4, 15, 40, 90, 120]),
        "continuous": st.fixed_dictionaries(
            {"role": st.sampled_from(["start", "change", "finish"]), "number": st.just(1)}
        ),
    },
)
pipes = st.lists(
    st.fixed_dictionaries(
        {"from_counter_m": metres, "shape": st.sampled_from(["circular", "circular", "egg", "arch"])},
        optional={
            "to_counter_m": metres, "height_mm": st.sampled_from([150, 300, 600]),
            "roughness_mm": st.just(0.6),
            "width_mm": st.just(200), "material": st.sampled_from(["concrete", "grey_iron", "pvc_u"]),
            "size_known": st.sampled_from(["measured", "drawing", "assumed"]),
        },
    ),
    min_size=1, max_size=2,
)  # fmt: skip
readings = st.lists(
    st.tuples(metres, st.sampled_from([-2.0, -0.2, 0.0, 0.3, 0.6, 3.0])), min_size=2, max_size=6,
    unique_by=lambda pair: pair[0],
).map(lambda pairs: fall(*sorted(pairs)))  # fmt: skip
case = (
    readings, st.lists(some, max_size=4), pipes, st.sampled_from(["with_flow", "against_flow"]),
    st.sampled_from([None, "foul", "surface_water"]), st.sampled_from([None, 40.0]),
)  # fmt: skip


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


@parity(
    "flow/capacity_limits",
    *case,
    each=10,
    keep=[ROUGH, NARROW],
    through=[
        "flow/backwater",
        "flow/capacity_band",
        "flow/grade_line",
        "flow/invert_line",
        "flow/narrowed_lengths",
        "levels/reaches",
        "flow/run_backwater",
        "flow/wall_roughness",
        "flow/waterway",
    ],
)
def test_both_sides_limit_alike(twin, read, seen, lengths, flow, water, end_m):
    run = ENDS | {"direction": flow, "water_carried": water}
    plain, facts, _ = worked(read, seen, lengths, run, end_m=end_m, nodes=NODES)
    profile = None if facts.profile is None else asdict(facts.profile)
    known = {name: getattr(facts, name) for name in facts.__dataclass_fields__} | {"profile": profile}

    def ours(found, _, *rest):
        return limited_capacity(found, facts, *rest)

    agree(twin, "survey/flow/capacity_limits", "limited_capacity", ours, plain, known, ROUGH, NARROW)


@parity(
    "flow/whole_run",
    *case,
    st.booleans(),
    st.sampled_from([None, "node_reached", "obstruction"]),
    each=20,
    keep=[NARROW],
)
def test_both_sides_say_alike_what_speaks_against_a_number_for_the_whole(
    twin, read, seen, lengths, flow, water, end_m, contradicted, reason
):
    observed, laid = records(*seen), closed_stretches(records(*lengths), end_m)
    run = {"end_reason": reason, "counter_zero_m": 0.0 if water else 4.0}
    limits = whole_run.whole_run_limits(run, laid, observed, end_m, NARROW)
    agree(twin, "survey/flow/whole_run", "whole_run_limits", whole_run.whole_run_limits,
          run, laid, observed, end_m, NARROW)  # fmt: skip
    rows = {
        "rows": [{"left_out": None, "capacity": 1}, {"left_out": "bore_blocked", "capacity": None}],
        "bottleneck": None,
    }
    agree(
        twin, "survey/flow/whole_run", "with_whole_run", whole_run.with_whole_run, rows, limits, contradicted
    )


def test_a_stretch_is_not_the_whole_run():
    def limits(*seen, pipes=(PIPE,), **run):
        end_m = 40.0
        laid = closed_stretches(records(*pipes), end_m)
        return whole_run.whole_run_limits(run, laid, records(*seen), end_m, NARROW)

    roots = {"code": "BBA", "characterisation_1": "C", "quantification_1": 30}
    assert limits(CRACK, roots | {"counter_m": 30.0}) == []
    assert limits(roots) == ["narrowing_without_place"]
    assert limits(roots | {"counter_m": 55.0}) == ["narrowing_outside_pipes"]
    assert limits(CRACK, pipes=[PIPE | {"to_counter_m": 20.0}]) == ["pipe_not_throughout"]
    assert limits(CRACK, end_reason="obstruction") == ["ended_at_obstruction"]
    assert limits(roots | {"counter_m": 39.6}, end_reason="obstruction") == []


pipe_conflicts = st.fixed_dictionaries(
    {},
    optional={
        "height_mm": st.just([["a", 300], ["b", 150]]),
        "material": st.just([["a", None], ["b", "pvc_u"]]),
        "shape": st.just([["a", "circular"], ["b", "egg"]]),
    },
)  # fmt: skip


def disputed(read, seen, lengths, run, conflicts, end_m):
    """The capacities as shown, and each row in dispute under its other values."""
    shown = worked(read, seen, lengths, run, end_m=end_m)[2]
    laid = [{"id": f"{k:02d}", "fields": f, "conflicts": conflicts} for k, f in enumerate(lengths)]
    each = {}
    for k, one in enumerate(laid):
        others = [may["fields"] for may in disputed_pipe.pipe_variants(one)[1:]]
        if others:
            each[k] = [
                worked(read, seen, [*lengths[:k], may, *lengths[k + 1 :]], run, end_m=end_m)[2]["rows"][k]
                for may in others
            ]
    return laid, shown, each


@parity("flow/disputed_pipe", *case, pipe_conflicts, st.sampled_from([None, 20.0, 30.0]), each=20)
def test_both_sides_widen_alike_what_is_in_dispute(
    twin, read, seen, lengths, flow, water, end_m, mays, least
):
    run = {"direction": flow, "water_carried": water}
    laid, shown, each = disputed(read, seen, lengths, run, mays, end_m)
    for one in laid:
        agree(twin, "survey/flow/disputed_pipe", "pipe_variants", disputed_pipe.pipe_variants, one)
    plain = {name: shown[name] for name in ("rows", "bottleneck")}
    wide = agree(twin, "survey/flow/disputed_pipe", "over_pipes", disputed_pipe.over_pipes, plain, each)
    agree(twin, "survey/flow/disputed_pipe", "settled_rows", disputed_pipe.settled_rows, wide["rows"])
    ends = (
        {"end_counter_m": [["a", end_m], ["b", least]]}
        if least
        else {"direction": [["a", flow], ["b", None]]}
    )
    agree(twin, "survey/flow/disputed_pipe", "settled_run", disputed_pipe.settled_run,
          run | {"end_counter_m": end_m}, ends)  # fmt: skip
    for k, row in enumerate(wide["rows"]):
        flows = [one["capacity"] for one in (shown["rows"][k], *each.get(k, ()))]
        if k in each and row["capacity"]:
            assert row["capacity"]["mean_m3_s"] is None
            assert row["capacity"]["low_m3_s"] <= min(one["low_m3_s"] for one in flows)
            assert row["capacity"]["high_m3_s"] >= max(one["high_m3_s"] for one in flows)
        elif k in each:
            assert row["left_out"]


def test_a_size_in_dispute_spans_both_and_a_shape_without_a_number_gives_none():
    _, shown, each = disputed(EVEN, [CRACK], [PIPE], {"direction": "with_flow"},
                              {"height_mm": [["a", 300], ["b", 150]]}, 40.0)  # fmt: skip
    row = disputed_pipe.over_pipes(shown, each)["rows"][0]
    low, high = row["capacity"]["low_m3_s"], row["capacity"]["high_m3_s"]
    assert low < CLEAN / 5 and high > CLEAN and row["capacity"]["mean_m3_s"] is None
    assert [bore["height_m"] for bore in row["bores"]] == [0.3, 0.15]
    _, shown, each = disputed(EVEN, [CRACK], [PIPE], {"direction": "with_flow"},
                              {"shape": [["a", "circular"], ["b", None]]}, 40.0)  # fmt: skip
    row = disputed_pipe.over_pipes(shown, each)["rows"][0]
    assert (row["capacity"], row["left_out"]) == (None, "pipe_in_dispute")


def test_refusals_of_the_parts_are_named():
    with pytest.raises(SurveyError):
        capacity_band.capacity_band(
            Bore("circular", 0.3), "measured", capacity_band.Carried(2.0, 0.1, None, 0.2, None),
            {"low_mm": 1, "mm": 1, "high_mm": 1},
        )  # fmt: skip
    assert reaches.reaches(None, 0, 1, "with_flow")["gradient"] is None
    assert narrowed_lengths.narrowings([], [], (0, 1), None, {"bore": None}, NARROW) == []
    assert capacity_limits.MIN_M > 0


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

"""Trace and capacity from records: by hand, and the same on both sides."""

import math

import pytest
from hypothesis import strategies as st
from parity import parity
from run_made import figures_of
from test_run_model import checks, deg, inclinations, metres, optional, readings, records, runs
from twins import agree, as_json, far

from webapp import tables
from webapp.figures.run_records import RunRecords
from webapp.survey.errors import SurveyError
from webapp.survey.flow.run_capacity import run_capacity
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.levels.gap_inclinations import settled_at, settled_inclinations
from webapp.survey.levels.levels import SolvedGap, level_profile
from webapp.survey.levels.run_model import run_model
from webapp.survey.plan.run_trace import TraceFacts, run_trace
from webapp.survey.plan.trace_basis import basis_of

CODES = tables.load("observation_codes")["rows"]
ROUGH = tables.load("roughness")["rows"]
TOOLS = instruments_of([], "run")
PLACE = {"lat_deg": 52.0, "lon_deg": -1.5, "accuracy_m": 4.9}


def bearing(size, north="true", **more):
    return {"bearing_deg": size, "north": north, **more}


def profile_of(run, read, pipes=()):
    model = run_model(run, records(*read), [], records(*pipes), [], TOOLS)
    try:
        return level_profile(model.readings, model.ties, model.setup)
    except SurveyError:
        return None


def test_straight_east_by_hand():
    """40 m of level pipe due east: 40 m east; at 52 degrees north 40 m are 0.000583 degrees."""
    run = {"start_node_id": "00", "start_bearing": bearing(90.0, sd_deg=2), "end_counter_m": 40.0}
    found = run_trace(TraceFacts(run, records({"position": PLACE}), [], [], CODES, TOOLS, None, None))
    end = found["trace"]["points"][-1]
    assert (end["e_m"], end["n_m"]) == (pytest.approx(40), pytest.approx(0, abs=1e-9))
    assert found["places"][-1]["lon_deg"] == pytest.approx(-1.5 + 0.000583, abs=2e-6)
    assert (found["plan_known"], found["bearing_known"], found["start_known"]) == (
        "assumed",
        "measured",
        "measured",
    )
    # across: 2 degrees over 40 m is 1.396 m; the start's 4.9 m radius is 2.0 m of standard deviation
    across = math.sqrt(1.396**2 + 2.0**2) * 2.4477
    assert end["ellipse"]["semi_major_m"] == pytest.approx(across, rel=2e-3)


def test_a_magnetic_bearing_without_a_declination_gives_no_place():
    run = {"start_node_id": "00", "start_bearing": bearing(90.0, "magnetic"), "end_counter_m": 40.0}
    args = (records({"position": PLACE}), [], [], CODES, TOOLS)
    found = run_trace(TraceFacts(run, *args, None, None))
    assert (found["missing"], found["north"], found["places"]) == (["declination"], "magnetic", None)
    turned = run_trace(TraceFacts(run, *args, 2.0, None))
    assert (turned["missing"], turned["bearing_deg"]) == ([], 92.0)


def test_a_bend_to_the_right_by_hand():
    """30 m north, then 45 degrees right for 20 m: 14.142 m east, 44.142 m north."""
    bend = {"code": "BCC", "characterisation_1": "B", "quantification_1": 45, "counter_m": 30.0}
    run = {"start_bearing": bearing(0.0), "end_counter_m": 50.0}
    found = run_trace(TraceFacts(run, [], [], records(bend), CODES, TOOLS, None, None))
    end = found["trace"]["points"][-1]
    assert (end["e_m"], end["n_m"]) == (pytest.approx(14.1421, abs=1e-4), pytest.approx(44.1421, abs=1e-4))
    assert found["missing"] == ["start_position"]
    assert found["bends"][0]["id"] == "00"


def test_what_the_ties_settled_settles_the_plan_length():
    """Level at both ends, beyond the range between, 2.5 m down over 10 m: 30 degrees, 9.33 m on plan."""
    over = {"sense": "falling", "over_range": True}
    shown = ((0.0, deg(0)), (5.0, over), (10.0, deg(0)))
    read = records(*({"counter_m": m, "inclination": value} for m, value in shown))
    tied = ((0.0, 20.0), (10.0, 17.5))
    ties = records(*({"counter_m": m, "invert_level_m": z, "sd_m": 0.01} for m, z in tied))
    run = {"start_bearing": bearing(90.0), "end_counter_m": 10.0}
    model = run_model(run, read, ties, [], [], TOOLS)
    profile = level_profile(model.readings, model.ties, model.setup)
    settled = settled_inclinations(model.reading_ids, profile.gaps)
    least, most, one = settled["01"]
    assert one and least < 30 < most and most - least < 2
    loose, firm = (
        run_trace(TraceFacts(run, [], read, [], CODES, TOOLS, None, None, reported))
        for reported in ({}, settled)
    )
    assert (loose["plan_known"], firm["plan_known"]) == ("bounded", "computed")
    assert firm["plan_low_m"] < 9.330 < firm["plan_high_m"] and firm["plan_high_m"] - firm["plan_low_m"] < 0.1
    assert loose["plan_low_m"] < 5.01
    found = figures_of("r", run, {}, RunRecords(readings=read, level_ties=ties))
    assert found.trace["plan_known"] == "computed"


def test_the_far_end_found_ties_the_trace():
    run = {
        "start_node_id": "00", "finish_node_id": "01", "start_bearing": bearing(88.0), "end_counter_m": 40.0,
        "end_reason": "node_reached",
    }  # fmt: skip
    there = {"lat_deg": 52.0, "lon_deg": -1.5 + 0.000583, "accuracy_m": 0.5}
    nodes = records({"position": PLACE}, {"position": there})
    found = run_trace(TraceFacts(run, nodes, [], [], CODES, TOOLS, None, None))
    assert found["tied"]
    assert abs(found["places"][-1]["lat_deg"] - 52.0) < 4e-6


PIPE = {
    "from_counter_m": 0, "to_counter_m": 40, "shape": "circular", "height_mm": 150,
    "material": "vitrified_clay", "size_known": "measured", "roughness_mm": 1.5,
}  # fmt: skip
FALL = [
    {"counter_m": m, "inclination": {"size": 80, "unit": "one_in", "sense": "falling"}} for m in (0.0, 40.0)
]


def test_a_150_mm_pipe_at_1_in_80_by_the_book():
    """150 mm at 1 in 80, k_s 1.5 mm: 17.3 l/s by Colebrook-White (own working, 1.31e-6 m2/s)."""
    found = run_capacity({"direction": "with_flow"}, records(PIPE), [], ROUGH, profile_of({}, FALL), TOOLS)
    row = found["rows"][0]
    assert row["gradient"] == pytest.approx(math.sin(math.atan(1 / 80)), rel=1e-9)
    assert row["capacity"]["mean_m3_s"] * 1000 == pytest.approx(17.3, abs=0.15)
    assert row["capacity"]["low_m3_s"] < row["capacity"]["mean_m3_s"] < row["capacity"]["high_m3_s"]
    assert found["bottleneck"]["index"] == 0


def test_seen_from_the_other_end_it_carries_the_same():
    rising = [
        {"counter_m": m, "inclination": {"size": 80, "unit": "one_in", "sense": "rising"}}
        for m in (0.0, 40.0)
    ]
    down = run_capacity({"direction": "with_flow"}, records(PIPE), [], ROUGH, profile_of({}, FALL), TOOLS)
    up = run_capacity({"direction": "against_flow"}, records(PIPE), [], ROUGH, profile_of({}, rising), TOOLS)
    assert far(up["rows"][0]["capacity"], down["rows"][0]["capacity"]) < 1e-9
    assert run_capacity({}, records(PIPE), [], ROUGH, profile_of({}, rising), TOOLS)["flow"] == "against_flow"


def test_gravel_in_the_invert_chokes_the_run_and_is_named():
    second = PIPE | {"from_counter_m": 40, "to_counter_m": 80}
    gravel = {"code": "BBC", "quantification_1": 30, "counter_m": 60.0}
    fall = [{"counter_m": m, "inclination": deg(0.7)} for m in (0.0, 40.0, 80.0)]
    found = run_capacity(
        {"direction": "with_flow"}, records(PIPE, second), records(gravel), ROUGH, profile_of({}, fall), TOOLS
    )
    assert found["bottleneck"]["index"] == 1
    assert found["bottleneck"]["reasons"][0]["code"] == "deposit"
    assert (found["rows"][1]["deposit_id"], found["rows"][1]["deposit_pct"]) == ("00", 30)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"shape": "unknown"}, "shape_not_known"),
        ({"height_mm": None}, "size_not_known"),
        ({"shape": "arch"}, "width_not_known"),
        ({"to_counter_m": None}, "stretch_without_ends"),
    ],
)
def test_what_cannot_be_computed_says_why(change, code):
    found = run_capacity({}, records(PIPE | change), [], ROUGH, None, TOOLS)
    assert found["rows"][0]["left_out"] == code


def test_without_levels_there_is_no_number():
    found = run_capacity({}, records(PIPE), [], ROUGH, None, TOOLS)
    assert found["rows"][0]["capacity"]["known"] == "unknown"
    assert found["bottleneck"]["index"] is None


pipes = st.lists(
    optional(
        from_counter_m=metres,
        to_counter_m=metres,
        height_mm=st.sampled_from([150, 225, 600]),
        width_mm=st.sampled_from([None, 400]),
        pipe_unit_length_m=st.sampled_from([None, 2.0, 3.7]),
        shape=st.sampled_from(["circular", "egg", "arch", "oval", "rectangular", "u_shape", "unknown"]),
        material=st.sampled_from(["concrete", "brick", "unknown"]),
        roughness_mm=st.sampled_from([None, 0.6]),
    ),
    max_size=3,
)
seen = st.lists(
    optional(
        counter_m=metres,
        code=st.sampled_from(["BBC", "BAA", "BCC", "BCA", "BAJ"]),
        quantification_1=st.sampled_from([None, 0, 10, 45, 100, 120]),
        characterisation_1=st.sampled_from(["A", "B", "C", None]),
        turns_to=st.sampled_from([None, "left", "right_up", "down"]),
        characterisation_2=st.sampled_from(["A", "B", None]),
    ),
    max_size=4,
)
more_runs = st.tuples(
    runs,
    optional(
        direction=st.sampled_from(["with_flow", "against_flow", "unknown"]),
        start_bearing=st.builds(
            bearing, st.sampled_from([0, 33.3, 359]), st.sampled_from(["magnetic", "true", "grid"])
        ),
    ),
).map(lambda two: {**two[0], **two[1]})
places = st.lists(
    optional(
        position=st.builds(
            lambda d, source: PLACE | {"lat_deg": 52 + d, "source": source},
            st.sampled_from([0, 1e-4, -3e-4]),
            st.sampled_from(["phone", "receiver"]),
        )
    ),
    max_size=2,
)
JOINTS = tables.load("joint_deflections")["rows"]
norths_known = st.sampled_from(
    [{}, {"declination_known": "model"}, {"declination_sd_deg": 0.4, "declination_model": "WMM-2025"}]
)


@parity(
    "plan/run_trace",
    more_runs,
    readings,
    seen,
    places,
    st.sampled_from([None, 2.5]),
    checks,
    st.dictionaries(
        st.sampled_from(["00", "01", "02"]), st.tuples(st.floats(0, 20), st.floats(20, 90), st.booleans())
    ),
    pipes,
    norths_known,
    each=10,
    keep=[CODES],
)
def test_both_sides_trace_alike(
    twin, run, read, observed, nodes, declination, checked, reported, laid, known
):
    held = instruments_of(records(*checked), "run")
    basis = basis_of(known, records(*laid), JOINTS)

    def ours(*args):
        return run_trace(TraceFacts(**{**args[0], "instruments": held, "basis": basis}))

    facts = {
        "run": run, "nodes": records(*nodes), "readings": records(*read), "observations": records(*observed),
        "code_rows": CODES, "instruments": as_json(held), "declination_deg": declination,
        "convergence_deg": None, "settled": reported, "basis": as_json(basis),
    }  # fmt: skip
    agree(twin, "survey/plan/run_trace", "run_trace", ours, facts)


@parity(
    "flow/run_capacity",
    more_runs,
    pipes,
    seen,
    st.lists(st.fixed_dictionaries({"counter_m": metres, "inclination": inclinations}), max_size=5),
    each=10,
    keep=[ROUGH],
)
def test_both_sides_carry_alike(twin, run, stretches, observed, read):
    model = run_model(run, records(*read), [], records(*stretches), [], TOOLS)
    try:
        profile = level_profile(model.readings, model.ties, model.setup)
    except SurveyError:
        profile = None

    def ours(*args):
        return run_capacity(*args[:4], profile, TOOLS)

    plain = None if profile is None else as_json(profile)
    agree(
        twin,
        "survey/flow/run_capacity",
        "run_capacity",
        ours,
        run,
        records(*stretches),
        records(*observed),
        ROUGH,
        plain,
        as_json(TOOLS),
    )


degrees = st.one_of(st.none(), st.floats(-90, 90))
gaps = st.builds(
    lambda reading, consistent, low, high, deg, sd: SolvedGap(
        reading, 1.0, 0.5, "solved", consistent, None, None, low, high, None, None, None, deg, sd
    ),
    st.integers(0, 3), st.booleans(), degrees, degrees, degrees, st.one_of(st.none(), st.floats(0, 5)),
)  # fmt: skip


@parity("levels/gap_inclinations", st.lists(gaps, max_size=4))
def test_both_sides_settle_alike(twin, found):
    ids = ["a", "b", "c", "d"]
    module, plain = "survey/levels/gap_inclinations", [as_json(one) for one in found]
    agree(twin, module, "settled_inclinations", lambda *_: settled_inclinations(ids, found), ids, plain)
    settled = settled_inclinations(ids, found)

    def places(*args):
        return {str(k): v for k, v in settled_at(*args).items()}

    agree(twin, module, "settled_at", places, ids, settled)

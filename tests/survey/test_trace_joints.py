"""Joints that nobody observed, declination and positions: by hand, against joint by joint, on both sides."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parity import parity
from plan_cases import runs, sized
from run_made import figures_of
from test_run_model import records
from test_run_plan_and_capacity import PLACE, bearing
from twins import agree, as_json, refuses

from webapp import tables
from webapp.figures.run_records import RunRecords
from webapp.survey.plan import joint_turns, joints, position_accuracy, trace, trace_basis
from webapp.survey.plan.joints import Joint

ROWS = tables.load("joint_deflections")["rows"]
MATERIALS = tables.choices("materials")
few = settings(max_examples=200, deadline=None)


def whole(args, unread):
    start, shape, length, *tie = args
    return trace.trace_plan(
        trace.Start(**start), [trace.Bend(**b) for b in shape], trace.TraceLength(**length),
        trace.EndTie(**tie[0]) if tie else None, unread,
    )  # fmt: skip


def bare(length, unread):
    start = {"e_m": 0.0, "n_m": 0.0, "sd_m": 0.0, "bearing_deg": 0.0, "bearing_sd_deg": 0.0}
    return whole([start, [], sized(length)], unread)


@pytest.mark.parametrize(("s", "n", "degrees"), [(2.0, 3, 1.0), (5.0, 9, 0.5), (0.6, 63, 1.0)])
def test_joints_across_are_the_stretched_open_traverse(s, n, degrees):
    """m s root(n (n + 1)(2 n + 1) / 6), m in radians: any text on traverses."""
    end = bare((n + 1) * s, [Joint((k + 1) * s, degrees) for k in range(n)]).points[-1]
    wanted = math.radians(degrees) * s * math.sqrt(n * (n + 1) * (2 * n + 1) / 6)
    assert math.sqrt(end.cov_m2[0]) == pytest.approx(wanted, rel=1e-9)


def test_the_published_factors_of_a_round_error():
    """FGDC-STD-007.3-1998 (NSSDA): a 95 % radius is 1.7308 times the root mean square (63.2 %), 2.4477 sd."""
    by_rms = {"accuracy_m": 1.0, "accuracy_pct": 100 * (1 - math.exp(-1))}
    assert position_accuracy.radius_95_m(by_rms) == pytest.approx(1.7308, abs=5e-5)
    by_sd = {"accuracy_m": 1.0, "accuracy_pct": 100 * (1 - math.exp(-0.5))}
    assert position_accuracy.radius_95_m(by_sd) == pytest.approx(2.4477, abs=5e-5)


def test_three_joints_by_hand():
    """8 m in 2 m pipes, 1 degree each: 0.017453 x root(6^2 + 4^2 + 2^2) = 0.130608 m across."""
    end = bare(8.0, [Joint(c, 1.0) for c in (2.0, 4.0, 6.0)]).points[-1]
    assert math.sqrt(end.cov_m2[0]) == pytest.approx(0.130608, abs=1e-6)
    # along: 1.25 x 0.017453^2 x (6 + 4 + 2) = 0.004569 m, of second order
    assert math.sqrt(end.cov_m2[2]) == pytest.approx(0.004569, abs=1e-6)
    assert (end.e_m, end.n_m) == (0.0, 8.0)


@few
@given(runs(tied=False), st.lists(st.tuples(st.floats(0, 1), st.floats(0.01, 3)), max_size=12))
def test_two_causes_a_leg_are_all_joints_one_by_one(args, drawn):
    start, shape, sizes = args
    length = sizes["length_m"]
    unread = [Joint(share * length, sd) for share, sd in sorted(drawn)]
    marks = [0.0, *(b["chainage_m"] for b in shape), length]
    bends = [trace.Bend(**b) for b in shape]
    plainly = trace.trace_plan(trace.Start(**start), bends, trace.TraceLength(**sizes))
    places = [(p.e_m, p.n_m) for p in plainly.points]
    parts = joint_turns.joint_parts(places, plainly.leg_bearings_deg, marks, unread)
    for k, own in enumerate(parts):
        wanted = np.zeros((2, 2))
        for joint in unread:
            leg = max(i for i, mark in enumerate(marks[:-1]) if mark <= joint.chainage_m)
            if leg >= k:
                continue
            phi, ahead = math.radians(plainly.leg_bearings_deg[leg]), joint.chainage_m - marks[leg]
            e, n = places[leg][0] + ahead * math.sin(phi), places[leg][1] + ahead * math.cos(phi)
            one = math.radians(joint.sd_deg) * np.array([places[k][1] - n, -(places[k][0] - e)])
            wanted += np.outer(one, one)
        found = sum((np.outer(p, p) for p in own), np.zeros((2, 2)))
        assert np.allclose(found, wanted, rtol=1e-6, atol=1e-6 * max(1.0, length))


@few
@given(runs(tied=True), st.lists(st.tuples(st.floats(0, 1), st.floats(0.01, 3)), max_size=9))
def test_joints_never_move_a_free_trace_and_never_make_it_surer(args, drawn):
    unread = [Joint(share * args[2]["length_m"], sd) for share, sd in sorted(drawn)]
    free, loose = whole(args[:-1], None), whole(args[:-1], unread)
    for a, b in zip(free.points, loose.points, strict=True):
        assert (a.e_m, a.n_m) == (b.e_m, b.n_m)
        assert b.ellipse.semi_major_m >= a.ellipse.semi_major_m * (1 - 1e-9)
    tied, looser = whole(args, None), whole(args, unread)
    assert looser.points[-1].ellipse.semi_major_m >= tied.points[-1].ellipse.semi_major_m * (1 - 1e-6) - 1e-9


def piece(from_m, to_m, **more):
    return {"from_counter_m": from_m, "to_counter_m": to_m, **more}


def along(stretches, length_m, observed=(), zero_m=0.0):
    span = {"zero_m": zero_m, "scale": 1.0, "length_m": length_m}
    return joints.joints_along(records(*stretches), span, ROWS, list(observed))


def test_joints_lie_where_the_pipes_end():
    found = along([piece(1.0, 6.0, material="vitrified_clay", pipe_unit_length_m=1.5)], 9.0, zero_m=1.0)
    assert [j.chainage_m for j in found["joints"]] == [1.5, 3.0, 4.5, 5.0, 7.0]
    assert [(o["pipe_m"], o["pipe_known"], o["material"], o["count"]) for o in found["lengths"]] == [
        (1.5, "measured", "vitrified_clay", 3), (2.0, "assumed", "", 2),
    ]  # fmt: skip
    assert along([], 6.0, [3.3])["joints"] == [Joint(2.0, 1.0)]  # what was observed at 3.3 is the one at 4


def test_shorter_pipes_than_usual_turn_as_much_a_metre():
    """Steel, 1.7 degrees in 6 m: in 3 m 1.7 / root 2 = 1.2021, in 2 m 0.98 so 1; longer as in the table."""
    for pipe_m, wanted in ((12.0, 1.7), (6.0, 1.7), (3.0, 1.2021), (2.0, 1.0)):
        found = along([piece(0.0, 40.0, material="steel", pipe_unit_length_m=pipe_m)], 40.0)
        assert found["lengths"][0]["sd_deg"] == pytest.approx(wanted, abs=1e-4) == found["joints"][0].sd_deg


def test_every_material_has_a_joint_of_its_own_or_the_common_one():
    for material in MATERIALS:
        found = along([piece(0.0, 40.0, material=material)], 40.0)
        assert found["joints"] and all(0 < j.sd_deg <= 3 for j in found["joints"])
        turned, often = found["joints"][0].sd_deg, found["lengths"][0]["pipe_m"]
        assert turned**2 / often >= 0.95 * 1.0**2 / 2.0  # no less a metre than 1 degree in 2 m
    assert {row["material"] for row in ROWS} - set(MATERIALS) == {""}
    assert all(row["source"] and row["certainty"] for row in ROWS)


@few
@given(
    st.lists(st.tuples(st.floats(0, 60), st.floats(0, 60), st.sampled_from([None, 0.6, 2.0])), max_size=4),
    st.floats(0.5, 60),
)
def test_the_lengths_cover_the_run_once(drawn, length):
    found = along([piece(a, b, pipe_unit_length_m=p) for a, b, p in drawn], length)
    ends = [0.0]
    for one in found["lengths"]:
        assert one["from_m"] == pytest.approx(ends[-1], abs=1e-9)
        ends.append(one["to_m"])
    assert ends[-1] == pytest.approx(length, abs=1e-6)
    places = [j.chainage_m for j in found["joints"]]
    assert places == sorted(places) and all(0 < p < length for p in places)
    assert len(places) == sum(one["count"] for one in found["lengths"])


def test_a_pipe_recorded_in_pieces_widens_the_ellipse_of_its_run():
    """40 m of 2 m pipes: 0.017453 x root(4 x (1 + 4 + ... + 361)) = 1.7350 m, and 5 m / 2.4477 of start."""
    run = {"start_node_id": "00", "start_bearing": bearing(90.0, sd_deg=0), "end_counter_m": 40.0}
    nodes = records({"position": PLACE | {"accuracy_m": 5.0, "source": "receiver"}})
    stretch = records(piece(0, 40, material="vitrified_clay", pipe_unit_length_m=2.0))
    found = figures_of("r", run, {}, RunRecords(nodes=nodes, stretches=stretch)).trace
    across = 2.4477 * math.hypot(5.0 / 2.4477, 1.7350)
    assert found["trace"]["points"][-1]["ellipse"]["semi_major_m"] == pytest.approx(across, rel=1e-3)
    assert found["joints"] == [
        {"from_m": 0.0, "to_m": 40.0, "pipe_m": 2.0, "pipe_known": "measured", "material": "vitrified_clay",
         "sd_deg": 1.0, "count": 19}
    ]  # fmt: skip


spreads = st.lists(st.tuples(st.floats(0, 1), st.floats(0.0, 3)), max_size=9)


@parity("plan/trace", "plan/joint_turns", runs(), spreads)
def test_both_sides_turn_alike(twin, args, drawn):
    unread = [{"chainage_m": share * args[2]["length_m"], "sd_deg": sd} for share, sd in sorted(drawn)]
    values = [*args, *([None] if len(args) == 3 else []), unread]

    def ours(*given_args):
        *own, tie, some = given_args
        return as_json(whole([*own, *([tie] if tie else [])], [Joint(**one) for one in some]))

    agree(twin, "survey/plan/trace", "trace_plan", ours, *values)
    marks = [0.0, *(b["chainage_m"] for b in args[1]), args[2]["length_m"]]
    places = [[float(k), 3.0 * k] for k, _ in enumerate(marks)]
    bearings = [30.0 * k for k in range(len(marks) - 1)]
    sds = [1.0] * len(bearings)
    some = [Joint(**one) for one in unread]
    agree(
        twin, "survey/plan/joint_turns", "joint_parts",
        lambda p, b, m, _: [[list(x) for x in own] for own in joint_turns.joint_parts(p, b, m, some)],
        places, bearings, marks, unread,
    )  # fmt: skip
    agree(
        twin, "survey/plan/joint_turns", "shortening_parts",
        lambda b, m, s, _: [list(x) for x in joint_turns.shortening_parts(b, m, s, some)],
        bearings, marks, sds, unread,
    )  # fmt: skip
    refuses(
        twin, "survey/plan/joint_turns", "joint_parts",
        lambda p, b, m, _: joint_turns.joint_parts(p, b, m, some[::-1]),
        places, bearings, marks, unread[::-1],
    )  # fmt: skip


pieces = st.fixed_dictionaries(
    {},
    optional={
        "from_counter_m": st.sampled_from([None, 0, 1.5, 10, 33.3]),
        "to_counter_m": st.sampled_from([None, 0, 8, 20, 50]),
        "pipe_unit_length_m": st.sampled_from([None, 0.6, 2.0, 3.7, 0.01]),
        "material": st.sampled_from([None, "vitrified_clay", "pvc_u", "unknown", "brick", "steel", "grp"]),
    },
)


@parity(
    "plan/joints", st.lists(pieces, max_size=4), st.floats(0.1, 60), st.sampled_from([0.0, 1.0]),
    st.sampled_from([1.0, 1.01, 0]), st.lists(st.floats(0, 60), max_size=3), keep=[ROWS],
)  # fmt: skip
def test_both_sides_find_the_same_joints(twin, drawn, length, zero, scale, seen):
    span = {"zero_m": zero, "scale": scale, "length_m": length}

    def ours(*given_args):
        found = joints.joints_along(*given_args)
        return {**found, "joints": as_json(found["joints"])}

    agree(twin, "survey/plan/joints", "joints_along", ours, records(*drawn), span, ROWS, seen)


places = st.fixed_dictionaries(
    {},
    optional={
        "accuracy_m": st.sampled_from([None, 0, 4.9, 50, -1, "1"]),
        "accuracy_pct": st.one_of(st.none(), st.floats(0.5, 100), st.sampled_from([63, 68, 95, True, "9"])),
        "source": st.sampled_from(["phone", "receiver", "typed", None]),
    },
)
jobs = st.fixed_dictionaries(
    {},
    optional={
        "declination_sd_deg": st.one_of(st.none(), st.floats(0, 5)),
        "declination_known": st.sampled_from([None, "model", "map", "typed"]),
        "declination_model": st.sampled_from([None, "", "WMM-2025"]),
    },
)


@parity("plan/position_accuracy", "plan/trace_basis", places, jobs, st.floats(-30, 30))
def test_both_sides_rest_on_the_same(twin, position, job, deg):
    name = "survey/plan/position_accuracy"
    agree(twin, name, "stated_pct", position_accuracy.stated_pct, position)
    agree(twin, name, "radius_95_m", position_accuracy.radius_95_m, position)
    agree(twin, "survey/plan/trace_basis", "position_used", trace_basis.position_used, position)
    basis = trace_basis.basis_of(job, [], [])
    ours = agree(
        twin, "survey/plan/trace_basis", "basis_of", lambda *a: as_json(trace_basis.basis_of(*a)), job, [], []
    )
    agree(
        twin, "survey/plan/trace_basis", "declination_used",
        lambda d, _: trace_basis.declination_used(d, basis), deg, {**ours, "stretches": [], "joint_rows": []},
    )  # fmt: skip

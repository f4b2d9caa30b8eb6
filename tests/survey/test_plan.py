"""The trace against other libraries, by simulation, and what must hold for any run."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from plan_cases import runs, sized, trace_of
from reference import cases, close

from webapp import tables
from webapp.selfcheck import plan, traverse
from webapp.survey.errors import SurveyError
from webapp.survey.plan import bends, ellipse, plan_length, trace, turns
from webapp.survey.plan.deflection import SlopeReadings, deflection_in_plan_deg
from webapp.survey.plan.plan_reading import Reading

few = settings(max_examples=300, deadline=None)


@pytest.mark.parametrize(
    ("topic", "case"),
    [pytest.param(t, c, id=f"{t}-{c['id']}") for t in plan.TOPICS for c in cases(t)],
)
def test_reference_values(topic, case):
    computed = plan.TOPICS[topic](case["inputs"])
    for key, wanted in case["expected"].items():
        assert close(computed[key], wanted, case["tolerance"][key]), (key, computed[key], wanted)


def simulated(start, shape, length, scale_sd, leg_sd, draws, random):
    """Ends of runs with errors drawn from the stated model: the whole run again, nothing linear."""
    marks = np.array([0.0, *(b["chainage_m"] for b in shape), length])
    bearing = start["bearing_deg"] + start["bearing_sd_deg"] * random.standard_normal(draws)
    scale = 1 + scale_sd * random.standard_normal(draws)
    e = start["e_m"] + start["sd_m"] * random.standard_normal(draws)
    n = start["n_m"] + start["sd_m"] * random.standard_normal(draws)
    for leg in range(len(marks) - 1):
        if leg:
            bend = shape[leg - 1]
            bearing = bearing + bend["deflection_deg"] + bend["sd_deg"] * random.standard_normal(draws)
        own = (marks[leg + 1] - marks[leg]) * scale + leg_sd * random.standard_normal(draws)
        e, n = e + own * np.sin(np.radians(bearing)), n + own * np.cos(np.radians(bearing))
    return e, n


@pytest.mark.parametrize("seed", range(6))
def test_the_ellipse_holds_95_in_100_draws(seed):
    """Random runs with bearings known to a degree or better; 40,000 draws each."""
    random = np.random.default_rng(seed)
    count = int(random.integers(0, 5))
    length = float(random.uniform(10, 120))
    shape = [
        {"chainage_m": float(c), "deflection_deg": float(random.uniform(-60, 60)), "sd_deg": 1.0}
        for c in np.sort(random.uniform(0, length, count))
    ]
    start = {"e_m": 5.0, "n_m": 7.0, "sd_m": 0.1, "bearing_deg": 77.0 * seed, "bearing_sd_deg": 1.0}
    end = trace_of(start, shape, sized(length, 0.005, 0.02)).points[-1]
    e, n = simulated(start, shape, length, 0.005, 0.02, 40_000, random)
    theta = math.radians(end.ellipse.azimuth_deg)
    a = (e - end.e_m) * math.sin(theta) + (n - end.n_m) * math.cos(theta)
    b = (e - end.e_m) * math.cos(theta) - (n - end.n_m) * math.sin(theta)
    share = np.mean((a / end.ellipse.semi_major_m) ** 2 + (b / end.ellipse.semi_minor_m) ** 2 <= 1)
    assert 0.938 <= share <= 0.955
    around = np.mean(
        np.hypot(e - end.e_m, n - end.n_m) <= ellipse.search_radius_m(end.ellipse.semi_major_m, 0)
    )
    assert around >= share  # the circle to look within holds the ellipse


@few
@given(runs(tied=True))
def test_the_tie_is_dense_conditioning(args):
    """Against numpy: parameters, their covariance and the derivatives by differences, in full."""
    start, shape, sizes, tie = args
    length, scale_sd, leg_sd = sizes.values()
    # from an origin near by, so that the differences below keep their figures
    tie = tie | {"e_m": tie["e_m"] - start["e_m"], "n_m": tie["n_m"] - start["n_m"]}
    start = start | {"e_m": 0.0, "n_m": 0.0}
    args = [start, shape, sizes, tie]

    def end_of(values):
        bearing, e, n = start["bearing_deg"] + values[2], start["e_m"] + values[0], start["n_m"] + values[1]
        marks = [0.0, *(b["chainage_m"] for b in shape), length]
        for leg in range(len(marks) - 1):
            if leg:
                bearing += shape[leg - 1]["deflection_deg"] + values[2 + leg]
            own = (marks[leg + 1] - marks[leg]) * (1 + values[3 + len(shape)]) + values[4 + len(shape) + leg]
            e, n = e + own * math.sin(math.radians(bearing)), n + own * math.cos(math.radians(bearing))
        return np.array([e, n])

    sds = [start["sd_m"], start["sd_m"], start["bearing_sd_deg"], *(b["sd_deg"] for b in shape), scale_sd]
    sds = np.array(sds + [leg_sd] * (len(shape) + 1))
    zero, step = np.zeros(len(sds)), 1e-5
    jacobian = np.array(
        [(end_of(zero + step * u) - end_of(zero - step * u)) / (2 * step) for u in np.eye(len(sds))]
    ).T
    prior = np.diag(sds**2)
    spread = jacobian @ prior @ jacobian.T + tie["sd_m"] ** 2 * np.eye(2)
    missing = np.array([tie["e_m"], tie["n_m"]]) - end_of(zero)
    corrections = prior @ jacobian.T @ np.linalg.solve(spread, missing)
    after = prior - prior @ jacobian.T @ np.linalg.solve(spread, jacobian @ prior)
    found = trace_of(*args)
    scale = max(1.0, np.abs(missing).max())
    assert found.bearing_correction_deg == pytest.approx(corrections[2], abs=1e-4 * scale)
    assert found.scale_correction == pytest.approx(corrections[3 + len(shape)], abs=1e-5 * scale)
    ee, en, nn = found.points[-1].cov_m2
    wanted = jacobian @ after @ jacobian.T
    assert np.allclose([[ee, en], [en, nn]], wanted, atol=1e-5)
    assert found.misclosure_m == pytest.approx(tuple(-missing), abs=1e-6)
    assert found.misclosure_size == pytest.approx(
        math.sqrt(missing @ np.linalg.solve(spread, missing)), rel=1e-3, abs=1e-6
    )


@few
@given(runs(tied=True))
def test_a_tie_never_enlarges_an_ellipse(args):
    free, tied = trace_of(*args[:-1]), trace_of(*args)
    for before, after in zip(free.points, tied.points, strict=True):
        assert after.ellipse.semi_major_m <= before.ellipse.semi_major_m * (1 + 1e-9) + 1e-9
        assert after.ellipse.semi_minor_m <= before.ellipse.semi_minor_m * (1 + 1e-9) + 1e-9
    radius = math.sqrt(ellipse.CHI2_95) * args[3]["sd_m"]
    assert tied.points[-1].ellipse.semi_major_m <= radius * (1 + 1e-9)


@few
@given(runs(tied=True))
def test_a_tie_draws_the_end_nearer(args):
    tie, free, tied = args[3], trace_of(*args[:-1]).points[-1], trace_of(*args).points[-1]
    before = math.hypot(tie["e_m"] - free.e_m, tie["n_m"] - free.n_m)
    size = trace_of(*args).misclosure_size
    assert math.hypot(tie["e_m"] - tied.e_m, tie["n_m"] - tied.n_m) <= before + 1e-6
    assert trace_of(*args).suspect == (size * size > ellipse.CHI2_95)


@few
@given(runs(tied=False), st.floats(-180, 180))
def test_rotating_the_start_bearing_rotates_everything(args, turn):
    start = args[0] | {"e_m": 0.0, "n_m": 0.0}
    plain = trace_of(start, *args[1:])
    turned = trace_of(start | {"bearing_deg": start["bearing_deg"] + turn}, *args[1:])
    sin, cos = math.sin(math.radians(turn)), math.cos(math.radians(turn))
    for a, b in zip(plain.points, turned.points, strict=True):
        assert b.e_m == pytest.approx(cos * a.e_m + sin * a.n_m, abs=1e-6)
        assert b.n_m == pytest.approx(cos * a.n_m - sin * a.e_m, abs=1e-6)
        assert b.ellipse.semi_major_m == pytest.approx(a.ellipse.semi_major_m, abs=1e-6)
        assert b.ellipse.semi_minor_m == pytest.approx(a.ellipse.semi_minor_m, abs=1e-6)
        if a.ellipse.semi_major_m > a.ellipse.semi_minor_m + 1e-3:
            apart = (b.ellipse.azimuth_deg - a.ellipse.azimuth_deg - turn) % 180
            assert min(apart, 180 - apart) < 1e-3


@few
@given(runs(tied=False), st.floats(0, 1))
def test_a_bend_of_nothing_changes_nothing(args, share):
    start, shape, sizes = args
    length, sizes = sizes["length_m"], sizes | {"leg_sd_m": 0.0}
    extra = {"chainage_m": share * length, "deflection_deg": 0.0, "sd_deg": 0.0}
    more = sorted([*shape, extra], key=lambda b: b["chainage_m"])
    plain, other = trace_of(start, shape, sizes), trace_of(start, more, sizes)
    a, b = plain.points[-1], other.points[-1]
    assert (b.e_m, b.n_m) == pytest.approx((a.e_m, a.n_m), abs=1e-6)
    assert b.cov_m2 == pytest.approx(a.cov_m2, abs=1e-6)
    assert trace.place_along(plain, share * length) == pytest.approx(
        trace.place_along(other, share * length), abs=1e-6
    )


@few
@given(runs(tied=False), st.floats(1.01, 5))
def test_a_worse_instrument_never_shrinks_the_ellipse(args, worse):
    start, shape, sizes = args
    more = [b | {"sd_deg": b["sd_deg"] * worse} for b in shape]
    sizes = sizes | {"scale_sd": sizes["scale_sd"] * worse}
    big = trace_of(start | {"bearing_sd_deg": start["bearing_sd_deg"] * worse}, more, sizes)
    small = trace_of(*args)
    assert big.points[-1].ellipse.semi_major_m >= small.points[-1].ellipse.semi_major_m - 1e-9


def test_a_tie_three_metres_off_is_named():
    start = {"e_m": 0.0, "n_m": 0.0, "sd_m": 0.05, "bearing_deg": 90.0, "bearing_sd_deg": 0.5}
    wrong = trace_of(start, [], sized(30.0, 0.003), {"e_m": 30.0, "n_m": 3.0, "sd_m": 0.1})
    right = trace_of(start, [], sized(30.0, 0.003), {"e_m": 30.0, "n_m": 0.3, "sd_m": 0.1})
    assert (wrong.suspect, right.suspect) == (True, False)


START = {"e_m": 0.0, "n_m": 0.0, "sd_m": 0.0, "bearing_deg": 0.0, "bearing_sd_deg": 0.0}


@pytest.mark.parametrize(
    ("args", "code", "index"),
    [
        ((START, [], sized(0.0)), "length_not_positive", None),
        ((START, [], sized(math.nan)), "number_not_finite", None),
        ((START, [{"chainage_m": 9, "deflection_deg": 0, "sd_deg": 0}], sized(5)), "bend_outside_run", 0),
        ((START, [], sized(5.0, -0.1)), "sd_negative", None),
        ((START, [], sized(5.0), {"e_m": 0, "n_m": 5, "sd_m": 0.0}), "tie_not_solvable", None),
        ((START | {"sd_m": math.inf}, [], sized(5.0)), "number_not_finite", None),
    ],
)
def test_refusals(args, code, index):
    with pytest.raises(SurveyError) as caught:
        trace_of(*args)
    assert (caught.value.code, caught.value.index) == (code, index)


def test_compass_rule_by_hand():
    """A square of 10 m whose last side is a metre short: each side takes a share by its length."""
    found = traverse.traverse_bowditch([0, 90, 180, 270], [10, 10, 10, 9], 0.0, 0.0)
    assert found.misclosure_departure_m == pytest.approx(1.0)
    assert found.adjusted_departure_m == pytest.approx([-10 / 39, 10 - 10 / 39, -10 / 39, -9 - 9 / 39])
    assert found.precision_one_in == pytest.approx(39.0)


@few
@given(st.lists(st.tuples(st.floats(0, 360), st.floats(0.1, 500)), min_size=1, max_size=9))
def test_an_adjusted_traverse_ends_where_it_should(sides):
    """Closed by a further leg that is 1 % too long, or a link to a point 1 % of the length away."""
    azimuths, lengths = [a for a, _ in sides], [s for _, s in sides]
    open_end = [traverse.dead_reckoning_leg(*side) for side in sides]
    north, east = sum(leg.latitude_m for leg in open_end), sum(leg.departure_m for leg in open_end)
    total, back_m = sum(lengths), math.hypot(north, east)
    end = (7.0 + north + 0.01 * total, -3.0 + east)
    link = traverse.traverse_bowditch(azimuths, lengths, 7.0, -3.0, end)
    assert link.linear_misclosure_m == pytest.approx(0.01 * total)
    assert (link.end_northing_m, link.end_easting_m) == pytest.approx(end, abs=1e-9 * total + 1e-9)
    assume(back_m > 1e-6)
    back = math.degrees(math.atan2(-east, -north))
    loop = traverse.traverse_bowditch([*azimuths, back], [*lengths, 1.01 * back_m], 0.0, 0.0)
    assert sum(loop.adjusted_latitude_m) == pytest.approx(0, abs=1e-9 * total + 1e-9)
    assert sum(loop.adjusted_departure_m) == pytest.approx(0, abs=1e-9 * total + 1e-9)


def test_a_link_traverse_taken_for_a_closed_one_is_refused():
    """Three legs from one known point to another, 113 m away; off by 0.09 m, as published."""
    link = next(case for case in cases("traverse_bowditch") if "end_northing_m" in case["inputs"])
    legs = link["inputs"]["azimuth_deg"], link["inputs"]["length_m"]
    with pytest.raises(SurveyError) as caught:
        traverse.traverse_bowditch(*legs, 0.0, 0.0)
    assert caught.value.code == "traverse_not_closed"


SIDES = [{"value": "A", "label": "a", "side": "left"}, {"value": "B", "label": "b", "side": "right"}]
ROWS = [{"code": "BCC", "characterisation_1": SIDES, "characterisation_2": [{"value": "A", "label": "Up"}]}]


def seen(counter, first, angle, second=None, **more):
    fields = {"code": "BCC", "counter_m": counter, "characterisation_1": first, "quantification_1": angle}
    return {"id": f"{counter}", "fields": fields | {"characterisation_2": second} | more}


def test_which_way_a_bend_turns_is_no_word_of_its_label():
    (row,) = (r for r in tables.load("observation_codes")["rows"] if r["code"] == "BCC")
    letters = [{**one, "label": f"[{one['label'][::-1]}]"} for one in row["characterisation_1"]]
    reworded = {**row, "characterisation_1": letters}
    assert [turns.side_of(reworded, letter) for letter in "ABC"] == [-1, 1, None]


def test_bends_are_signed_ordered_and_honest():
    found = bends.bends_of(
        ROWS,
        [
            seen(20.0, "B", 30, continuous={"role": "start", "number": 1}),
            seen(24.0, "B", None, continuous={"role": "finish", "number": 1}),
            seen(5.0, "A", 45),
            seen(7.0, None, 10, "A"),
            seen(30.0, "B", 10, "A"),
            seen(40.0, "B", None),
            seen(41.0, None, 12),
        ],
        1.0,
        1.0,
        2.0,
    )
    assert [(b["chainage_m"], b["known"]) for b in found["bends"]] == [
        (4.0, "measured"),
        (21.0, "measured"),
        (29.0, "assumed"),
    ]
    assert [b["deflection_deg"] for b in found["bends"]] == pytest.approx([-45, 30, 20 / math.pi])
    assert found["bends"][2]["sd_deg"] > 3
    assert [f["code"] for f in found["left_out"]] == ["bend_without_angle", "bend_without_side"]


def test_inclinations_close_by_tell_how_much_of_a_slanting_bend_lies_in_plan():
    """Level before, 30 degrees up behind, turned by 45: cos 45 = cos 30 cos plan, so 35.26."""
    read = [Reading(9.0, 0.0), Reading(11.0, 30.0)]
    slopes = SlopeReadings(read, 0.2)
    reported = bends.bends_of(ROWS, [seen(10.0, "B", 45, "A")], 0.0, 1.0, 2.0, slopes)["bends"][0]
    assert (reported["deflection_deg"], reported["known"]) == (pytest.approx(35.2644, abs=1e-4), "computed")
    # d plan / d turned = sin 45 / (cos 30 sin 35.26) = sqrt 2; d plan / d rise = 1, by hand
    assert reported["sd_deg"] == pytest.approx(math.sqrt((math.sqrt(2) * 2.0) ** 2 + 2 * 0.2**2), abs=1e-4)
    for others in ([Reading(7.0, 0.0), read[1]], [Reading(9.0, None, 1), read[1]], read[:1]):
        slopes = SlopeReadings(others, 0.2)
        left = bends.bends_of(ROWS, [seen(10.0, "B", 45, "A")], 0.0, 1.0, 2.0, slopes)["bends"][0]
        assert (left["deflection_deg"], left["known"]) == (pytest.approx(90 / math.pi), "assumed")


@few
@given(st.floats(-60, 60), st.floats(-60, 60), st.floats(0.1, 170))
def test_the_share_of_a_bend_in_plan_by_vectors(before, after, deflection):
    def direction(tilt, bearing):
        t, b = math.radians(tilt), math.radians(bearing)
        return np.array([math.cos(t) * math.sin(b), math.cos(t) * math.cos(b), math.sin(t)])

    turned = math.degrees(math.acos(max(-1, min(1, direction(before, 0) @ direction(after, deflection)))))
    assert deflection_in_plan_deg(turned, before, after) == pytest.approx(deflection, abs=1e-3)


def test_plan_length_by_hand():
    """60 degrees halves the length; beyond a range of 60 degrees it is between none and half."""
    assert plan_length.plan_lengths([8.0], [Reading(0, 60.0), Reading(10, 60.0)], 90)[
        0
    ].low_m == pytest.approx(4)
    found = plan_length.plan_lengths([0.0, 5.0], [Reading(0, None, 1), Reading(10, None, 1)], 60)
    assert (found[1].low_m, found[1].high_m) == pytest.approx((0, 2.5))
    assert [f.known for f in found] == ["computed", "bounded"]
    assert plan_length.plan_lengths([5.0], [], 10)[0] == (5.0, 5.0, 5.0, "assumed")
    settled = plan_length.plan_lengths([10.0], [Reading(0, None, 1)], 10, {0: (59.0, 61.0, True)})[0]
    assert settled.known == "assumed"  # it lies beyond the only reading
    assert (settled.low_m, settled.high_m) == pytest.approx((10 * 0.4848096, 10 * 0.5150381))
    narrowed = plan_length.plan_lengths([10.0], [Reading(0, None, 1)], 10, {0: (10.0, 60.0, False)})[0]
    assert (narrowed.known, narrowed.low_m) == ("bounded", pytest.approx(5))

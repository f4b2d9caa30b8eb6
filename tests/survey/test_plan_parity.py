"""The plan's modules through Python and JavaScript: at least 2,000 generated cases each."""

import math
from types import SimpleNamespace

import pytest
from hypothesis import strategies as st
from odd_numbers import degrees, numbers, odd
from parity import DRAWN, parity
from plan_cases import runs, trace_of
from reference import cases
from twins import agree, as_json, far, refuses, requested

from webapp import tables
from webapp.selfcheck import plan
from webapp.survey.plan import (
    bends,
    deflection,
    ellipse,
    geodesic_series,
    geodesy,
    north,
    plan_length,
    position_tie,
    trace,
    turns,
)
from webapp.survey.plan.plan_reading import Reading

WORDS = tables.messages()

latitudes = st.one_of(st.floats(-90, 90), st.integers(-90, 90))
longitudes = st.one_of(st.floats(-180, 180), st.integers(-180, 180))
parts = st.lists(st.tuples(st.floats(-10, 10), st.floats(-10, 10)).map(list), max_size=8)


@parity("plan/trace", runs())
def test_trace(twin, args):
    ours = agree(twin, "survey/plan/trace", "trace_plan", lambda *a: as_json(trace_of(*a)), *args)
    assert ours is not None or len(args) == 4  # only a tie may be refused among sound runs
    if ours:
        length_m = args[2]["length_m"]
        places = [0.0, length_m / 3, length_m, length_m + 1, -1.0]
        points = [SimpleNamespace(**p) for p in ours["points"]]
        for chainage in places:
            agree(
                twin, "survey/plan/trace", "place_along",
                lambda t, c: list(trace.place_along(SimpleNamespace(points=points), c)), ours, chainage,
            )  # fmt: skip


@parity("plan/trace", runs(most_bends=3), DRAWN, cases=500)
def test_trace_refuses_alike(twin, args, data):
    where = data.draw(st.sampled_from(["start", "bend", "length", "scale", "leg", "tie"]))
    value = data.draw(st.one_of(odd, st.sampled_from([-1.0, 0, 1e6])))
    if where == "start":
        args[0][data.draw(st.sampled_from(sorted(args[0])))] = value
    elif where == "bend" and args[1]:
        which = data.draw(st.integers(0, len(args[1]) - 1))
        args[1][which][data.draw(st.sampled_from(sorted(args[1][which])))] = value
    elif where == "tie" and len(args) == 4:
        args[3][data.draw(st.sampled_from(sorted(args[3])))] = value
    else:
        args[2][{"length": "length_m", "scale": "scale_sd"}.get(where, "leg_sd_m")] = value
    refuses(twin, "survey/plan/trace", "trace_plan", trace_of, *args)


@parity("plan/ellipse", parts, st.floats(0, 9), st.floats(0, 9))
def test_ellipse(twin, shifts, major, minor):
    agree(twin, "survey/plan/ellipse", "ellipse95", lambda p: as_json(ellipse.ellipse95(p)), shifts)
    agree(twin, "survey/plan/ellipse", "covariance", lambda p: list(ellipse.covariance(p)), shifts)
    agree(twin, "survey/plan/ellipse", "search_radius_m", ellipse.search_radius_m, major, minor)


@parity("plan/position_tie", parts, parts, st.tuples(st.floats(-9, 9), st.floats(-9, 9)).map(list))
def test_position_tie(twin, own, end, vector):
    spread = [*end, [0.5, 0.0], [0.0, 0.5]]
    name = "survey/plan/position_tie"
    agree(twin, name, "root", lambda p: list(position_tie.root(p)), end, floor=10.0)
    lower = agree(twin, name, "root", lambda p: list(position_tie.root(p)), spread)
    agree(twin, name, "whitened", lambda a, b: list(position_tie.whitened(a, b)), lower, vector)
    agree(twin, name, "solved", lambda a, b: list(position_tie.solved(a, b)), lower, vector)
    same = min(len(own), len(end))
    args = (own[:same], end[:same], lower)
    agree(twin, name, "gain", lambda *a: [list(r) for r in position_tie.gain(*a)], *args)


@parity(
    "plan/geodesy",
    latitudes,
    longitudes,
    degrees,
    st.one_of(st.floats(0, 1e6), st.floats(0, 2.1e7), st.floats(0, 100)),
)
def test_geodesic(twin, lat, lon, azimuth, distance):
    name = "survey/plan/geodesy"
    end = agree(twin, name, "direct", lambda *a: as_json(geodesy.direct(*a)), lat, lon, azimuth, distance)
    if end and distance <= 1e7:
        there = (end["lat_deg"], end["lon_deg"])
        line = geodesy.inverse(lat, lon, *there)

        def check(theirs, _):
            assert abs(line.distance_m - theirs["distance_m"]) <= 1e-9 * max(1.0, line.distance_m)
            if line.distance_m > 1:  # the bearing of a shorter line hangs on the last digit of the places
                assert far(line._asdict(), theirs, floor=1.0) <= 1e-9

        requested(twin, name, "inverse", (lat, lon, *there), check)
    if end and distance <= 1e6:
        there = (end["lat_deg"], end["lon_deg"])
        place = agree(
            twin, name, "local_of_geodetic", lambda *a: as_json(geodesy.local_of_geodetic(*a)),
            lat, lon, *there, floor=max(1.0, distance),
        )  # fmt: skip
        args = (lat, lon, place["e_m"], place["n_m"])
        agree(twin, name, "geodetic_of_local", lambda *a: as_json(geodesy.geodetic_of_local(*a)), *args)


@parity("plan/geodesy", "plan/trace", "plan/north", numbers, numbers, numbers, numbers, cases=500)
def test_geodesic_refuses_alike(twin, a, b, c, d):
    for name in ("inverse", "direct", "geodetic_of_local", "local_of_geodetic"):
        refuses(twin, "survey/plan/geodesy", name, getattr(geodesy, name), a, b, c, d)
    refuses(twin, "survey/plan/trace", "walk_this_way", trace.walk_this_way, a, b, c, d)
    refuses(twin, "survey/plan/north", "grid_convergence", north.grid_convergence, a, b, c)


@parity("plan/geodesic_series", st.floats(0, 0.02), st.floats(0, 0.002), st.floats(-4, 4), st.floats(-4, 4))
def test_series(twin, k2, n, first, arc):
    name = "survey/plan/geodesic_series"
    eps = agree(twin, name, "expansion", geodesic_series.expansion, k2)
    for series in ("distance_series", "arc_series"):
        ours = agree(twin, name, series, lambda e, f=series: as_json(getattr(geodesic_series, f)(e)), eps)
        agree(twin, name, "between", geodesic_series.between, ours, first, first + arc, arc)
        agree(twin, name, "wave", geodesic_series.wave, ours[1], first)
    for small in (eps, n * 100):
        agree(
            twin, name, "longitude_series", lambda *a: as_json(geodesic_series.longitude_series(*a)), small, n
        )


norths = st.sampled_from(["magnetic", "true", "grid", "up"])


@parity(
    "plan/north",
    latitudes,
    st.floats(-50, 50),
    longitudes,
    degrees,
    norths,
    norths,
    st.one_of(st.none(), degrees),
    numbers,
)
def test_north(twin, lat, east, meridian, bearing, first, second, declination, other):
    name = "survey/plan/north"
    agree(twin, name, "grid_convergence", north.grid_convergence, lat, meridian + east, meridian)
    args = (bearing, first, second, declination, other)
    ours = agree(twin, name, "turn_bearing", lambda *a: {"bearing": north.turn_bearing(*a)}["bearing"], *args)
    assert ours is None or 0 <= ours < 360
    agree(twin, name, "bearing_sd_deg", north.bearing_sd_deg, bearing, other)


ROWS = [r for r in tables.load("observation_codes")["rows"] if r["code"] in ("BCC", "BAB", "BAJ")]
observed = st.fixed_dictionaries(
    {"code": st.sampled_from(["BCC", "BCC", "BAJ", "BAJ", "BAB"])},
    optional={
        "counter_m": st.one_of(st.floats(0, 100), st.integers(0, 9), st.none()),
        "characterisation_1": st.sampled_from(["A", "B", "C", "C", "Z", None, ""]),
        "turns_to": st.sampled_from([None, "left", "right", "up", "down", "left_up", "right_down", "odd"]),
        "characterisation_2": st.sampled_from(["A", "B", None, ""]),
        "quantification_1": st.sampled_from([0, 11.25, 22.5, 45, 90, 180, 181, None, math.nan]),
        "continuous": st.one_of(
            st.none(),
            st.fixed_dictionaries(
                {"role": st.sampled_from(["start", "finish", "change"]), "number": st.integers(1, 2)}
            ),
        ),
    },
)


@parity(
    "plan/bends",
    "plan/deflection",
    "plan/turns",
    st.lists(observed, max_size=5),
    st.floats(-2, 2),
    st.sampled_from([1.0, 1.01, 0]),
    degrees,
    degrees,
    degrees,
    st.lists(st.tuples(st.floats(0, 60), st.one_of(st.none(), st.floats(-40, 40))), max_size=6),
    keep=[ROWS],
)
def test_bends(twin, seen, zero, scale, turned, before, after, shown):
    records = [{"id": str(i), "fields": fields} for i, fields in enumerate(seen)]
    name = "survey/plan/bends"
    read = [{"chainage_m": c, "deg": d, "over": 0 if d is not None else 1} for c, d in sorted(shown, key=str)]
    read.sort(key=lambda one: one["chainage_m"])

    def placed(*args):
        slopes = deflection.SlopeReadings([Reading(**r) for r in args[5]["readings"]], args[5]["sd_deg"])
        return bends.bends_of(*args[:5], slopes)

    for one in records:
        what = "survey/plan/turns"
        agree(twin, what, "turn_lacks", turns.turn_lacks, ROWS, one["fields"])
        for row in ROWS:
            agree(twin, what, "turns_a_joint", turns.turns_a_joint, row, one["fields"])
            agree(twin, what, "only_vertical", turns.only_vertical, row, one["fields"])
            agree(twin, what, "side_of", turns.side_of, row, one["fields"].get("characterisation_1"))
            for field in ("characterisation_1", "characterisation_2"):
                agree(twin, what, "is_a_choice", turns.is_a_choice, row, field, one["fields"].get(field))
    agree(
        twin,
        name,
        "bends_of",
        placed,
        ROWS,
        records,
        zero,
        scale,
        abs(turned),
        {"readings": read, "sd_deg": 0.2},
    )
    small = (abs(turned) % 181, before % 91, after % 91)
    ours = deflection.deflection_in_plan_deg(*small) if small[0] <= 180 and max(small[1:]) <= 90 else None
    if ours is not None and ours < 179.9:  # beyond, the arc sine magnifies the last digit
        agree(
            twin,
            "survey/plan/deflection",
            "deflection_in_plan_deg",
            deflection.deflection_in_plan_deg,
            *small,
        )
    refuses(
        twin,
        "survey/plan/deflection",
        "deflection_in_plan_deg",
        deflection.deflection_in_plan_deg,
        turned,
        before,
        after,
    )


@parity(
    "plan/plan_length",
    st.lists(st.floats(-1, 300), max_size=4),
    st.lists(
        st.tuples(st.floats(0, 200), st.one_of(st.none(), st.floats(-91, 91)), st.sampled_from([0, 1, -1])),
        max_size=6,
    ),
    st.floats(-1, 91),
    st.booleans(),
    st.lists(st.tuples(st.floats(0, 45), st.floats(45, 90), st.booleans()), max_size=6),
)
def test_plan_length(twin, chainages, shown, limit, ordered, reported):
    shown = sorted(shown, key=lambda one: one[0]) if ordered else shown
    readings = [{"chainage_m": c, "deg": d, "over": o} for c, d, o in shown]

    def ours(requested, items, most, ties):
        there = {int(k): v for k, v in ties.items()}
        return as_json(plan_length.plan_lengths(requested, [Reading(**r) for r in items], most, there))

    ties = {str(k): one for k, one in enumerate(reported)}
    agree(twin, "survey/plan/plan_length", "plan_lengths", ours, chainages, readings, limit, ties)


@pytest.mark.parametrize("case", cases("plan_trace"), ids=lambda c: c["id"])
def test_the_twin_meets_the_traces(twin, case):
    i = case["inputs"]
    start = dict(zip(("e_m", "n_m", "sd_m", "bearing_deg", "bearing_sd_deg"), (
        i["start_e_m"], i["start_n_m"], i["sigma_start_m"], i["heading_deg"], i["sigma_heading_deg"]),
        strict=True))  # fmt: skip
    shape = [
        {"chainage_m": b["chainage_m"], "deflection_deg": b["angle_deg"], "sd_deg": b["sigma_deg"]}
        for b in i["bends"]
    ]
    tie = i.get("end_tie")
    tie = {"e_m": tie["e_m"], "n_m": tie["n_m"], "sd_m": tie["sigma_m"]} if tie else None
    theirs = twin.call(
        "survey/plan/trace",
        "trace_plan",
        start,
        shape,
        {"length_m": i["length_m"], "scale_sd": i["sigma_scale"], "leg_sd_m": i["sigma_leg_m"]},
        tie,
    )
    assert far([[p["e_m"], p["n_m"]] for p in theirs["points"]], plan.plan_trace(i)["points_en_m"]) <= 1e-12
    for point, wanted in zip(theirs["points"][1:], case["expected"]["bend_ellipses95"], strict=True):
        assert point["ellipse"]["semi_major_m"] == pytest.approx(wanted["semi_major_m"], abs=1e-6)
        assert point["ellipse"]["semi_minor_m"] == pytest.approx(wanted["semi_minor_m"], abs=1e-6)


@pytest.mark.parametrize("case", cases("geodesic_direct"), ids=lambda c: c["id"])
def test_the_twin_meets_the_geodesics(twin, case):
    i, wanted, within = case["inputs"], case["expected"], case["tolerance"]
    args = (i["latitude_deg"], i["longitude_deg"], i["azimuth_deg"], i["distance_m"])
    theirs = twin.call("survey/plan/geodesy", "direct", *args)
    assert theirs["lat_deg"] == pytest.approx(wanted["latitude_deg"], abs=within["latitude_deg"])
    assert theirs["lon_deg"] == pytest.approx(wanted["longitude_deg"], abs=within["longitude_deg"])
    assert theirs["azimuth_deg"] == pytest.approx(wanted["azimuth_deg"], abs=within["azimuth_deg"])

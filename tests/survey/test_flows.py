"""Uniform flow, sizing, capacity and culverts against fluids and scipy; what must always hold."""

import math

import fluids
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import optimize
from section_cases import (
    bore_of,
    gradients,
    resistance_of,
    resistances,
    some_bores,
)

from webapp import tables
from webapp.selfcheck import part_full
from webapp.selfcheck import sizing as sizes
from webapp.selfcheck.roughness import roughness_from_slope
from webapp.survey.errors import SurveyError
from webapp.survey.flow import (
    capacity,
    colebrook,
    manning,
    open_flow,
    resistance,
    sizing,
)
from webapp.survey.flow.capacity import Stretch
from webapp.survey.flow.resistance import Resistance
from webapp.survey.section.bore import Bore
from webapp.survey.section.shape import flow_section

lot = settings(max_examples=100, deadline=None)
few = settings(max_examples=40, deadline=None)
ROUGH = Resistance("colebrook_white", roughness_m=0.0015)
N013 = Resistance("manning", manning_n=0.013)


@lot
@given(st.floats(4000, 1e8), st.floats(0, 0.05))
def test_the_friction_factor_agrees_with_fluids(reynolds, relative):
    theirs = fluids.friction.Colebrook(reynolds, relative)
    assert colebrook.friction_factor(reynolds, relative) == pytest.approx(theirs, rel=1e-9)


@lot
@given(st.floats(0.01, 2), gradients, st.floats(0.008, 0.05))
def test_manning_agrees_with_fluids(radius, gradient, n):
    theirs = fluids.V_Manning(Rh=radius, S=gradient, n=n)
    assert manning.velocity(radius, gradient, n) == pytest.approx(theirs, rel=1e-9)


@few
@given(st.floats(0.05, 2), gradients, st.floats(1e-5, 0.003), st.floats(8e-7, 1.6e-6))
def test_colebrook_agrees_with_darcy_and_a_root_finder(diameter, gradient, roughness, viscosity):
    def lost(velocity):
        factor = fluids.friction.Colebrook(velocity * diameter / viscosity, roughness / diameter)
        return factor * velocity**2 / (2 * 9.81 * diameter) - gradient

    ours = colebrook.velocity(diameter / 4, gradient, roughness, viscosity, 9.81)
    assume(ours * diameter / viscosity > 5000)
    theirs = optimize.brentq(lost, ours / 3, ours * 3, xtol=1e-14, rtol=1e-13)
    assert ours == pytest.approx(theirs, rel=1e-8)
    assert colebrook.friction_slope(diameter / 4, ours, roughness, viscosity, 9.81) == pytest.approx(
        gradient, rel=1e-9
    )
    back = roughness_from_slope(diameter / 4, gradient, ours, viscosity, 9.81)
    assert back == pytest.approx(roughness, rel=1e-6)


@lot
@given(st.floats(0.002, 1), gradients, resistances)
def test_the_growth_of_the_velocity_is_its_derivative(radius, gradient, values):
    rough = resistance_of(values)
    step = radius * 1e-5
    try:
        ends = [resistance.mean_velocity(rough, radius + k * step, gradient) for k in (-1, 1)]
    except SurveyError:
        assume(False)
    growth = resistance.velocity_growth(rough, radius, gradient)
    assert growth == pytest.approx((ends[1] - ends[0]) / (2 * step), rel=1e-5)


@lot
@given(some_bores(), st.floats(0.02, 0.99), gradients, resistances)
def test_depth_from_flow_inverts_flow_from_depth(values, share, gradient, rough):
    bore, rough = bore_of(values), resistance_of(rough)
    greatest = open_flow.greatest_flow(bore, gradient, rough)
    depth = bore.deposit_m + share * (greatest["depth_m"] - bore.deposit_m)
    try:
        flow = open_flow.flow_at_depth(bore, depth, gradient, rough, False)
    except SurveyError as error:
        assert error.code == "roughness_beyond_formula"
        return
    assume(flow["discharge_m3_s"] > 1e-9)  # the least flow taken
    found = open_flow.depth_for_flow(bore, flow["discharge_m3_s"], gradient, rough)
    assert found["flow"]["depth_m"] == pytest.approx(depth, rel=1e-6)


@few
@given(some_bores(), gradients, resistances)
def test_no_free_flow_is_greater_than_the_greatest(values, gradient, rough):
    bore, rough = bore_of(values), resistance_of(rough)
    greatest = open_flow.greatest_flow(bore, gradient, rough)
    span = bore.height_m - bore.deposit_m
    for i in range(20, 200):
        depth = min(bore.height_m, bore.deposit_m + span * i / 199)
        flow = open_flow.flow_at_depth(bore, depth, gradient, rough, False)
        assert flow["discharge_m3_s"] <= greatest["discharge_m3_s"] * (1 + 1e-12)


@few
@given(some_bores(), gradients, resistances)
def test_more_flow_stands_deeper_on_the_lower_branch(values, gradient, rough):
    bore, rough = bore_of(values), resistance_of(rough)
    top = open_flow.greatest_flow(bore, gradient, rough)["discharge_m3_s"]
    depths = [
        open_flow.depth_for_flow(bore, top * s, gradient, rough)["flow"]["depth_m"]
        for s in (0.1, 0.4, 0.7, 0.95)
    ]
    assert depths == sorted(depths)


@pytest.mark.parametrize("rough", [ROUGH, N013])
def test_a_circle_carries_most_near_94_hundredths(rough):
    found = open_flow.greatest_flow(Bore("circular", 0.3), 0.01, rough)
    assert found["depth_m"] / 0.3 == pytest.approx(0.94, abs=0.012)
    best = optimize.minimize_scalar(
        lambda z: -open_flow.flow_at_depth(Bore("circular", 0.3), z, 0.01, rough)["discharge_m3_s"],
        bounds=(0.2, 0.299),
        method="bounded",
        options={"xatol": 1e-9},
    )
    assert found["depth_m"] == pytest.approx(best.x, abs=1e-6)


@lot
@given(st.floats(0.06, 2), gradients, resistances, st.floats(1.01, 3))
def test_capacity_grows_with_diameter_and_gradient(size, gradient, rough, more):
    rough = resistance_of(rough)
    now = open_flow.full_flow(Bore("circular", size), gradient, rough)["discharge_m3_s"]
    assert open_flow.full_flow(Bore("circular", size * more), gradient, rough)["discharge_m3_s"] > now
    assert open_flow.full_flow(Bore("circular", size), gradient * more, rough)["discharge_m3_s"] > now


@lot
@given(st.floats(0.06, 2), gradients, resistances)
def test_diameter_and_gradient_invert_the_full_flow(size, gradient, rough):
    rough, bore = resistance_of(rough), Bore("circular", size)
    full = open_flow.full_flow(bore, gradient, rough)
    found = sizes.diameter_for_flow(full["discharge_m3_s"], gradient, rough)
    assert found["diameter_m"] == pytest.approx(size, rel=1e-9)
    if "flow_not_turbulent" not in full["findings"]:
        slope = sizes.gradient_for_flow(bore, full["discharge_m3_s"], rough)["gradient"]
        assert slope == pytest.approx(gradient, rel=1e-8)


def test_critical_depth_agrees_with_a_root_finder():
    bore = Bore("egg", 0.9)

    def apart(z):
        section = flow_section(bore, z)
        return 9.81 * section["area_m2"] ** 3 - 0.2**2 * section["top_width_m"]

    theirs = optimize.brentq(apart, 0.01, 0.89, xtol=1e-14)
    assert open_flow.critical_flow(bore, 0.2, 9.81)["depth_m"] == pytest.approx(theirs, rel=1e-9)
    box = open_flow.critical_flow(Bore("rectangular", 0.5, 1.0), 9.0, 9.81)
    assert (box["depth_m"], box["findings"]) == (0.5, ["critical_above_roof"])


def test_a_flow_beyond_the_capacity_is_stated_not_numbered():
    found = open_flow.depth_for_flow(Bore("circular", 0.1), 1.0, 0.01, ROUGH)
    assert found["flow"] is None
    assert found["findings"] == ["flow_exceeds_capacity"]
    between = (found["full_m3_s"] + found["greatest_m3_s"]) / 2
    assert open_flow.depth_for_flow(Bore("circular", 0.1), between, 0.01, ROUGH)["findings"] == [
        "may_run_full"
    ]


@pytest.mark.parametrize("gradient", [0.0, -0.01, math.nan, math.inf, None, 1.5])
def test_a_gradient_that_does_not_fall_is_named(gradient):
    with pytest.raises(SurveyError, match="gradient_not_falling"):
        open_flow.full_flow(Bore("circular", 0.1), gradient, ROUGH)


def test_a_thin_or_slow_flow_is_marked():
    slow = open_flow.flow_at_depth(
        Bore("circular", 0.1), 0.004, 0.0005, Resistance("colebrook_white", 0.0001)
    )
    assert slow["findings"] == ["flow_not_turbulent"]
    rough = open_flow.full_flow(Bore("circular", 0.1), 0.01, Resistance("colebrook_white", 0.015))
    assert rough["findings"] == ["roughness_large"]
    with pytest.raises(SurveyError, match="roughness_beyond_formula"):
        open_flow.flow_at_depth(Bore("circular", 0.1), 0.0005, 0.01, Resistance("colebrook_white", 0.03))


def test_self_cleansing_by_velocity_and_by_shear():
    found = sizing.self_cleansing(Bore("circular", 0.15), 0.002, 1 / 150, ROUGH, 0.7, 1.0)
    shear = (
        1000 * 9.80665 / 150 * flow_section(Bore("circular", 0.15), found["depth_m"])["hydraulic_radius_m"]
    )
    assert found["shear_pa"] == pytest.approx(shear, rel=1e-12)
    assert (found["by_velocity"], found["by_shear"]) == (False, True)


@few
@given(some_bores())
def test_no_depth_is_faster_than_the_fastest(values):
    bore = bore_of(values)
    best = part_full.fastest(bore)
    low = bore.deposit_m / bore.height_m
    for i in range(1, 60):
        shares = part_full.proportions(bore, low + (1 - low) * i / 60)
        assert shares["velocity_ratio"] <= best["velocity_ratio"] * (1 + 1e-12)


# capacity and the bottleneck


def run_of(bores, gradients_, rough=ROUGH):
    return [Stretch(b, rough, g * 0.8, g, g * 1.2) for b, g in zip(bores, gradients_, strict=True)]


@lot
@given(some_bores(), st.floats(-0.01, 0.05), st.floats(0, 0.01), resistances)
def test_the_band_of_the_fall_carries_over(values, mean, spread, rough):
    stretch = Stretch(bore_of(values), resistance_of(rough), mean - spread, mean, mean + spread)
    found = capacity.capacity(stretch)
    for key, gradient in (("low", mean - spread), ("mean", mean), ("high", mean + spread)):
        number = found[f"{key}_m3_s"]
        assert (number is None) == (gradient < 1e-6)
        if number is not None:
            assert number == open_flow.full_flow(stretch.bore, gradient, stretch.resistance)["discharge_m3_s"]
    known = [q for q in (found["low_m3_s"], found["mean_m3_s"], found["high_m3_s"]) if q is not None]
    assert known == sorted(known)


@pytest.mark.parametrize(
    ("band", "finding", "known"),
    [
        ((None, None, None), "gradient_unknown", "unknown"),
        ((-0.02, -0.01, -0.001), "gradient_adverse", "unknown"),
        ((-0.001, 0.0, 0.001), "gradient_level", "computed"),
        ((-0.001, 0.001, 0.003), "gradient_may_be_adverse", "computed"),
        ((0.001, None, None), None, "bounded"),
    ],
)
def test_falls_without_a_number_are_stated(band, finding, known):
    found = capacity.capacity(Stretch(Bore("circular", 0.15), ROUGH, *band))
    assert found["findings"] == ([finding] if finding else [])
    assert found["known"] == known
    assert 0 not in (found["low_m3_s"], found["mean_m3_s"], found["high_m3_s"])


def test_the_choke_is_found_with_its_causes():
    clear, silted = Bore("circular", 0.3), Bore("circular", 0.3, deposit_m=0.09)
    found = capacity.bottleneck(run_of([clear, silted, clear], [0.01, 0.01, 0.02]))
    assert found["index"] == 1
    causes = {r["code"]: r["without_m3_s"] for r in found["reasons"]}
    assert set(causes) == {"deposit", "fall"}
    assert causes["deposit"] == open_flow.full_flow(clear, 0.01, ROUGH)["discharge_m3_s"]
    assert found["capacities"][1]["findings"] == ["bed_taken_as_rough_as_wall"]
    flat = Stretch(Bore("circular", 0.3), ROUGH, -0.002, -0.001, 0.001)
    assert capacity.bottleneck([*run_of([clear], [0.01]), flat])["no_number"] == [1]
    pressed = Stretch(Bore("elliptical", 0.24, 0.36), ROUGH, 0.01, 0.01, 0.01, original=clear)
    assert [r["code"] for r in capacity.bottleneck([pressed])["reasons"]] == ["deformation"]
    with pytest.raises(SurveyError, match="no_stretches"):
        capacity.bottleneck([])


def test_chokes_that_cannot_be_told_apart_are_named():
    bore = Bore("circular", 0.3)
    assert capacity.bottleneck(run_of([bore, bore, bore], [0.01, 0.011, 0.05]))["rivals"] == [1]


# culverts


@pytest.mark.parametrize("name", ["roughness", "minimum_gradients", "culvert_inlets"])
def test_every_row_says_where_it_is_from_and_how_sure_it_is(name):
    table = tables.load(name)
    lists = [value for value in table.values() if isinstance(value, list)]
    assert lists
    for row in [one for rows in lists for one in rows]:
        sources = [key for key in row if key.endswith("source")]
        assert sources
        for key in sources:
            assert (row[key] is None) == (row[key.replace("source", "certainty")] is None)


def test_every_roughness_is_one_that_the_laws_take():
    known = {row["value"] for row in tables.load("materials")["rows"]}
    for row in tables.load("roughness")["rows"]:
        steps = [row[k] for k in ("k_s_good_mm", "k_s_mm", "k_s_poor_mm") if row[k] is not None]
        assert steps == sorted(steps) and steps
        Resistance("colebrook_white", roughness_m=row["k_s_mm"] / 1000)
        if row["manning_n"] is not None:
            assert 0.005 < row["manning_n_low"] <= row["manning_n"] <= row["manning_n_high"] < 0.05
        assert set(row["materials"]) <= known

"""Culverts: inlet control in feet, the published example, full bore with its losses, what passes nothing."""

import itertools
import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import optimize
from section_cases import (
    INLETS,
    culvert_of,
    culverts,
)

from webapp.survey.flow import colebrook, culvert, culvert_inlet
from webapp.survey.flow.culvert_inlet import Culvert
from webapp.survey.flow.resistance import Resistance
from webapp.survey.section.bore import Bore

few = settings(max_examples=40, deadline=None)
ROUGH = Resistance("colebrook_white", roughness_m=0.0015)
N013 = Resistance("manning", manning_n=0.013)
PIPE = INLETS[0]


def in_feet(row, diameter_ft, flow_cfs, slope):
    """Return HW / D by the published equations in feet and seconds, critical depth by scipy."""
    g, area = 32.174, math.pi * diameter_ft**2 / 4
    reached = flow_cfs / (area * math.sqrt(diameter_ft))
    if reached >= 4:
        return row["c"] * reached**2 + row["y"] - 0.5 * slope

    def apart(angle):
        wet = diameter_ft**2 / 8 * (angle - math.sin(angle))
        return wet**3 * g - flow_cfs**2 * diameter_ft * math.sin(angle / 2)

    angle = optimize.brentq(apart, 1e-3, 2 * math.pi - 1e-6)
    depth = diameter_ft / 2 * (1 - math.cos(angle / 2))
    wet = diameter_ft**2 / 8 * (angle - math.sin(angle))
    head = depth + (flow_cfs / wet) ** 2 / (2 * g)
    return head / diameter_ft + row["k"] * reached ** row["m"] - 0.5 * slope


@pytest.mark.parametrize(
    "row", [r for r in INLETS if r["shapes"] == ["circular"] and r["slope_factor"] < 0][:6]
)
@pytest.mark.parametrize("flow_cfs", [5, 20, 40, 70, 110, 140])
def test_inlet_control_agrees_with_the_equations_in_feet(row, flow_cfs):
    feet, slope = 4.0, 0.02
    reached = flow_cfs / (math.pi * feet**2 / 4 * math.sqrt(feet))
    assert not 3.5 < reached < 4
    pipe = Culvert(Bore("circular", feet * 0.3048), 30.0, slope, N013, row)
    found = culvert_inlet.inlet_headwater(pipe, flow_cfs * 0.3048**3)
    assert found["headwater_m"] / (feet * 0.3048) == pytest.approx(
        in_feet(row, feet, flow_cfs, slope), rel=5e-4
    )


@pytest.mark.parametrize(("reached", "published"), [(4.0, 1.31), (6.0, 2.31), (8.0, 3.69)])
def test_the_submerged_equation_meets_the_published_example(reached, published):
    """HDS-5 (2001), Appendix A: c = 0.0496, Y = 0.53 as worked there, Ks S = -0.01."""
    row = {**PIPE, "c": 0.0496, "y": 0.53}
    pipe = Culvert(Bore("circular", 1.0), 30.0, 0.02, N013, row)
    flow = reached * math.pi / 4 / 1.811
    assert culvert_inlet.inlet_headwater(pipe, flow)["headwater_m"] == pytest.approx(published, abs=0.006)


@pytest.mark.parametrize("row", INLETS, ids=lambda r: r["value"])
def test_headwater_rises_with_the_flow_for_every_inlet(row):
    size = {"circular": (1.0, None), "elliptical": (1.0, 1.4)}.get(row["shapes"][0], (1.0, 1.2))
    pipe = Culvert(Bore(row["shapes"][0], *size), 20.0, 0.01, ROUGH, row)
    heads = [culvert_inlet.inlet_headwater(pipe, 0.02 * 1.1**i)["headwater_m"] for i in range(60)]
    assert all(b > a for a, b in itertools.pairwise(heads))


def headwater(pipe, flow, tail):
    """The greater of the two, and that of the inlet where the barrel is steep: HDS-5, chapter III."""
    inlet = culvert_inlet.inlet_headwater(pipe, flow)["headwater_m"]
    outlet = culvert.outlet_headwater(pipe, flow, tail)
    return inlet if outlet["steep"] else max(inlet, outlet["headwater_m"])


@few
@given(culverts(), st.floats(0.05, 4), st.floats(0, 1.5))
def test_flow_from_headwater_inverts_headwater_from_flow(values, flow, tail):
    pipe = culvert_of(values)
    found = headwater(pipe, flow, tail)
    assume(1e-3 < found < 90)
    back = culvert.culvert_capacity(pipe, found, tail)
    assume(back["discharge_m3_s"] is not None)
    assert headwater(pipe, back["discharge_m3_s"], tail) == pytest.approx(found, rel=1e-6)


def test_full_bore_between_two_pools_is_darcy_with_its_losses():
    pipe = Culvert(Bore("circular", 0.6), 15.0, 0.0, ROUGH, PIPE)
    found = culvert.culvert_capacity(pipe, 2.0, 1.5)
    area = math.pi * 0.09
    factor = colebrook.friction_factor(found["outlet_m3_s"] / area * 0.6 / 1.31e-6, 0.0015 / 0.6)
    theirs = area * math.sqrt(2 * 9.80665 * 0.5 / (0.5 + 1.0 + factor * 15 / 0.6))
    assert found["control"] == "outlet"
    assert found["discharge_m3_s"] == pytest.approx(theirs, rel=1e-9)


def test_a_culvert_that_passes_nothing_says_why():
    pipe = Culvert(Bore("circular", 0.6), 15.0, 0.0, ROUGH, PIPE)
    found = culvert.culvert_capacity(pipe, 0.5, 1.5)
    assert found["discharge_m3_s"] is None
    assert (found["findings"], found["known"]) == (["headwater_below_tailwater"], "unknown")
    silted = Culvert(Bore("circular", 0.6, deposit_m=0.2), 15.0, 0.01, ROUGH, PIPE)
    assert "inlet_partly_blocked" in culvert.culvert_capacity(silted, 1.0, 0.0)["findings"]


# tables

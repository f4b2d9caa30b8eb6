"""Grade lines and culverts at low head: against scipy's integration of the energy equation, against books."""

import itertools
import math

import pytest
from scipy import integrate, optimize
from section_cases import INLETS

from webapp.survey.flow import backwater, culvert, culvert_inlet, grade_line
from webapp.survey.flow.culvert_inlet import Culvert
from webapp.survey.flow.grade_line import Piece
from webapp.survey.flow.resistance import Resistance
from webapp.survey.flow.waterway import waterway
from webapp.survey.section.bore import Bore

G = 9.80665
D, K_S, NU = 0.6, 0.0015, 1.31e-6
SQUARE = INLETS[0]
FEET = 0.3048


# an independent culvert: circular section, friction factor and energy equation of their own


def section(depth):
    """Area, wetted perimeter and top width of a circle."""
    angle = 2 * math.acos(1 - 2 * min(depth, D) / D)
    return D * D / 8 * (angle - math.sin(angle)), D * angle / 2, D * math.sin(angle / 2)


def head_of(flow, depth):
    return depth + (flow / section(depth)[0]) ** 2 / (2 * G)


def slope_of(flow, depth):
    area, wetted, _ = section(depth)
    across, speed = 4 * area / wetted, flow / area
    reynolds = max(4000.0, speed * across / NU)

    def apart(x):
        return x + 2 * math.log10(K_S / 3.7 / across + 2.51 * x / reynolds)

    return speed * speed / (2 * G * across) / optimize.brentq(apart, 0.5, 40) ** 2


def critical_of(flow):
    return optimize.brentq(
        lambda y: flow * flow * section(y)[2] - G * section(y)[0] ** 3, 1e-4 * D, D * (1 - 1e-9)
    )


def their_headwater(flow, length, gradient, tail, entrance):
    """Integrate the energy head from the outlet up, at critical depth or at the tailwater there."""
    critical = critical_of(flow)
    least, full = head_of(flow, critical), head_of(flow, D)

    def depth_at(head):
        if head >= full:
            return D
        if head <= least:
            return critical
        return optimize.brentq(lambda y: head_of(flow, y) - head, critical, D)

    start = head_of(flow, min(D, max(critical, tail))) + max(0.0, tail - D)
    done = integrate.solve_ivp(
        lambda s, head: [slope_of(flow, depth_at(head[0])) - gradient], (0, length), [start], max_step=0.25,
        rtol=1e-6,
    )  # fmt: skip
    head = done.y[0][-1]
    return head + entrance * (flow / section(depth_at(head))[0]) ** 2 / (2 * G)


@pytest.mark.parametrize("gradient", [0.0, 0.0015, -0.003], ids=["flat", "mild", "adverse"])
@pytest.mark.parametrize("ratio", [0.3, 0.45, 0.6, 0.9, 1.2])
def test_low_heads_against_scipy(ratio, gradient):
    """Within 3 % of the flow by an integration that shares nothing with the product but the equation."""
    length = 20.0
    pipe = Culvert(Bore("circular", D), length, gradient, Resistance("colebrook_white", K_S), SQUARE)
    found = culvert.culvert_capacity(pipe, ratio * D, 0.0)
    theirs = optimize.brentq(
        lambda q: their_headwater(q, length, gradient, 0.0, SQUARE["entrance_loss"]) - ratio * D,
        1e-3, 0.5, rtol=1e-3,
    )  # fmt: skip
    assert found["control"] == "outlet"
    assert found["discharge_m3_s"] == pytest.approx(theirs, rel=0.03)


@pytest.mark.parametrize("tail", [0.15, 0.4, 0.7])
def test_a_tailwater_against_scipy(tail):
    pipe = Culvert(Bore("circular", D), 20.0, 0.001, Resistance("colebrook_white", K_S), SQUARE)
    theirs = their_headwater(0.1, 20.0, 0.001, tail, SQUARE["entrance_loss"])
    assert culvert.outlet_headwater(pipe, 0.1, tail)["headwater_m"] == pytest.approx(theirs, rel=0.005)


def test_the_audit_s_case_passes_68_l_s():
    """HW/D 0.45 on a flat 600 mm pipe of 20 m: no longer "too low for anything to pass"."""
    pipe = Culvert(Bore("circular", D), 20.0, 0.0, Resistance("colebrook_white", K_S), SQUARE)
    found = culvert.culvert_capacity(pipe, 0.45 * D, 0.0)
    assert found["discharge_m3_s"] == pytest.approx(0.068, abs=0.002) and found["findings"] == []


def test_a_steep_barrel_leaves_it_to_the_inlet():
    pipe = Culvert(Bore("circular", D), 20.0, 0.03, Resistance("colebrook_white", K_S), SQUARE)
    for ratio in (0.3, 0.6, 0.9, 1.2):
        found = culvert.culvert_capacity(pipe, ratio * D, 0.0)
        assert found["control"] == "inlet" and found["discharge_m3_s"] == found["inlet_m3_s"]
        requested = culvert_inlet.inlet_headwater(pipe, found["discharge_m3_s"])["headwater_m"]
        assert requested == pytest.approx(ratio * D, rel=1e-6)


def test_more_head_passes_more_and_more_tailwater_less():
    pipe = Culvert(Bore("circular", D), 15.0, 0.002, Resistance("colebrook_white", K_S), SQUARE)
    flows = [culvert.culvert_capacity(pipe, 0.06 * k, 0.0)["discharge_m3_s"] for k in range(2, 30)]
    assert all(b > a for a, b in itertools.pairwise(flows))
    drowned = [culvert.culvert_capacity(pipe, 0.5, 0.05 * k)["discharge_m3_s"] for k in range(9)]
    assert all(b <= a * (1 + 1e-9) for a, b in itertools.pairwise(drowned))


# closed forms and published profiles


def wide(manning_n, width=100.0, height=20.0):
    return waterway(Bore("rectangular", height, width), Resistance("manning", manning_n=manning_n))


def test_a_horizontal_wide_channel_has_a_closed_form():
    """H2, Manning, wide: n2 x = 3/13 y^(13/3) / q2 - 3/4 y^(4/3) / g (from memory: Chow 1959, ch. 9)."""
    q, n = 0.5, 0.015
    critical = (q * q / G) ** (1 / 3)

    def place(y):
        return (3 / 13 * y ** (13 / 3) / (q * q) - 3 / 4 * y ** (4 / 3) / G) / (n * n)

    up = grade_line.grade_line([Piece(300.0, 0.0, wide(n, 100.0, 3.0))], 100 * q, 0.0)
    theirs = optimize.brentq(lambda y: place(y) - place(critical) - 300, critical, 5)
    assert up["depths_m"][0] == pytest.approx(critical, rel=1e-6)
    assert up["depths_m"][1] == pytest.approx(theirs, rel=0.015)  # the sides of the 100 m take the rest


def test_the_backwater_of_a_dam_on_a_wide_river():
    """M1: J. F. Cruise, M. M. Sherif, V. P. Singh, Elementary Hydraulics, solutions to chapter 15, 15.1.

    q 3.6 m2/s, n 0.025, bed 14e-4, 2.7 m at the dam; 500 m upstream the hand calculation there wanders
    between 2.174 and 2.247 m and gives 2.174 (https://www.scribd.com/document/319758528/hydraulics).
    """
    up = grade_line.grade_line([Piece(500.0, 0.7, wide(0.025))], 360.0, 2.7)
    assert 2.174 < up["depths_m"][1] < 2.247


def test_a_published_table_of_standard_steps():
    """M1: 600 m3/s, n 0.04, bed 0.002, 50 m wide; equal steps from 6.5 m give 6.2848, then 6.0795 m.

    StandardStepExample, https://www.scribd.com/document/473807557; the length of the step is not in the part
    seen, so that the two distances are compared with one another.
    """

    def away(depth):
        def apart(length):
            piece = Piece(length, 0.002 * length, wide(0.04, 50.0))
            return grade_line.grade_line([piece], 600.0, 6.5)["depths_m"][1] - depth

        return optimize.brentq(apart, 10, 2000)

    assert away(6.0795) / away(6.2848) == pytest.approx(2.0, rel=0.01)


def test_the_head_of_a_full_barrel_as_the_chart_has_it():
    """HDS-5, chart 5 (concrete pipe flowing full, n 0.012): 48 in, 110 ft, ke 0.5, 70 cfs: H = 0.94 ft.

    From memory.
    """
    bore, rough = Bore("circular", 4 * FEET), Resistance("manning", manning_n=0.012)
    pipe = Culvert(bore, 110 * FEET, 0.0, rough, SQUARE)
    found = culvert.outlet_headwater(pipe, 70 * FEET**3, 5 * FEET)
    head = found["entrance_m"] + found["friction_m"] + found["exit_m"]
    assert head / FEET == pytest.approx(0.94, abs=0.01)
    assert found["headwater_m"] == pytest.approx(5 * FEET + head)


@pytest.mark.parametrize("gradient", [-0.002, 0.0, 0.004])
def test_uniform_and_standing_water_are_its_limits(gradient):
    """No flow to speak of: a level pool. A very long mild pipe: the normal depth."""
    way = waterway(Bore("circular", 0.3), Resistance("colebrook_white", 0.0015), capped=False)
    still = grade_line.grade_line([Piece(10.0, 10 * gradient, way)], 1e-7, 0.2)
    assert still["depths_m"][1] == pytest.approx(0.2 - 10 * gradient, abs=1e-6)
    if gradient > 0:
        long = grade_line.grade_line([Piece(20000.0, 20000 * gradient, way)], 0.03, 0.3)
        normal = optimize.brentq(lambda y: their_slope_300(0.03, y) - gradient, 0.05, 0.28)
        assert long["depths_m"][1] == pytest.approx(normal, rel=0.002)


def their_slope_300(flow, depth):
    angle = 2 * math.acos(1 - 2 * depth / 0.3)
    area, wetted = 0.3**2 / 8 * (angle - math.sin(angle)), 0.15 * angle
    across, speed = 4 * area / wetted, flow / area

    def apart(x):
        return x + 2 * math.log10(K_S / 3.7 / across + 2.51 * x * NU / (speed * across))

    return speed * speed / (2 * G * across) / optimize.brentq(apart, 0.5, 40) ** 2


def test_the_water_of_a_run_is_against_scipy_too():
    """Falling, flat, adverse and falling pieces of one pipe: the depths, and the crown as the limit."""
    way = waterway(Bore("circular", D), Resistance("colebrook_white", K_S), capped=False)
    falls = [(15.0, 0.06), (4.0, 0.0), (6.0, -0.02), (15.0, 0.06)]
    flow = 0.12
    line = grade_line.grade_line([Piece(*one, way) for one in falls], flow, D)
    head, expected = head_of(flow, D), []
    critical = critical_of(flow)
    for length, fall in reversed(falls):

        def depth_at(head):
            if head >= head_of(flow, D):
                return D
            return optimize.brentq(lambda y: head_of(flow, y) - head, critical, D)

        def rate(s, y, gradient=fall / length):
            return [slope_of(flow, depth_at(y[0])) - gradient]

        head = integrate.solve_ivp(rate, (0, length), [head], max_step=0.25, rtol=1e-6).y[0][-1]
        expected.append(depth_at(head) + max(0.0, head - head_of(flow, D)))
    assert line["depths_m"][1:] == pytest.approx(expected, rel=0.005)
    capped = waterway(Bore("circular", D), Resistance("colebrook_white", K_S))
    pieces = [Piece(*one, capped) for one in falls]
    found = backwater.carried_full(pieces, 0.3)
    assert grade_line.first_over_crown(pieces, found["discharge_m3_s"] * 0.999, D, 0.0) is None
    assert grade_line.first_over_crown(pieces, found["discharge_m3_s"] * 1.001, D, 0.0) is not None

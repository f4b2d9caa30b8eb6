"""Sections and clock against shapely, scipy and numerical integration; what must always hold."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from reference import cases, close
from scipy import integrate, special
from section_cases import bore_of, clean_bores, ratios, some_bores
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from webapp.selfcheck import ovality
from webapp.selfcheck.sections import TOPICS
from webapp.survey.coding import clock
from webapp.survey.errors import SurveyError
from webapp.survey.section import bore as bores
from webapp.survey.section import deform, deposit, shape
from webapp.survey.section.bore import Bore

few = settings(max_examples=40, deadline=None)
lot = settings(max_examples=150, deadline=None)


@pytest.mark.parametrize("case", [c for t in TOPICS for c in cases(t)], ids=lambda c: c["id"])
def test_every_reference_value_is_met(case):
    found = TOPICS[case["topic"]](case["inputs"])
    assert close(found, case["expected"], case["tolerance"]), (found, case["expected"])


# the shapes again, drawn by shapely from circles and boxes


def disc(x, z, r):
    return Point(x, z).buffer(r, quad_segs=6_000)


def drawn(bore, width):
    """Return the outline as a polygon, made without the product's formulas."""
    h, r = bore.height_m, width / 2
    if bore.kind == "rectangular":
        return box(-r, 0, r, h)
    if bore.kind == "circular":
        return disc(0, r, r)
    if bore.kind == "oval":
        return unary_union([disc(0, r, r), box(-r, r, r, h - r), disc(0, h - r, r)])
    if bore.kind == "arch":
        return unary_union([box(-r, 0, r, h - r), disc(0, h - r, r)]).intersection(box(-r, 0, r, h))
    if bore.kind == "u_shape":
        return unary_union([disc(0, r, r), box(-r, r, r, h)]).intersection(box(-r, 0, r, h))
    flank, low = 3 * r, r / 2  # the standard egg only
    sides = disc(-2 * r, 2 * r, flank).intersection(disc(2 * r, 2 * r, flank))
    middle = sides.intersection(box(-r, 0.2 * r, r, 2 * r))
    foot = disc(0, low, low).intersection(box(-r, 0, r, 0.2 * r))
    return unary_union([foot, middle, disc(0, 2 * r, r).intersection(box(-r, 2 * r, r, 3 * r))])


SOUND = [
    Bore("circular", 0.3),
    Bore("egg", 0.9),
    Bore("rectangular", 1.2, 0.9),
    Bore("oval", 1.5, 0.8),
    Bore("arch", 1.1, 1.4),
    Bore("u_shape", 1.3, 1.0),
]


@pytest.mark.parametrize("bore", SOUND, ids=lambda b: b.kind)
@pytest.mark.parametrize("ratio", [0.02, 0.1, 0.3, 0.5, 0.77, 0.95, 1.0])
def test_sections_agree_with_shapely(bore, ratio):
    width = bore.width_m or (bore.height_m if bore.kind == "circular" else bore.height_m * 2 / 3)
    polygon = drawn(bore, width)
    depth = bore.height_m * ratio
    water = polygon.intersection(box(-9, -1, 9, depth))
    found = shape.flow_section(bore, depth, False)
    assert found["area_m2"] == pytest.approx(water.area, rel=1e-5)
    level = polygon.intersection(LineString([(-9, depth * (1 - 1e-9)), (9, depth * (1 - 1e-9))]))
    if ratio < 1 or bore.kind in ("rectangular", "u_shape"):
        assert found["top_width_m"] == pytest.approx(level.length, rel=1e-5)
    wall = water.length - (level.length if ratio < 1 or bore.kind in ("rectangular", "u_shape") else 0)
    assert found["wetted_perimeter_m"] == pytest.approx(wall, rel=2e-5)


@few
@given(clean_bores(), st.floats(0.01, 0.99))
def test_sections_agree_with_numerical_integration(values, ratio):
    bore = bore_of(values)
    depth = bore.height_m * ratio
    breaks = [p.low_m for p in bores.outline_pieces(bore)[0] if 0 < p.low_m < depth]

    def width(z):
        return shape.flow_section(bore, z)["top_width_m"]

    edges = [0.0, *breaks, depth]
    area = sum(integrate.quad(width, a, b, limit=200, epsabs=1e-15)[0] for a, b in itertools.pairwise(edges))
    assert shape.flow_section(bore, depth)["area_m2"] == pytest.approx(area, rel=1e-6)


@few
@given(clean_bores(), st.floats(0.02, 0.97), st.floats(0.001, 0.02))
def test_perimeter_grows_as_stated(values, ratio, step):
    bore = bore_of(values)
    low, high = bore.height_m * ratio, bore.height_m * (ratio + step)
    pieces = [p.low_m for p in bores.outline_pieces(bore)[0] if low < p.low_m < high]
    edges = [low, *pieces, high]
    grown = sum(
        integrate.quad(lambda z: shape.perimeter_growth(bore, z), a, b)[0]
        for a, b in itertools.pairwise(edges)
    )
    perimeter = [shape.flow_section(bore, z, False)["wetted_perimeter_m"] for z in (low, high)]
    assert perimeter[1] - perimeter[0] == pytest.approx(grown, rel=1e-6)


@pytest.mark.parametrize("flat", [0.0, 0.01, 6.0, 15.0, 40.0, 49.0])
def test_the_ellipse_agrees_with_the_elliptic_integral(flat):
    bore = deform.deformed_circle(0.3, flat)
    a, b = (bore.width_m or 0.3) / 2, bore.height_m / 2
    long, short = max(a, b), min(a, b)
    full = shape.full_section(bore)
    assert full["area_m2"] == pytest.approx(math.pi * a * b, rel=1e-12)
    exact = 4 * long * special.ellipe(1 - (short / long) ** 2)
    assert full["wetted_perimeter_m"] == pytest.approx(exact, rel=1e-10)
    assert ovality.area_lost_to_ovality(flat) == pytest.approx(
        100 * (1 - full["area_m2"] / (math.pi * 0.0225)), abs=1e-9
    )


def test_the_standard_egg_has_the_published_sizes():
    full = shape.full_section(Bore("egg", 3.0, 2.0))
    assert full["area_m2"] == pytest.approx(4.594, abs=0.0005)
    assert full["wetted_perimeter_m"] == pytest.approx(7.930, abs=0.0005)


@lot
@given(clean_bores())
def test_outlines_are_smooth_where_pieces_meet_and_close(values):
    bore = bore_of(values)
    pieces = bores.outline_pieces(bore)[0]
    for below, above in itertools.pairwise(pieces):
        z = above.low_m
        ends = [
            p.cx if p.b == 0 else p.cx + p.a * math.sqrt(max(0.0, 1 - ((z - p.base) / p.b - 1) ** 2))
            for p in (below, above)
        ]
        assert ends[0] == pytest.approx(ends[1], rel=1e-6, abs=1e-7 * bore.height_m)
    polygon = Polygon(shape.outline(bore, 2000))
    assert polygon.area == pytest.approx(shape.full_section(bore)["area_m2"], rel=1e-5)


@lot
@given(some_bores(), ratios, ratios)
def test_area_and_perimeter_grow_with_the_depth(values, one, other):
    bore = bore_of(values)
    span = bore.height_m - bore.deposit_m
    low, high = (min(bore.height_m, bore.deposit_m + span * r) for r in sorted((one, other)))
    a, b = shape.flow_section(bore, low), shape.flow_section(bore, high)
    assert a["area_m2"] <= b["area_m2"] + 1e-15
    assert a["wetted_perimeter_m"] <= b["wetted_perimeter_m"] + 1e-12


@lot
@given(clean_bores(), st.floats(0.01, 0.98))
def test_deposit_depth_and_area_lost_invert_each_other(values, ratio):
    bore = bore_of({**values, "deposit_m": values["height_m"] * ratio})
    lost = deposit.area_lost_to_deposit(bore)
    assert deposit.deposit_depth_from_area(bore, lost["area_lost_pct"]) == pytest.approx(
        bore.deposit_m, rel=1e-8
    )
    above = shape.full_section(bore)["area_m2"]
    clean = shape.full_section(bore_of(values))["area_m2"]
    assert above + lost["deposit_area_m2"] == pytest.approx(clean, rel=1e-12)


def test_tiny_depths_lose_no_digits():
    r, depth = 0.5, 1e-9
    area = shape.flow_section(Bore("circular", 1.0), depth)["area_m2"]
    assert area == pytest.approx(4 / 3 * math.sqrt(2 * r * depth) * depth, rel=1e-7)


CANNOT_BE = [
    (Bore("pear", 1.0), "shape_unknown", "kind"),
    (Bore("circular", 0.0), "size_out_of_range", "height_m"),
    (Bore("circular", math.nan), "size_out_of_range", "height_m"),
    (Bore("rectangular", 1.0), "size_out_of_range", "width_m"),
    (Bore("circular", 0.3, 0.31), "circle_not_round", "width_m"),
    (Bore("elliptical", 0.3, 0.95), "ellipse_too_flat", "width_m"),
    (Bore("egg", 0.6, 0.6), "egg_too_low", "height_m"),
    (Bore("oval", 0.5, 0.6), "oval_too_low", "height_m"),
    (Bore("circular", 0.3, None, 0.3), "deposit_out_of_range", "deposit_m"),
    (Bore("circular", 0.3, None, -0.1), "deposit_out_of_range", "deposit_m"),
]


@pytest.mark.parametrize(("bore", "code", "field"), CANNOT_BE)
def test_bores_that_cannot_be_are_named(bore, code, field):
    with pytest.raises(SurveyError) as caught:
        shape.full_section(bore)
    assert (caught.value.code, caught.value.field) == (code, field)


@few
@given(st.floats(0.05, 1), st.floats(-0.9, 0.9), st.floats(-0.9, 0.9), st.floats(0, 360))
def test_clock_agrees_with_shapely(radius, up, right, view):
    assume(up * up + right * right < 0.8)
    x, z = right * radius, up * radius
    far = 4 * radius
    ray = LineString(
        [(x, z), (x + far * math.sin(math.radians(view)), z + far * math.cos(math.radians(view)))]
    )
    wall = disc(0, 0, radius).exterior
    hit = ray.intersection(wall)
    found = clock.true_position(radius, radius + z, x, view)
    assert found["wall_distance_m"] == pytest.approx(Point(x, z).distance(hit), rel=1e-6)
    true = math.degrees(math.atan2(hit.x, hit.y)) % 360
    apart = abs(found["true_deg"] - true) % 360
    assert min(apart, 360 - apart) < 1e-5


def test_a_camera_on_the_axis_sees_true():
    for view in np.linspace(0, 359, 37):
        found = clock.true_position(0.15, 0.15, 0.0, float(view))
        assert found["true_hours"] == pytest.approx(found["apparent_hours"], abs=1e-9)
        assert found["wall_distance_m"] == pytest.approx(0.15)


def test_a_camera_in_the_wall_is_named():
    with pytest.raises(SurveyError, match="camera_outside_bore"):
        clock.true_position(0.15, 0.3, 0.0, 90.0)


def test_the_outline_stands_on_the_invert_and_on_the_centre_line():
    ring = Polygon(shape.outline(Bore("egg", 0.9), 500))
    assert ring.bounds[1] == 0.0
    assert ring.centroid.x == pytest.approx(0, abs=1e-12)

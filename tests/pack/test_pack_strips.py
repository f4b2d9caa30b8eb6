"""Every observation is named on the drawing, however many there are; what goes on has a bar of its own."""

import dataclasses
import io
import itertools
import re
from xml.etree import ElementTree

import pdf_facts
import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pack_jobs import Maker

from webapp import tables
from webapp.assembly.job import assemble
from webapp.pack import drawing, levels_svg, report_pdf, strips

WORDS = tables.messages()

SVG = "{http://www.w3.org/2000/svg}"


def job(places, features=(), length_m=60):
    """A job of one run with an observation at each place, each named its own way, and continuous ones."""
    maker = Maker()
    maker.add("job", title="Crowded")
    node = maker.add("node", node_ref="A", node_type="manhole")
    ends = {"end_reason": "obstruction", "end_counter_m": length_m}
    run = maker.add("run", run_ref="R", start_node_id=node, direction="with_flow", counter_zero_m=0, **ends)
    maker.readings(run, *((n * length_m / 20, -0.7) for n in range(21)))
    for number, place in enumerate(places):
        maker.add("observation", run_id=run, counter_m=place, code="BBA", characterisation_1=f"{number:03d}")
    for number, (start, finish) in enumerate(features, 1):
        for role, place in (("start", start), ("finish", finish)):
            parts = {"role": role, "number": number}
            maker.add("observation", run_id=run, counter_m=place, code="BBC", continuous=parts)
    return assemble(maker.job_file())


def drawn(contents):
    return [ElementTree.fromstring(svg) for svg in drawing.run_svgs(WORDS, contents.runs[0])]


def words(svg):
    return ["".join(one.itertext()) for one in svg.iter(f"{SVG}text")]


def named(svgs):
    return sorted(w.split()[1] for svg in svgs for w in words(svg) if re.fullmatch(r"BBA \d{3}", w))


@pytest.mark.parametrize("count", [0, 1, 44, 45, 88, 110, 300])
def test_every_observation_is_named_once(count):
    svgs = drawn(job([round(0.1 + n * 59 / max(count, 1), 2) for n in range(count)]))
    assert named(svgs) == [f"{n:03d}" for n in range(count)]
    assert len(svgs) == max(1, -(-count // strips.MAX_LABELS))
    assert all(int(one.get("height")) == drawing.HEIGHT for one in svgs)


@pytest.mark.parametrize("places", [[30.0] * 100, [0.0] * 60, [60.0] * 60, [*[10.0] * 50, *[10.01] * 50]])
def test_many_at_one_place_are_named_too(places):
    svgs = drawn(job(places))
    assert named(svgs) == [f"{n:03d}" for n in range(len(places))]


def test_names_do_not_lie_over_each_other():
    for svg in drawn(job([round(n * 0.5, 2) for n in range(110)])):
        at = [float(t.get("x")) for t in svg.iter(f"{SVG}text") if (t.text or "").startswith("BBA")]
        assert all(b - a >= 14.9 for a, b in itertools.pairwise(at))
        assert min(at) >= drawing.LEFT and max(at) <= drawing.RIGHT + 5


def test_strips_say_where_they_are_and_follow_each_other():
    reported = [
        next(w for w in words(svg) if w.startswith("strip"))
        for svg in drawn(job([n * 0.5 for n in range(110)]))
    ]
    ends = [re.fullmatch(r"strip (\d) of 3: ([\d.]+) to ([\d.]+) m", one).groups() for one in reported]
    assert [one[0] for one in ends] == ["1", "2", "3"]
    assert ends[0][1] == "0.00" and ends[0][2] == ends[1][1] and ends[1][2] == ends[2][1]
    assert ends[2][2] == "60.00"


def test_everything_drawn_in_a_strip_lies_in_it():
    """Figures are cut off at its ends; marks and words of other strips are left out."""
    for svg in drawn(job([n * 0.5 for n in range(110)], [(5, 55)])):
        for one in (*svg.iter(f"{SVG}circle"), *svg.iter(f"{SVG}text")):
            x = float(one.get("cx") or one.get("x"))
            assert 0 <= x <= drawing.RIGHT + 6
        clipped = [g for g in svg.iter(f"{SVG}g") if g.get("clip-path")]
        assert len(clipped) == 2


BARS = [
    [(2, 8), (8, 12)],
    [(2, 8), (2, 8)],
    [(2, 8), (8.01, 12), (5, 20)],
    [(0, 60), (10, 20), (20, 30), (30, 40)],
    [(3, 3)],
]


def bars_of(svg):
    """Return (left, right, height) of each bar of what goes on."""
    return [
        (float(one.get("x1")), float(one.get("x2")), float(one.get("y1")))
        for one in svg.iter(f"{SVG}line")
        if one.get("stroke-width") == "3.2"
    ]


@pytest.mark.parametrize("features", BARS, ids=str)
def test_each_feature_has_a_bar_of_its_own(features):
    (svg,) = drawn(job([], features))
    bars = bars_of(svg)
    assert len(bars) == len(features)
    for i, one in enumerate(bars):
        for other in bars[:i]:
            apart = one[0] > other[1] + 3 or other[0] > one[1] + 3
            assert one[2] != other[2] or apart, (one, other)


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 700), st.floats(0, 100)).map(lambda p: (p[0], p[0] + p[1])), max_size=12)
)
def test_bars_of_one_lane_never_touch(bars):
    found = strips.lanes(bars)
    assert len(found) == len(bars)
    for i, (left, right) in enumerate(bars):
        for j in range(i):
            if found[i] == found[j]:
                assert left >= bars[j][1] + strips.LANE_GAP_PX or bars[j][0] >= right + strips.LANE_GAP_PX


@settings(max_examples=200, deadline=None)
@given(st.lists(st.floats(-5, 65), max_size=200), st.floats(0.1, 60))
def test_strips_cover_the_run_and_name_everything_on_it(places, to_m):
    observations = [dataclasses.replace(BLANK, chainage_m=place) for place in places]
    found = strips.strips(observations, to_m)
    assert found[0].from_m == 0 and found[-1].to_m == pytest.approx(to_m)
    for before, after in itertools.pairwise(found):
        assert after.from_m <= before.to_m + 1e-9
    assert sum(len(one.named) for one in found) == sum(0 <= place <= to_m for place in places)
    for one in found:
        assert len(one.named) <= strips.MAX_LABELS and one.to_m > one.from_m
        assert all(one.from_m - 1e-9 <= o.chainage_m <= one.to_m + 1e-9 for o in one.named)


BLANK = job([1.0]).runs[0].observations[0]


def test_the_report_and_levels_svg_hold_every_strip():
    contents = job([n * 0.3 for n in range(190)])
    pdf = report_pdf.render(contents)
    assert pdf_facts.faults(pdf) == []
    with pikepdf.open(io.BytesIO(pdf)) as document:
        reported = [str(o.Alt) for o in document.objects if isinstance(o, pikepdf.Dictionary) and "/Alt" in o]
    assert len([one for one in reported if one.startswith("Levels drawing of run R")]) == 5
    svg = levels_svg.render(contents).decode()
    assert len(set(re.findall(r"strip (\d) of 5", svg))) == 5
    root = ElementTree.fromstring(svg)
    assert int(root.get("height")) > 5 * drawing.HEIGHT

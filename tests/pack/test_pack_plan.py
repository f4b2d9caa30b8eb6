"""plan.geojson and the plan sketch: places that hold together, and nothing where none is known."""

import json
import math
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from pack_jobs import SAMPLES, Maker, sample

from webapp import tables
from webapp.assembly.job import assemble
from webapp.pack import plan_drawing, plan_geojson
from webapp.pack.trace_table import look_text
from webapp.survey.plan.geodesy import inverse

WORDS = tables.messages()


@pytest.fixture(scope="module", params=SAMPLES)
def contents(request):
    return assemble(sample(request.param)[0])


def features(contents):
    found = json.loads(plan_geojson.render(contents), parse_constant=pytest.fail)
    assert found["type"] == "FeatureCollection"
    return found, {
        kind: [f for f in found["features"] if f["properties"]["kind"] == kind]
        for kind in ("node", "trace", "ellipse_95", "observation")
    }


def positions(value):
    if isinstance(value[0], float | int):
        yield value
    else:
        for inner in value:
            yield from positions(inner)


def test_every_place_is_longitude_then_latitude_near_the_job(contents):
    found, by_kind = features(contents)
    for feature in found["features"]:
        assert feature["type"] == "Feature" and feature["properties"]["known"]
        for lon, lat in positions(feature["geometry"]["coordinates"]):
            assert -30.3 < lon < -29.9 and 49.9 < lat < 50.2
    assert len(by_kind["trace"]) == len(by_kind["ellipse_95"]) == len(contents.runs)
    assert len(by_kind["node"]) == sum(1 for n in contents.nodes if n.position)
    assert len(by_kind["observation"]) == sum(len(r.observations) for r in contents.runs)


def test_the_trace_is_as_long_as_the_run_and_the_observations_lie_on_it(contents):
    _, by_kind = features(contents)
    for run, line in zip(contents.runs, by_kind["trace"], strict=True):
        ends = line["geometry"]["coordinates"]
        long_m = sum(inverse(a[1], a[0], b[1], b[0]).distance_m for a, b in pairwise(ends))
        trace = run.figures.trace
        assert trace.plan_low_m - 3 < long_m < trace.plan_high_m + 3
        for one in (f for f in by_kind["observation"] if f["properties"]["run"] == run.ref):
            lon, lat = one["geometry"]["coordinates"]
            near = min(_beside(a, b, lat, lon) for a, b in pairwise(ends))
            assert near < 0.05, one["properties"]


def _beside(a, b, lat, lon):
    """Distance from a place to a leg [m], on a plane good enough for a hundred metres."""
    k = 111_200 * math.cos(math.radians(50))
    ax, ay, bx, by = (
        (p * s) for p, s in ((a[0] - lon, k), (a[1] - lat, 111_240), (b[0] - lon, k), (b[1] - lat, 111_240))
    )
    share = max(0, min(1, -(ax * (bx - ax) + ay * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2)))
    return math.hypot(ax + share * (bx - ax), ay + share * (by - ay))


def test_rings_are_closed_and_anticlockwise(contents):
    _, by_kind = features(contents)
    for feature in by_kind["ellipse_95"]:
        (ring,) = feature["geometry"]["coordinates"]
        assert ring[0] == ring[-1] and len(ring) > 30
        assert (
            sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairwise([[x + 30, y - 50] for x, y in ring])) > 0
        )


def test_without_a_place_it_has_no_features_and_says_so():
    maker = Maker()
    maker.add("job", title="Nowhere")
    run_id = maker.add(
        "run", run_ref="R1", start_bearing={"bearing_deg": 10, "north": "true"}, end_counter_m=20
    )
    maker.readings(run_id, (0, -1), (20, -1))
    contents = assemble(maker.job_file())
    found, _ = features(contents)
    assert found["features"] == [] and "No place on the ground is known" in found["note"]
    assert contents.runs[0].figures.trace.points and contents.runs[0].figures.trace.missing == (
        "start_position",
    )
    assert plan_drawing.plan_svg(WORDS, contents.runs[0])


def test_a_magnetic_bearing_without_a_declination_is_not_put_on_the_ground():
    maker = Maker()
    node = maker.add("node", node_ref="A", position={"lat_deg": 50.0, "lon_deg": -30.0})
    maker.add("run", run_ref="R1", start_node_id=node, end_counter_m=20,
              start_bearing={"bearing_deg": 10, "north": "magnetic"})  # fmt: skip
    contents = assemble(maker.job_file())
    found, _ = features(contents)
    assert [f["properties"]["kind"] for f in found["features"]] == ["node"] and "R1" in found["note"]
    assert "(from magnetic north)" in look_text(WORDS, contents.runs[0])


def test_the_sketch_has_its_arrow_bar_bends_and_ends(contents):
    for run in contents.runs:
        svg = plan_drawing.plan_svg(WORDS, run)
        words = [
            "".join(e.itertext())
            for e in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")
        ]
        assert "true north" in words and any(w.endswith(" m") and w[0].isdigit() for w in words)
        assert sum(1 for w in words if "right at" in w or "left at" in w) == len(run.figures.trace.bends)
        assert run.start.ref in words


def test_where_to_look_is_said_with_distance_bearing_and_radius():
    contents = assemble(sample("tidal_creek_drain")[0])
    assert look_text(WORDS, contents.runs[0]) == (
        "From OF1 walk 51 m at 196°, look within 12 m: the survey ended there (computed)."
    )

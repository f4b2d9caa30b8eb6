"""The grid convergence that turned a bearing stands in report and plan.geojson, with how it is known."""

import io
import json
import zipfile

import pdf_facts
import pytest
from pack_jobs import Maker, built

PLACE = {"lat_deg": 54.0, "lon_deg": -1.5, "accuracy_m": 3.0}


def pack_of(job, north="grid"):
    """Words of the report, and the properties of the trace in plan.geojson (None where there is none)."""
    maker = Maker()
    maker.add("job", title="A drain", **job)
    run = maker.add("run", run_ref="R1", start_node_id=maker.add("node", node_ref="A", position=PLACE),
                    direction="with_flow", start_bearing={"bearing_deg": 90.0, "north": north, "sd_deg": 1.0},
                    counter_zero_m=0.0, end_counter_m=20.0, end_reason="obstruction")  # fmt: skip
    maker.readings(run, (1.0, -0.5), (15.0, -0.5))
    pack = zipfile.ZipFile(io.BytesIO(built(maker.job_file())[0]))
    features = json.loads(pack.read("plan.geojson"))["features"]
    traces = [one["properties"] for one in features if one["properties"]["kind"] == "trace"]
    report = " ".join(" ".join(pdf_facts.text(pack.read("report.pdf"))).split())
    return report, traces[0] if traces else None


@pytest.mark.parametrize(
    ("job", "shown", "deg", "known"),
    [
        ({"grid_central_meridian_deg": -3.0}, "+1.21° computed from the central meridian", 1.214, "computed"),
        ({"grid_central_meridian_deg": -3.0, "grid_convergence_deg": -2.0}, "−2.00° typed in", -2.0, "typed"),
    ],
)
def test_it_is_told_with_how_it_is_known(job, shown, deg, known):
    report, trace = pack_of(job)
    assert f"Grid convergence {shown}" in report
    assert (trace["grid_convergence_deg"], trace["grid_convergence_known"]) == (deg, known)


def test_a_bearing_from_true_north_has_none():
    report, trace = pack_of({"grid_central_meridian_deg": -3.0}, "true")
    assert "Grid convergence" not in report.partition("What it rests on")[2].partition("Readings")[0]
    assert not {"grid_convergence_deg", "grid_convergence_known"} & trace.keys()


def test_a_meridian_too_far_off_is_told_in_the_report():
    report, trace = pack_of({"grid_central_meridian_deg": 120.0})
    assert trace is None
    assert "The start lies more than 45° from the central meridian of the grid. Check both." in report

"""What a trace rests on: the same in the pack's table, in plan.geojson, in the CSV and in the figures."""

import csv
import io
import json
import math

import pytest
from click.testing import CliRunner
from pack_jobs import Maker

from webapp import tables
from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.pack import observations_csv, plan_geojson
from webapp.pack.trace_table import trace_section

WORDS = tables.messages()

STATED = {"lat_deg": 50.0, "lon_deg": -30.0, "accuracy_m": 5.0, "source": "phone", "accuracy_pct": 68}
RADIUS = 5.0 * math.sqrt(math.log(0.05) / math.log(0.32))  # 8.107 m


@pytest.fixture
def job():
    maker = Maker()
    maker.add(
        "job", title="Turns", declination_deg=1.5, declination_sd_deg=0.4, declination_known="model",
        declination_model="WMM-2025, for 2026-11-25",
    )  # fmt: skip
    far = {**STATED, "lat_deg": 50.00035, "accuracy_m": 3.0, "accuracy_pct": 95, "source": "receiver"}
    ends = [maker.add("node", node_ref=ref, position=place) for ref, place in (("A", STATED), ("B", far))]
    run_id = maker.add(
        "run", run_ref="R1", start_node_id=ends[0], finish_node_id=ends[1], end_reason="node_reached",
        end_counter_m=40.0, start_bearing={"bearing_deg": 358.5, "north": "magnetic", "sd_deg": 3.0},
    )  # fmt: skip
    maker.add("stretch", run_id=run_id, from_counter_m=0, material="vitrified_clay", pipe_unit_length_m=2.0)
    angled = {"code": "BAJ", "characterisation_1": "C", "run_id": run_id}
    maker.add("observation", **angled, quantification_1=6, counter_m=12.0, turns_to="left")
    maker.add("observation", **angled, quantification_1=4, counter_m=26.0, clock={"hour_from": 9})
    return maker.job_file()


@pytest.fixture
def trace(job):
    return assemble(job).runs[0].figures.trace


def table(job):
    return {row[0]: row[1:] for row in trace_section(WORDS, assemble(job).runs[0]).rows}


def test_the_table_lists_every_thing_it_rests_on(job):
    rows = table(job)
    assert rows["Start bearing"] == ("000° from true north", "sd 3.0°", "measured")
    assert rows["Declination"] == (
        "+1.50°", "sd 0.4° (computed), counted in that of the bearing", "WMM-2025, for 2026-11-25",
    )  # fmt: skip
    assert rows["Position of the start"] == (
        "phone: ± 5.0 m, 68 times in 100", "within 8.1 m, 95 times in 100", "measured",
    )  # fmt: skip
    assert rows["Position of the far end"] == (
        "receiver: ± 3.0 m, 95 times in 100", "within 3.0 m, 95 times in 100", "measured",
    )  # fmt: skip
    assert rows["Joint at an angle at 12.00 m"] == (
        "6.0° to the left", "sd 3.0° (assumed)", "measured: estimated by camera",
    )  # fmt: skip
    assert rows["Turn at 26.00 m"][0] == "its way or angle is not recorded: not turned"
    assert rows["Joints from 0.00 to 40.00 m, not observed"] == (
        "17 of 2.00 m pipes (measured)", "sd 1.0° each", "assumed: common practice, no source",
    )  # fmt: skip
    assert rows["Trace less that position"][0].endswith("m before it was tied")


def test_the_joint_without_a_direction_is_a_finding(job):
    (words,) = [w for _, w in assemble(job).runs[0].findings if "not followed" in w]
    assert words.endswith("Which way the pipe turns at the joint is not recorded.")


def test_the_plan_says_the_same(job, trace):
    found = {
        f["properties"]["kind"]: f["properties"]
        for f in json.loads(plan_geojson.render(assemble(job)))["features"]
    }
    line = found["trace"]
    assert line["start_radius_95_m"] == round(trace.start_radius_m, 2) == round(RADIUS, 2)
    assert line["tied_radius_95_m"] == round(trace.tie.radius_m, 2) == 3.0
    assert line["bearing_sd_deg"] == round(trace.bearing_sd_deg, 3) == round(math.hypot(3, 0.4), 3)
    assert (line["declination_deg"], line["declination_sd_deg"]) == (1.5, 0.4)
    assert line["declination_model"] == "WMM-2025, for 2026-11-25"
    assert (line["joints_not_observed"], line["joint_sd_deg"], line["bends"], line["turns_not_followed"]) == (
        17, 1.0, 1, 1,
    )  # fmt: skip
    nodes = [f["properties"] for f in json.loads(plan_geojson.render(assemble(job)))["features"]
             if f["properties"]["kind"] == "node"]  # fmt: skip
    assert [(n["radius_95_m"], n["stated_radius_m"], n["stated_pct"]) for n in nodes] == [
        (round(RADIUS, 2), 5.0, 68.0), (3.0, 3.0, 95.0),
    ]  # fmt: skip


def test_the_figures_and_the_csv_say_the_same(job, trace, tmp_path):
    path = tmp_path / "job.json"
    path.write_text(json.dumps(job.document if hasattr(job, "document") else job), encoding="utf-8")
    done = CliRunner().invoke(main, ["figures", "--json", str(path)])
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)["runs"][0]["trace"]
    assert found["declination"]["sd_deg"] == 0.4 and found["tie"]["radius_m"] == 3.0
    assert found["joints"][0]["count"] == 17 and found["loose"][0]["chainage_m"] == 26.0
    assert found["start_radius_m"] == pytest.approx(RADIUS)
    rows = list(csv.DictReader(io.StringIO(observations_csv.render(assemble(job)).decode("utf-8-sig"))))
    assert [row["turns_to"] for row in rows] == ["To the left", ""]
    assert rows[0]["written"] == "BAJ C 6 degrees turns left"

"""A pack of a job whose store holds composites that are not whole, as an earlier version may have left."""

import csv
import io
import json
import zipfile

import pytest
from pack_jobs import Maker, built
from unchanged import report_text

from webapp.records import job_file

TOLD = "was stored incomplete or cannot be read, so it is not used"


@pytest.fixture(scope="module")
def halves():
    """An observation with half a clock, a reading without its size, a node without a longitude."""
    maker = Maker()
    maker.add("job", title="Half values")
    start = maker.add("node", node_ref="N1", position={"lat_deg": 52.0})
    maker.add("node", node_ref="N9", position={"lon_deg": 1.0}, node_type="manhole")  # of no run
    run = maker.add("run", run_ref="R1", start_node_id=start, direction="with_flow")
    maker.readings(run, (0.0, 1.0), (5.0, 1.0))
    maker.add("reading", run_id=run, counter_m=9.0, remark="slow", inclination={"sense": "falling"})
    maker.add(
        "observation", run_id=run, counter_m=4.0, code="BAB", remark="by the joint", clock={"hour_to": 3}
    )
    return maker


@pytest.fixture(scope="module")
def files(halves):
    data, _ = built(halves.job_file())
    with zipfile.ZipFile(io.BytesIO(data)) as pack:
        return {name: pack.read(name) for name in pack.namelist()}


def rows(files, name):
    return list(csv.DictReader(io.StringIO(files[name].decode("utf-8-sig"))))


def test_the_rest_of_the_record_is_in_the_pack(files):
    (observation,) = [row for row in rows(files, "observations.csv") if row["code"] == "BAB"]
    assert observation["remark"] == "by the joint"
    assert [row["remark"] for row in rows(files, "readings.csv")][-1] == "slow"
    assert b"BAB" in files["inspection.txt"]


def test_the_pack_says_which_records_it_is(files):
    assert " ".join(report_text(files).split()).count(TOLD) == 3


def test_the_plan_says_which_nodes_have_no_place_one_that_no_run_names_too(files):
    plan = json.loads(files["plan.geojson"])
    assert plan["note"].endswith("so it is not used: N1, N9.") and plan["features"] == []


def test_what_was_stored_is_in_the_job_file_as_it_was(halves, files):
    kept = job_file.read(files["job.json"])
    assert kept.aside == {}
    assert kept.entries == sorted(halves.entries, key=lambda e: (e["writer"], e["number"]))


def test_what_the_store_holds_is_read_as_its_file_is(halves):
    stored = job_file.StoredJob(halves.job_id, halves.entries, {}, [])
    assert job_file.check_stored(stored) == job_file.check(halves.job_file())


def test_an_entry_with_another_fault_is_rejected_whole(halves):
    maker = Maker()
    maker.add("job", title="Half values")
    maker.add("reading", run_id=maker.uuid(9), counter_m=-1, inclination={"sense": "falling"})
    stored = job_file.check_stored(job_file.StoredJob(maker.job_id, maker.entries, {}, []))
    assert set(stored.aside) == {"writer-one:2"}
    assert set(stored.aside["writer-one:2"]["reasons"]) == {"counter_m", "inclination"}

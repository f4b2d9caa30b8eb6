"""A reading from a file keeps what stood there, in feet or from another zero, beside the metres."""

import csv
import io
import json
import zipfile

import pytest
from pack_jobs import Maker, built

from webapp import tables
from webapp.assembly.job import assemble
from webapp.intake.read_pack import verify
from webapp.pack import readings_csv
from webapp.pack.report import report_data
from webapp.schemas import check_entry
from webapp.survey.readings_file.csv_table import split_table
from webapp.survey.readings_file.readings_csv import read_readings
from webapp.survey.readings_file.readings_taken import RAW, beside_standing

WORDS = tables.load("readings_csv")


def taken(text, **choices):
    return read_readings(split_table(text, ""), WORDS, {"plus": "rising", **choices})


def beside(found, standing=()):
    return beside_standing(found["taken"], "ab" * 32, "019412f0-0000-7000-8000-00000000000f", standing)


@pytest.mark.parametrize(
    "text,choices,raw",
    [
        ("Distance [ft];Slope %\n54.1;-1.2\n", {}, ("54.1", "ft", None, 16.48968)),
        ("Distance [ft];Slope %\n54.1 ft;-1.2\n", {}, ("54.1 ft", "ft", None, 16.48968)),
        ("Distance [mm];Slope %\n1650;-1.2\n", {}, ("1650", "mm", None, 1.65)),
        ("Distance [m];Slope %\n12,30;-1,2\n", {"zero_m": 0.5}, ("12,30", "m", 0.5, 12.8)),
        ("Distance [in];Slope %\n100;-1.2\n", {"zero_m": -0.5}, ("100", "in", -0.5, 2.04)),
    ],
)
def test_what_stood_in_the_file_is_kept_beside_the_metres(text, choices, raw):
    (row,) = taken(text, **choices)["taken"]
    assert (row["counter_typed"], row["counter_unit"], row.get("counter_added_m")) == raw[:3]
    assert row["counter_m"] == pytest.approx(raw[3])
    fields = beside(taken(text, **choices))["new"][0]["fields"]
    entry = {"job_id": fields["run_id"], "writer": "csv-12345678", "number": 1, "device_id": "a file",
             "record_id": "019412f0-0000-7000-8000-00000000abcd", "kind": "reading", "fields": fields,
             "recorded_at": "2026-11-25T10:31:07.120+00:00"}  # fmt: skip
    assert not check_entry(entry), check_entry(entry)


def test_metres_from_the_same_zero_are_the_raw_reading_themselves():
    (row,) = taken("Distance [m];Slope %\n12.3;-1.2\n")["taken"]
    assert "counter_typed" not in row


def test_the_same_file_again_is_the_same_also_where_it_was_taken_before_this_was_kept():
    text = "Distance [ft];Slope %\n54.1;-1.2\n60.2;-1.0\n"
    found = taken(text)
    made = [
        {"id": row["record_id"], "fields": row["fields"], "removed": False} for row in beside(found)["new"]
    ]
    assert beside(found, made)["same"] == 2
    for row in made:
        row["fields"] = {k: v for k, v in row["fields"].items() if k not in RAW}
    assert beside(found, made)["same"] == 2
    for row in made:
        row["fields"] |= {"counter_typed": "54.2", "counter_unit": "ft"}
    assert len(beside(found, made)["other"]) == 2


def job():
    made = Maker()
    made.add("job", title="Feet")
    run = made.add("run", run_ref="R1", direction="with_flow", counter_zero_m=0)
    for row in beside(taken("Distance [ft];Slope %\n54.1;-1.2\n60.2;-1.0\n", zero_m=0.5))["new"]:
        made.add("reading", record_id=row["record_id"], **{**row["fields"], "run_id": run})
    return made.job_file()


def test_it_is_in_the_job_file_the_pack_and_its_readings(tmp_path):
    path = tmp_path / "pack.zip"
    path.write_bytes(built(job())[0])
    verify(path)
    whole = json.loads(zipfile.ZipFile(path).read("job.json"))
    kept = [r["fields"] for r in whole["records"] if r["kind"] == "reading"]
    assert [f["counter_typed"] for f in kept] == ["54.1", "60.2"]
    contents = assemble(whole)
    rows = list(csv.DictReader(io.StringIO(readings_csv.render(contents).decode("utf-8-sig"))))
    reported = [
        (row["distance_in_file"], row["distance_in_file_unit"], float(row["added_to_it_m"])) for row in rows
    ]
    assert reported == [("54.1", "ft", 0.5), ("60.2", "ft", 0.5)]
    cell = report_data(contents, {}, {})["runs"][0]["readings"][0][0]
    assert cell == "16.99 (in the file 54.1 ft, +0.50 m for its zero)"


def test_a_unit_that_no_word_states_is_said_to_be_assumed():
    found = taken("Distance;Slope %\n1.5;-1.2\n3.0;-1.0\n")
    assert found["known"]["counter_unit"] == "assumed" and found["choices"]["counter_unit"] == "m"

"""A field that is only a line in the schema of observations: the pack shows it with nothing else written."""

import csv
import io
import zipfile
from dataclasses import replace

import pdf_facts
import pytest
from pack_jobs import Maker, built

from webapp.assembly.job import assemble
from webapp.pack import observations_csv, texts
from webapp.schemas import KINDS, describe, pipe
from webapp.schemas.base import Choice, Flag, Number, meta


class Wider(pipe.ObservationSchema):
    """Observations with three fields more."""

    trial_gap_mm = Number(0, 500, "mm", metadata=meta(label="Trial gap"))
    trial_seen_by = Choice({"camera": "Camera", "mirror": "Mirror"}, metadata=meta(label="Seen by"))
    trial_wet = Flag(metadata=meta(label="Wet"))


@pytest.fixture
def wider(monkeypatch):
    monkeypatch.setattr(pipe, "ObservationSchema", Wider)
    monkeypatch.setitem(KINDS, "observation", Wider)


def job(**fields):
    maker = Maker()
    run = maker.add(
        "run", run_ref="R1", direction="with_flow", start_node_id=maker.add("node", node_ref="MH1")
    )
    for counter_m, more in ((1.0, fields), (2.0, {})):
        maker.add("observation", run_id=run, counter_m=counter_m, code="BAF", characterisation_1="A", **more)
    return maker.job_file()


def test_forms_are_told_of_it(wider):
    reported = {f["name"]: f for f in describe(Wider)["fields"] if f.get("further")}
    assert list(reported)[-3:] == ["trial_gap_mm", "trial_seen_by", "trial_wet"]
    assert reported["trial_gap_mm"]["unit"] == "mm" and reported["trial_gap_mm"]["label"] == "Trial gap"


def test_the_pack_says_it_with_label_and_unit(wider):
    made = job(trial_gap_mm=12, trial_seen_by="mirror", trial_wet=False)
    contents = assemble(made)
    first, second = contents.runs[0].observations
    assert texts.further(contents.words, first) == ["Trial gap: 12 mm", "Seen by: Mirror", "Wet: no"]
    assert texts.further(contents.words, second) == []
    with zipfile.ZipFile(io.BytesIO(built(made)[0])) as pack:
        report = " ".join(" ".join(pdf_facts.text(pack.read("report.pdf"))).split())
    assert report.count("Trial gap: 12 mm · Seen by: Mirror · Wet: no") == 1


def test_the_csv_has_a_column_for_it_whether_recorded_or_not(wider):
    contents = assemble(job(trial_gap_mm=12, trial_seen_by="mirror", trial_wet=False))
    rows = list(
        csv.DictReader(io.StringIO(observations_csv.render(contents).decode("utf-8-sig"), newline=""))
    )
    assert [[r["trial_gap_mm"], r["trial_seen_by"], r["trial_wet"]] for r in rows] == [
        ["12", "Mirror", "no"],
        ["", "", ""],
    ]
    empty = replace(contents, runs=())
    assert (
        observations_csv.render(empty)
        .decode("utf-8-sig")
        .strip()
        .endswith("trial_gap_mm,trial_seen_by,trial_wet")
    )

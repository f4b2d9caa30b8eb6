"""The sample jobs: sound, invented, and complete enough to exercise every screen."""

import hashlib
import json
import re
from pathlib import Path

import pytest

from webapp import tables
from webapp.assembly.job import assemble
from webapp.records import job_file
from webapp.schemas import KINDS, check_entry
from webapp.schemas.site import CHECKS

ROOT = Path(__file__).resolve().parent.parent / "sample_jobs"
NAMES = sorted(p.parent.name for p in ROOT.glob("*/job.json"))


@pytest.fixture(params=NAMES)
def folder(request):
    return ROOT / request.param


@pytest.fixture
def job(folder):
    return json.loads((folder / "job.json").read_bytes())


def of(job, kind):
    return [r["fields"] for r in job["records"] if r["kind"] == kind and not r.get("removed")]


def test_there_are_two():
    assert NAMES == ["school_foul_drain", "tidal_creek_drain"]


def test_every_entry_keeps_the_rules(job):
    assert len(job["entries"]) > 80
    for entry in job["entries"]:
        assert check_entry(entry) == {}


def test_the_records_are_what_the_entries_make(folder, job):
    read = job_file.read((folder / "job.json").read_bytes())
    assert read.aside == {}
    assert [job_file.record_json(r) for r in read.records] == job["records"]
    assert job_file.dumps(job) == (folder / "job.json").read_bytes()


def test_two_writers_number_their_entries_without_gaps(job):
    writers = {e["writer"] for e in job["entries"]}
    assert len(writers) == 2
    for writer in writers:
        numbers = [e["number"] for e in job["entries"] if e["writer"] == writer]
        assert numbers == list(range(1, len(numbers) + 1))


def test_each_photo_is_named_by_its_content(folder, job):
    listed = {p["sha256"]: p for p in job["photos"]}
    files = sorted((folder / "photos").iterdir())
    assert len(files) >= 6 and {f.stem for f in files} == set(listed)
    assert {p["sha256"] for p in of(job, "photo")} == set(listed)
    for file in files:
        data = file.read_bytes()
        assert hashlib.sha256(data).hexdigest() == file.stem
        assert listed[file.stem]["size_bytes"] == len(data)
        assert 30_000 < len(data) < 150_000


def test_they_are_complete_enough_for_every_screen(job):
    assert {r["kind"] for r in job["records"]} == set(KINDS)
    assert {c["check_type"] for c in of(job, "check")} == set(CHECKS)
    questions = {r["id"] for r in tables.load("safety_sheet")["rows"]}
    assert {c["question_id"] for c in of(job, "check") if c["check_type"] == "safety_sheet"} == questions
    assert 25 <= len(of(job, "reading")) <= 40
    assert 10 <= len(of(job, "observation")) <= 20
    assert any(r["inclination"].get("over_range") for r in of(job, "reading"))
    assert {o["continuous"]["role"] for o in of(job, "observation") if "continuous" in o} >= {
        "start",
        "finish",
    }
    assert of(job, "level_tie") and of(job, "remark") and of(job, "stretch")


def test_one_has_a_conflict_and_a_removed_record():
    records = [r for n in NAMES for r in json.loads((ROOT / n / "job.json").read_bytes())["records"]]
    assert [list(r["conflicts"]) for r in records if r.get("conflicts")] == [["quantification_1"]]
    assert sum(1 for r in records if r.get("removed")) == 1


def test_every_figure_is_exercised():
    """Between them: value and bound, both kinds of gap, water, chokes, a tied and a free trace."""
    runs = [r for n in NAMES for r in assemble(json.loads((ROOT / n / "job.json").read_bytes())).runs]
    every = [r.figures for r in runs]
    assert {v.known for f in every for v in f.levels} == {"adjusted", "computed", "bounded"}
    assert {g.status for f in every for g in f.gaps} == {"open", "solved"}
    assert any(f.sags and f.backfalls for f in every) and {w.verdict for f in every for w in f.water} >= {
        "agrees"
    }
    assert all(f.bottleneck is not None and f.bottleneck.index is not None for f in every)
    assert {f.whole_run is not None for f in every} == {True, False}
    assert any(f.whole_run and f.whole_run.surcharge for f in every)
    assert {code for f in every for code, _ in f.bottleneck.reasons} >= {
        "narrowing",
        "bore",
        "fall",
        "even_fall",
    }
    left_out = {c.left_out for f in every for c in f.capacities}
    assert left_out == {"", "fall_only_bounded"}
    # one that is sure, and takes the number away, stands in test_capacity_falls
    assert not any("backfall_in_it" in c.findings for f in every for c in f.capacities)
    assert {f.trace.tied for f in every} == {True, False} and any(f.trace.bends for f in every)
    assert all(f.trace.missing == () and f.trace.far_end.lat_deg for f in every)
    assert any(f.far_tie for f in every) and any(f.far_check and f.far_check.flagged for f in every)
    assert [f.trouble for f in every] == [(), (), ()] and not any(f.blunders for f in every)


def test_what_is_left_open_is_left_open_on_purpose():
    """As sample_jobs/README.md says of each."""
    found = {n: assemble(json.loads((ROOT / n / "job.json").read_bytes())).not_closed for n in NAMES}
    assert {n: [one.code for one in some.items] for n, some in found.items()} == {
        "school_foul_drain": ["counter_off", "conflict_open"],
        "tidal_creek_drain": ["rise_needs_far_level", "photo_missing"],
    }
    assert all(some.photos_unmeasured == 0 for some in found.values())


def test_no_code_that_the_table_lacks_or_that_carries_too_much(job):
    from webapp.survey.coding.codes import check_observation

    rows = tables.load("observation_codes")["rows"]
    for observation in of(job, "observation"):
        found = [f["code"] for f in check_observation(rows, observation)]
        assert found == [], observation


def test_the_places_lie_in_the_open_ocean(job):
    for node in of(job, "node"):
        if position := node.get("position"):
            assert 49 < position["lat_deg"] < 51 and -31 < position["lon_deg"] < -29


def test_the_readme_says_what_each_shows_and_that_all_is_invented():
    text = (ROOT / "README.md").read_text()
    assert re.search("invented", text)
    assert all(f"`{name}`" in text for name in NAMES)

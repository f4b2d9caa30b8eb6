"""Packs as a whole: the same bytes, the manifest, the zip, the job taken out again."""

import hashlib
import io
import json
import os
import subprocess
import sys
import zipfile

import pytest
from pack_jobs import NO_PHOTOS, ROOT, SAMPLES, Maker, built, sample

from webapp import job_pack, tables
from webapp.intake.open_job import open_job
from webapp.pack.manifest_json import FORMAT
from webapp.pack.write import EXPORTS
from webapp.records import job_file

WORDS = tables.messages()

NAMES = [
    "report.pdf",
    "levels.svg",
    "observations.csv",
    "readings.csv",
    "levels.csv",
    "falls.csv",
    "plan.geojson",
    "condition.csv",
    "inspection.txt",
    "job.json",
]


@pytest.fixture(scope="module", params=SAMPLES)
def one(request):
    job, photos = sample(request.param)
    data, manifest = built(job, photos)
    return job, photos, data, manifest


def test_two_builds_on_two_processes_are_the_same_bytes(one, tmp_path):
    job, _, data, _ = one
    folder = tmp_path / "other"
    folder.mkdir()
    (folder / "job.json").write_bytes(job_file.dumps(job))
    code = (
        "import io, json, sys, hashlib, pathlib\n"
        "from webapp import job_pack\n"
        "folder = pathlib.Path(sys.argv[1]); out = io.BytesIO()\n"
        "photos = {p.stem: p.read_bytes() for p in pathlib.Path(sys.argv[2]).glob('*/photos/*.jpg')}\n"
        "job_pack.build(json.loads((folder / 'job.json').read_bytes()), photos.get, out)\n"
        "print(hashlib.sha256(out.getvalue()).hexdigest())"
    )
    args = [sys.executable, "-c", code, str(folder), str(ROOT / "sample_jobs")]
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"}
    other = subprocess.run(args, capture_output=True, text=True, check=True, env=env, cwd=tmp_path)
    assert other.stdout.strip() == hashlib.sha256(data).hexdigest()


def test_entries_in_another_order_are_the_same_job(one):
    job, photos, data, _ = one
    shuffled = job_file.build(job["job_id"], reversed(job["entries"]), {}, reversed(job["photos"]))
    assert built(shuffled, photos)[0] == data


def test_files_are_stored_in_order_with_one_fixed_date(one):
    _, _, data, _ = one
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        infos = archive.infolist()
        assert archive.testzip() is None
    names = [i.filename for i in infos]
    assert names[: len(NAMES)] == NAMES
    assert names[-1] == "manifest.json"
    assert names[len(NAMES) : -1] == sorted(n for n in names if n.startswith("photos/"))
    assert {i.compress_type for i in infos} == {zipfile.ZIP_STORED}
    assert {i.date_time for i in infos} == {(1980, 1, 1, 0, 0, 0)}


def test_the_manifest_names_each_file_with_its_hash(one):
    job, _, data, manifest = one
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        written = json.loads(archive.read("manifest.json"))
        assert written == manifest
        assert written["format"] == FORMAT and written["version"] == 1
        assert written["dated_at"] == max(e["recorded_at"] for e in job["entries"])
        assert {f["name"] for f in written["files"]} == set(archive.namelist()) - {"manifest.json"}
        for row in written["files"]:
            content = archive.read(row["name"])
            assert hashlib.sha256(content).hexdigest() == row["sha256"]
            assert len(content) == row["size_bytes"]
    assert written["photos_left_out"] == []


def test_the_job_comes_out_as_it_went_in(one, tmp_path):
    job, photos, data, _ = one
    path = tmp_path / "pack.zip"
    path.write_bytes(data)
    with open_job(path) as (again, photo_bytes):
        assert again.records == job_file.check(job).records
        assert again.entries == job["entries"]
        for row in job["photos"]:
            assert photo_bytes(row["sha256"]) == photos(row["sha256"])
        assert photo_bytes("0" * 64) is None


def test_progress_ends_at_its_total():
    job, photos = sample(SAMPLES[0])
    output = []
    job_pack.build(job, photos, io.BytesIO(), lambda *step: output.append(step))
    assert output[-1][0] == output[-1][1]
    assert [s[0] for s in output] == sorted(s[0] for s in output)
    assert all(words for _, _, words in output)


def test_a_pack_streams_to_a_pipe_that_cannot_seek(tmp_path):
    class Pipe(io.RawIOBase):
        got = b""

        def writable(self):
            return True

        def write(self, data):
            Pipe.got += bytes(data)
            return len(data)

    maker = Maker()
    maker.add("job", title="Piped")
    job_pack.build(maker.job_file(), {}.get, Pipe())
    with zipfile.ZipFile(io.BytesIO(Pipe.got)) as archive:
        assert archive.testzip() is None


def test_every_export_says_what_it_is():
    for export in EXPORTS:
        assert f"pack.step.{export.FILENAME.replace('.', '_')}" in WORDS
        assert export.FILENAME and "/" in export.MEDIA_TYPE and callable(export.render)
    assert len({e.FILENAME for e in EXPORTS}) == len(EXPORTS)


def test_a_job_file_of_records_alone_gets_its_entries():
    job, photos = sample(SAMPLES[0])
    bare = {k: v for k, v in job.items() if k not in ("entries", "aside")}
    data, manifest = built(bare, photos)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        inside = job_file.read(archive.read("job.json"))
    shown = [(r.kind, r.id, r.fields) for r in inside.records]
    assert shown == [(r.kind, r.id, r.fields) for r in job_file.check(bare).records]
    assert manifest["dated_at"].startswith("2026-10-14")


@pytest.mark.parametrize("name", SAMPLES)
def test_what_the_server_makes_is_what_the_command_makes(name):
    job, photos = sample(name)
    stored = job_file.StoredJob(job["job_id"], job["entries"][::-1], job.get("aside", {}), job["photos"])
    out = io.BytesIO()
    job_pack.build_stored(stored, photos, out)
    assert out.getvalue() == built(job, photos)[0]


def test_an_entry_that_breaks_a_rule_is_set_aside_by_both():
    maker = Maker()
    maker.readings(maker.add("run", run_ref="R", counter_zero_m=0), (0, 1), (2, 1))
    maker.add("reading", run_id=maker.uuid(1), counter_m=-4.0)
    out = io.BytesIO()
    manifest = job_pack.build_stored(job_file.StoredJob(maker.job_id, maker.entries, {}, []), NO_PHOTOS, out)
    assert len(manifest["set_aside"]) == 1 and out.getvalue() == built(maker.job_file())[0]

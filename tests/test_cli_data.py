"""fallbook check-data and fallbook pack: what is found, what is made, and never over what is there."""

import json
import sqlite3

import pytest
from cli_calls import ERROR_LINE, SAMPLE, data, fails, filled, run

from webapp.records import job_file
from webapp.timesource import new_id

__all__ = ["data", "filled"]


def change(folder, statement):
    connection = sqlite3.connect(folder / "fallbook.sqlite")
    with connection:
        connection.execute(statement)
    connection.close()


def damaged(folder, *words):
    found = fails("check-data", "--data", folder, code=1, error="data_damaged")
    for word in words:
        assert word in found.stderr, found.stderr


def test_an_entry_that_was_changed(filled):
    change(filled, "UPDATE entry SET body = replace(body, 'School', 'Castle') WHERE kind = 'job'")
    damaged(filled, "differs from its hash")


def test_an_entry_that_is_gone(filled):
    change(filled, "DELETE FROM entry WHERE number = 3")
    damaged(filled, "entries")


def test_a_photo_that_is_gone_or_changed(filled):
    one, other, *_ = sorted(p for p in (filled / "photos").rglob("*") if p.is_file())
    one.unlink()
    other.write_bytes(b"x")
    damaged(filled, "its file is gone", "its file is damaged")


def test_a_torn_database(filled):
    path = filled / "fallbook.sqlite"
    data = bytearray(path.read_bytes())
    data[4096 * 3 : 4096 * 5] = b"\xff" * 8192
    path.write_bytes(data)
    found = run("check-data", "--data", filled, code=1)
    assert "[data_damaged]" in found.stderr


def test_strays_and_half_photos_are_only_noted(filled):
    folder = filled / "photos" / "ab"
    folder.mkdir(exist_ok=True)
    (folder / ("ab" * 32 + ".part")).write_bytes(b"12345")
    (folder / "stray").write_bytes(b"x")
    text = run("check-data", "--data", filled).stdout
    assert "5 bytes so far" in text and "stray among the photos is not one" in text


def test_a_folder_that_is_not_there_is_not_made(data):
    fails("check-data", "--data", data, code=2, error="data_missing")
    fails("pack", new_id(), "--data", data, "-o", data.with_name("x.zip"), code=2, error="data_missing")
    assert not data.exists()


@pytest.fixture
def fake_pack(monkeypatch):
    """The pack folder has its own tests; here only the command matters."""

    def build(job, photo_bytes, out, progress=None):
        progress(1, 1, "Everything")
        data = photo_bytes(job["photos"][0]["sha256"]) if job["photos"] else b""
        out.write(job_file.dumps(job) + data)
        return {"photos_left_out": []}

    monkeypatch.setattr("webapp.job_pack.build", build)


def test_pack_from_a_folder_a_file_and_an_id_are_the_same(filled, tmp_path, fake_pack):
    outs = [tmp_path / f"{n}.zip" for n in range(3)]
    job_id = json.loads((SAMPLE / "job.json").read_text())["job_id"]
    for source, out in zip((SAMPLE, SAMPLE / "job.json", job_id), outs, strict=True):
        run("pack", source, "-o", out, "--data", filled)
    whole = [jobfile_part(out) for out in outs]
    assert whole[0] == whole[1]
    assert [r for r in whole[0]["records"]] == [r for r in whole[2]["records"]]


def jobfile_part(path):
    return json.JSONDecoder().raw_decode(path.read_bytes().decode("utf-8", "replace"))[0]


def test_a_pack_replaces_nothing_unasked(tmp_path, fake_pack):
    out = tmp_path / "x.zip"
    out.write_text("mine")
    fails("pack", SAMPLE, "-o", out, code=2, error="destination_exists")
    assert out.read_text() == "mine"
    run("pack", SAMPLE, "-o", out, "--force")
    assert out.stat().st_size > 1000 and list(tmp_path.iterdir()) == [out]


def test_a_pack_that_cannot_be_written(tmp_path, fake_pack):
    fails("pack", SAMPLE, "-o", tmp_path / "none" / "x.zip", code=2, error="output_unwritable")


def test_an_unknown_job(filled, tmp_path):
    fails("pack", new_id(), "--data", filled, "-o", tmp_path / "x.zip", code=2, error="job_not_found")


def test_a_real_pack_is_made_proved_and_taken_in(data, tmp_path):
    out, twice = tmp_path / "school.zip", tmp_path / "twice.zip"
    run("pack", SAMPLE, "-o", out)
    assert "whole" in run("verify", out).stdout
    assert (
        "0 set aside, 7 photos new, 0 photos not here yet"
        in run("import", "--create", "--data", data, out).stdout
    )
    job_id = json.loads((SAMPLE / "job.json").read_text())["job_id"]
    run("pack", job_id, "--data", data, "-o", twice)
    assert twice.read_bytes() == out.read_bytes(), "the same job, the same bytes"
    spoilt = bytearray(out.read_bytes())
    spoilt[len(spoilt) // 2] ^= 1
    out.write_bytes(spoilt)
    found = run("verify", out, code=1)
    assert ERROR_LINE.fullmatch(found.stderr.strip().splitlines()[-1])

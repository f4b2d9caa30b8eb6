"""A data folder that an earlier version left behind opens with nothing lost."""

import csv
import hashlib
import io
import json
import urllib.request
import zipfile

import left_behind
import pytest
from click.testing import CliRunner
from left_behind import MADE, VERSION
from server_process import ServerProcess

from webapp.cli import main

KEEPS = ("entry", "clash", "photo", "device", "invitation", "client_link", "writer_owner", "audit")
REWORDED = (b"limits of this project", b"limits set by Fallbook")  # in the files of a pack, since then
# Figures of its job that are computed otherwise since then: bounds stand three spreads wide (D58).
RECOMPUTED = {
    "levels.csv": [
        "[4].band_95_low_m: '9.7178', was '9.7571'",
        "[4].band_95_high_m: '12.0068', was '11.9674'",
    ]
}
BEGUN = next((VERSION / "photos").rglob("*.part"))


@pytest.fixture
def folder(tmp_path):
    return left_behind.data_folder(tmp_path / "data")


def fallbook(*words):
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exit_code == 0, done.output
    return done.stdout


def test_every_row_is_still_there_after_the_server_has_opened_it(folder):
    before = left_behind.rows(folder)
    server = ServerProcess(folder).start()
    server.kill()
    after = left_behind.rows(folder)
    assert {name for name in KEEPS if before[name]} == {*KEEPS} - {"writer_owner"}, (
        "the folder has something of each"
    )
    for name in KEEPS:
        kept = [
            row for row in before[name] if not any(left_behind.holds(one, row) == [] for one in after[name])
        ]
        assert kept == [], name


def test_its_job_is_exported_and_packed_as_before(folder, tmp_path):
    fallbook("export", MADE["job"], "-o", tmp_path / "job.json", "--data", folder)
    assert (tmp_path / "job.json").read_bytes() == (VERSION / "job.json").read_bytes()
    fallbook("pack", MADE["job"], "-o", tmp_path / "pack.zip", "--data", folder)
    with zipfile.ZipFile(tmp_path / "pack.zip") as pack:
        files = {name: pack.read(name) for name in pack.namelist()}
    expected = json.loads((VERSION / "pack.json").read_text(encoding="utf-8"))
    found = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    assert {name: found.get(name) for name in expected} == expected
    for path in VERSION.glob("*.csv"):  # a column more is no loss
        changed = left_behind.holds(lines(files[path.name]), lines(path.read_bytes()))
        assert changed == RECOMPUTED.get(path.name, []), path.name


def lines(data):
    data = data.replace(*REWORDED)
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def test_nothing_in_it_is_found_bad(folder):
    fallbook("check-data", "--data", folder)


def test_phones_and_scripts_meet_what_was_there(folder):
    server = ServerProcess(folder, env={"FALLBOOK_ACCESS": "on"}).start()
    try:
        mine = {"Authorization": f"Bearer {MADE['token']}"}
        me = json.loads(requested(server, "/api/me", mine).read())
        assert (me["role"], me["name"]) == ("surveyor", "Office script")
        for photo in (path for path in (VERSION / "photos").rglob("*") if path.is_file() and path != BEGUN):
            assert requested(server, f"/media/photos/{photo.name}", mine).read() == photo.read_bytes()
        begun = requested(server, f"/api/photos/{BEGUN.stem}", mine, "HEAD").headers
        assert begun["Upload-Offset"] == str(BEGUN.stat().st_size) and begun["Upload-Complete"] == "?0"
    finally:
        server.kill()


def requested(server, path, headers, method="GET"):
    return urllib.request.urlopen(
        urllib.request.Request(server.url + path, None, headers, method=method), timeout=20
    )

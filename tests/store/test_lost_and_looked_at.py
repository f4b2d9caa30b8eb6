"""A database that is gone is not served as empty, /healthz reads, and a slow look finds what lies damaged."""

import hashlib
import json
import os
import shutil
import sqlite3

import pytest
from click.testing import CliRunner
from servers import Server, entry, error_of

from webapp import create_app
from webapp.cli import main
from webapp.errors import AppError
from webapp.sync import looking
from webapp.web.state import state_of

A = "writer-a"
DATA = b"not really a picture, but whole"
SHA256 = hashlib.sha256(DATA).hexdigest()


@pytest.fixture
def filled(server, job_id):
    """A server with a job and its photo."""
    fields = {"sha256": SHA256, "size_bytes": len(DATA), "media_type": "image/jpeg"}
    server.fates([entry(job_id, A, 1, "job", {"title": "Drain"}), entry(job_id, A, 2, "photo", fields)])
    headers = {"Upload-Offset": 0, "Upload-Length": len(DATA), "Content-Type": "image/jpeg"}
    assert server.client.put(f"/api/photos/{SHA256}", data=DATA, headers=headers).json["complete"]
    return server


def taken_away(database):
    database.unlink()


def cut_to_nothing(database):
    os.truncate(database, 0)


def another_one(database):
    shutil.copy(database, f"{database}.copy")
    os.replace(f"{database}.copy", database)


LOSSES = [taken_away, cut_to_nothing]


@pytest.mark.parametrize("lose", LOSSES)
@pytest.mark.parametrize("settings", [{}, {"LOCK_FOLDER": False, "MIGRATE": False}], ids=["serve", "read"])
def test_no_start_without_the_database_of_the_photos(filled, lose, settings):
    filled.close()
    database = filled.folder / "fallbook.sqlite"
    for more in ("-wal", "-shm"):
        database.with_name(database.name + more).unlink(missing_ok=True)
    lose(database)
    with pytest.raises(AppError) as caught:
        create_app({"DATA_FOLDER": filled.folder, **settings})
    assert caught.value.code == "database_lost"
    for words in (["jobs"], ["check-data"], ["backup", str(filled.folder.parent / "b")]):
        done = CliRunner().invoke(main, [*words, "--data", str(filled.folder)])
        assert done.exit_code == 1 and "[database_lost]" in done.stderr, done.output
    assert not database.exists() or database.stat().st_size == 0


def test_a_log_without_its_database_is_not_thrown_away(tmp_path, job_id):
    server = Server(tmp_path / "data")
    server.fates([entry(job_id, A, 1)])
    shutil.copytree(server.folder, tmp_path / "killed")
    server.close()
    os.truncate(tmp_path / "killed" / "fallbook.sqlite", 0)
    log = (tmp_path / "killed" / "fallbook.sqlite-wal").read_bytes()
    with pytest.raises(AppError) as caught:
        create_app({"DATA_FOLDER": tmp_path / "killed"})
    assert caught.value.code == "database_lost"
    assert log and (tmp_path / "killed" / "fallbook.sqlite-wal").read_bytes() == log


def test_a_new_folder_still_begins(tmp_path):
    (tmp_path / "data" / "photos").mkdir(parents=True)
    (tmp_path / "data" / "fallbook.sqlite").touch()
    Server(tmp_path / "data").close()


def test_a_backup_can_be_put_back_beside_the_photos(filled, tmp_path, job_id):
    run = CliRunner().invoke
    assert run(main, ["backup", str(tmp_path / "b"), "--data", str(filled.folder)]).exit_code == 0
    filled.close()
    for path in filled.folder.glob("fallbook.sqlite*"):
        path.unlink()
    done = run(main, ["restore", str(tmp_path / "b"), "--create", "--data", str(filled.folder)])
    assert done.exit_code == 0, done.output
    again = Server(filled.folder)
    assert again.client.get(f"/media/photos/{SHA256}").data == DATA
    again.close()


@pytest.mark.parametrize("lose", [*LOSSES, another_one])
def test_a_database_lost_while_it_is_served_is_told_and_nothing_is_taken(filled, job_id, lose):
    assert filled.client.get("/healthz").status_code == 200
    lose(filled.folder / "fallbook.sqlite")
    for answer in (
        filled.client.get("/healthz"),
        filled.client.get("/api/jobs"),
        filled.sync([entry(job_id, A, 3)]),
    ):
        assert answer.status_code == 503 and error_of(answer)["code"] == "database_lost"


def spoil_table(filled, table):
    """Overwrite the first page of a table."""
    from webapp.store.models import db

    with filled.app.app_context():
        db.engine.dispose()
    database = filled.folder / "fallbook.sqlite"
    connection = sqlite3.connect(database)
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    query = "SELECT rootpage FROM sqlite_schema WHERE type = 'table' AND name = ?"
    page = connection.execute(query, [table]).fetchone()[0]
    connection.close()
    with database.open("r+b") as file:
        file.seek((page - 1) * 4096)
        file.write(os.urandom(1).replace(b"\n", b"x").replace(b"\r", b"x") * 4096)


@pytest.mark.parametrize(
    "table",
    [
        "entry",
        "clash",
        "photo",
        "photo_remark",
        "device",
        "invitation",
        "client_link",
        "audit",
        "device_job",
    ],
)
def test_health_reads_every_table(filled, table):
    spoil_table(filled, table)
    answer = filled.client.get("/healthz")
    assert answer.status_code == 503 and error_of(answer)["code"] == "data_damaged"


def test_a_damaged_table_of_remarks_keeps_no_photo_out(filled, job_id):
    data = b"%!PS no picture"
    sha256 = hashlib.sha256(data).hexdigest()
    filled.fates([entry(job_id, "writer-foto", 1, "photo", {"sha256": sha256})])
    spoil_table(filled, "photo_remark")
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(data)), "Content-Type": "image/jpeg"}
    answer = filled.client.put(f"/api/photos/{sha256}", data=data, headers=headers)
    assert answer.json.get("complete") is True, answer.json
    found = filled.sync([], {job_id: {"have": {}}}, lists={}, photo_remarks=False).json
    assert sha256 not in found["photos_wanted"] and found["photo_remarks"] == []


def test_health_reads_the_mark_of_the_photos(filled):
    photos = filled.folder / "photos"
    photos.rename(filled.folder / "elsewhere")
    photos.mkdir()  # a disk that is not mounted leaves its empty folder
    answer = filled.client.get("/healthz")
    assert answer.status_code == 503 and error_of(answer)["code"] == "photos_lost"
    filled.close()
    again = Server(filled.folder)  # a start does not take the empty folder for the right one
    assert error_of(again.client.get("/healthz"))["code"] == "photos_lost"
    again.close()
    photos.rmdir()
    (filled.folder / "elsewhere").rename(photos)
    again = Server(filled.folder)
    assert again.client.get("/healthz").json["whole"] is True
    again.close()


def look(server):
    with server.app.app_context():
        return state_of(server.app).looking.look()


def test_the_slow_look_finds_other_bytes_and_the_photo_is_asked_for_again(filled, job_id, caplog):
    look(filled)
    assert filled.client.get("/healthz").json["whole"] is True
    path = filled.folder / "photos" / SHA256[:2] / SHA256
    path.write_bytes(bytes(reversed(DATA)))
    assert filled.pull(job_id, {A: 2})["photos_wanted"] == [], "its size is right"
    (filled.folder / "looking.json").unlink()
    look(filled)
    assert "photo_damaged" in caplog.text
    assert filled.pull(job_id, {A: 2})["photos_wanted"] == [SHA256]
    assert filled.client.get("/healthz").json["whole"] is False
    headers = {"Upload-Offset": 0, "Upload-Length": len(DATA), "Content-Type": "image/jpeg"}
    assert filled.client.put(f"/api/photos/{SHA256}", data=DATA, headers=headers).json["complete"]
    (filled.folder / "looking.json").unlink()
    look(filled)
    assert filled.client.get("/healthz").json["whole"] is True


def test_the_slow_look_finds_a_job_whose_bytes_changed(filled, job_id):
    database = filled.folder / "fallbook.sqlite"
    with sqlite3.connect(database) as connection:
        connection.execute("UPDATE entry SET body = replace(body, 'Drain', 'Brain') WHERE number = 1")
    connection.close()
    look(filled)
    assert filled.client.get("/healthz").json["whole"] is False
    assert filled.pull(job_id, {A: 2})["jobs"] == {job_id: {"refused": "data_damaged"}}
    (row,) = filled.client.get("/api/jobs").json["jobs"]
    assert row["damaged"] is True
    with sqlite3.connect(database) as connection:
        connection.execute("UPDATE entry SET body = replace(body, 'Brain', 'Drain') WHERE number = 1")
    connection.close()
    (filled.folder / "looking.json").unlink()
    look(filled)
    assert filled.pull(job_id, {A: 2})["jobs"] == {job_id: {"have": {A: 2}}}


def test_the_look_goes_on_where_it_stopped_and_rests_for_a_day(filled, monkeypatch):
    seen = []
    photos = state_of(filled.app).photos
    monkeypatch.setattr(photos, "prove", lambda sha256: seen.append(sha256) or True)
    (filled.folder / "looking.json").write_text(json.dumps({"photo": SHA256, "job": "~", "ended_s": 0}))
    look(filled)
    assert seen == [], "that photo was looked at before the restart"
    rest_s = look(filled)
    assert seen == [] and 0 < rest_s <= looking.EVERY_S
    (filled.folder / "looking.json").write_text(json.dumps({"photo": "", "job": "", "ended_s": 1.0}))
    look(filled)
    assert seen == [SHA256]

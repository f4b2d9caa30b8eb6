"""Salvage of a folder in which something was erased, and of who had been let in: nothing comes back by it."""

import json
import random
import shutil
import sqlite3
from contextlib import closing

import pytest
from api.test_erasures import POISON, a_job, job_file, undo
from click.testing import CliRunner
from damaged_book import noise
from servers import Server, entry, erase

from webapp.access.granting import By
from webapp.cli import main
from webapp.erasing import acts
from webapp.store.models import db
from webapp.timesource import new_id


def run(*words):
    done = CliRunner().invoke(main, [str(word) for word in words])
    return done.exit_code, done.output


def spoil(folder, head=True):
    """Overwrite the first page: no SQLite opens this."""
    with (folder / "fallbook.sqlite").open("r+b") as file:
        file.write(noise(bytes(4096), random.Random(3)))


@pytest.fixture
def erased(tmp_path):
    """A folder with a record and a photo hidden and a writer expunged; what its job was before, and is."""
    folder, job_id = tmp_path / "data", new_id()
    server = Server(folder)
    made = a_job(server, job_id)
    server.fates([entry(job_id, "writer-cccc", n, "remark", {"text": f"Secret number {n}"}) for n in (1, 2)])
    server.fates([entry(job_id, "writer-dddd", 1, "remark", {"text": "stays"})])
    erase(server, job_id, "writer", "writer-cccc", days=0)
    whole = job_file(server, job_id)
    hiding = [erase(server, job_id, "record", made["note"]), erase(server, job_id, "photo", made["sha256"])]
    hidden = job_file(server, job_id)
    server.close()
    return {
        "folder": folder,
        "job_id": job_id,
        "made": made,
        "whole": whole,
        "hidden": hidden,
        "acts": hiding,
    }


def check_salvaged(folder, erased):
    """It is as it was; what was hidden comes back by its undo, and what was gone does not."""
    server = Server(folder)
    assert job_file(server, erased["job_id"]) == erased["hidden"]
    media = f"/media/photos/{erased['made']['sha256']}"
    assert server.client.get(media).status_code == 404
    assert server.pull(erased["job_id"])["photos_wanted"] == []
    listed = {one["id"]: one["state"] for one in server.client.get("/api/erasures").json["erasures"]}
    assert sorted(listed.values()) == ["expunged", "quarantined", "quarantined"]
    assert server.fates(erased["made"]["sent"])[4][1:3] == ["set_aside", "erased"], "no phone brings it back"
    for act in erased["acts"]:
        assert undo(server, act).status_code == 200
    assert job_file(server, erased["job_id"]) == erased["whole"]
    assert server.client.get(media).data == erased["made"]["data"]
    server.close()
    held = [path.read_bytes() for path in folder.rglob("*") if path.is_file()]
    assert not any(b"Secret number" in data for data in held)


def test_what_was_hidden_comes_out_hidden_and_what_is_gone_stays_gone(erased, tmp_path):
    spoil(erased["folder"])
    code, said = run("salvage", tmp_path / "new", "--json", "--data", erased["folder"])
    found = json.loads(said)
    assert code == 0 and found["lost"] == [], said
    assert (found["hidden"], found["hidden_photos"], found["photos"]) == (3, 1, 0)
    assert run("check-data", "--data", tmp_path / "new")[0] == 0
    check_salvaged(tmp_path / "new", erased)


def test_a_hidden_entry_of_which_the_frame_is_lost_is_hidden_still(erased, tmp_path):
    with closing(sqlite3.connect(erased["folder"] / "fallbook.sqlite")) as connection:
        connection.execute(
            "DELETE FROM entry WHERE (writer, number) IN (VALUES ('writer-bbbb', 2), ('writer-aaaa', 4))"
        )
        connection.commit()
    assert run("salvage", tmp_path / "new", "--data", erased["folder"])[0] == 0
    check_salvaged(tmp_path / "new", erased)


def test_old_pages_that_still_hold_it_bring_nothing_back(tmp_path):
    server, job_id = Server(tmp_path / "data"), new_id()
    made = a_job(server, job_id)
    act = erase(server, job_id, "record", made["note"])
    with server.app.app_context():
        acts.expunge(act["id"], By())  # and nothing is cleared: the log still holds all its earlier pages
        now = job_file(server, job_id)
        shutil.copytree(tmp_path / "data", tmp_path / "killed")
        db.engine.dispose()
    server.close()
    assert POISON.encode() in (tmp_path / "killed" / "fallbook.sqlite-wal").read_bytes()
    assert run("salvage", tmp_path / "new", "--data", tmp_path / "killed")[0] == 0
    again = Server(tmp_path / "new")
    assert job_file(again, job_id) == now and POISON not in str(again.all_rows())
    again.close()


def test_files_hold_nothing_that_was_erased_and_say_so_and_importing_them_brings_nothing_back(
    erased, tmp_path
):
    spoil(erased["folder"])
    code, said = run("salvage", tmp_path / "files", "--files", "--data", erased["folder"])
    assert code == 0 and "what erasures hide is not in these files" in said, said
    packs = list((tmp_path / "files").glob("*.zip"))
    assert run("import", *packs, "--create", "--data", tmp_path / "again")[0] == 0
    for folder in ("files", "again"):
        held = [path.read_bytes() for path in (tmp_path / folder).rglob("*") if path.is_file()]
        for gone in (POISON.encode(), b"Secret number", erased["made"]["data"], b"the face"):
            assert not any(gone in data for data in held), folder
    server = Server(tmp_path / "again")
    assert b"stays" in job_file(server, erased["job_id"])
    assert server.pull(erased["job_id"])["aside"][erased["job_id"]]["writer-bbbb:1"]["code"] == "erased"
    server.close()
    lines = json.loads((tmp_path / "files" / "audit.json").read_text())
    assert [line["action"] for line in lines].count("erased") == 3


def test_an_act_that_cannot_be_read_is_told_and_what_it_hid_does_not_come_back(erased, tmp_path):
    with closing(sqlite3.connect(erased["folder"] / "fallbook.sqlite")) as connection:
        connection.execute("DELETE FROM erasure WHERE id = ?", [erased["acts"][0]["id"]])
        connection.commit()
    code, said = run("salvage", tmp_path / "new", "--data", erased["folder"])
    assert code == 0 and "2 entries that were erased stay in the damaged folder" in said
    server = Server(tmp_path / "new")
    assert POISON.encode() not in job_file(server, erased["job_id"])
    server.close()


def table(folder, query):
    with closing(sqlite3.connect(folder / "fallbook.sqlite")) as connection:
        return connection.execute(query).fetchall()


def test_whoever_was_let_in_is_listed_as_ended_and_the_log_goes_on(erased, tmp_path):
    data, phone, job_id = erased["folder"], new_id(), erased["job_id"]
    code, token = run("credential", "add", "--name", "Nightly copy", "--data", data)
    assert code == 0 and run("link", "add", job_id, "--url", "https://book.example", "--data", data)[0] == 0
    assert run("invite", "--url", "https://book.example", "--data", data)[0] == 0
    with closing(sqlite3.connect(data / "fallbook.sqlite")) as connection:
        connection.execute("INSERT INTO device (id, name, role, job_id, secret_sha256, created_at) VALUES "
                           "(?, 'Van 1', 'surveyor', ?, ?, '2026-11-01T10:00:00.000+00:00')",
                           [phone, job_id, "a" * 64])  # fmt: skip
        connection.execute(
            "INSERT INTO device_job VALUES (?, ?, '2026-11-01T10:00:00.000+00:00')", [phone, new_id()]
        )
        connection.execute(
            "INSERT INTO writer_owner VALUES ('writer-aaaa', ?, '2026-11-01T10:00:00.000+00:00')", [phone]
        )
        connection.commit()
    before = {name: table(data, f"SELECT * FROM {name}") for name in ("device_job", "writer_owner")}
    lines = table(data, "SELECT at, device_id, who, address, action, job_id, detail FROM audit ORDER BY at")
    names = table(data, "SELECT name FROM device ORDER BY name")
    spoil(data)
    code, said = run("salvage", tmp_path / "new", "--data", data)
    new = tmp_path / "new"
    assert code == 0 and "3 phones, scripts and links that were let in are listed as ended" in said, said
    assert table(new, "SELECT name FROM device ORDER BY name") == names == [("Nightly copy",), ("Van 1",)]
    assert table(new, "SELECT count(*) FROM device WHERE revoked_at IS NULL") == [(0,)]
    assert table(new, "SELECT count(*) FROM client_link WHERE revoked_at IS NOT NULL") == [(1,)]
    assert table(new, "SELECT count(*) FROM invitation") == [(0,)]
    assert {name: table(new, f"SELECT * FROM {name}") for name in before} == before
    found = table(new, "SELECT at, device_id, who, address, action, job_id, detail FROM audit ORDER BY id")
    assert sorted(found[:-1]) == sorted(lines) and found[-1][4] == "salvaged"
    server = Server(new, ACCESS=True)
    asked = {"Authorization": f"Bearer {token.split()[-1]}"}
    refused = server.client.get("/api/jobs", headers=asked, environ_base={"REMOTE_ADDR": "127.0.0.1"})
    assert refused.status_code in (401, 403)
    server.close()

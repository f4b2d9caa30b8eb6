"""Backup, restore and the move elsewhere: of one moment, proved record by record, refusing to overwrite."""

import hashlib
import json
import os
import time

import pytest
from click.testing import CliRunner
from grown import bucket, postgres, s3_endpoint
from server_process import ServerProcess
from servers import Server, entries, entry, erase
from sqlalchemy import text
from store.test_durability import SendingPhone, post

from webapp.cli import main
from webapp.lan import certificates
from webapp.store.engine import writing
from webapp.store.models import db
from webapp.timesource import new_id
from webapp.upkeep.copying import differences, snapshot

__all__ = ["bucket", "postgres", "s3_endpoint"]
PHOTO = b"\xff\xd8\xff" + bytes(5000)
NAME = hashlib.sha256(PHOTO).hexdigest()


def run(*command):
    done = CliRunner().invoke(main, [str(c) for c in command])
    return done.exit_code, done.output + (done.stderr if done.stderr_bytes else "")


def filled(folder, job_id, **settings):
    """Return a server with a job, 40 readings, a photo, and an entry set aside."""
    server = Server(folder, **settings)
    server.fates([entry(job_id, "writer-head", 1, "job", {"title": "Brook culvert"})])
    server.fates(entries(job_id, "writer-aaaa", 1, 40))
    photo = {"sha256": NAME, "size_bytes": len(PHOTO), "media_type": "image/jpeg"}
    server.fates([entry(job_id, "writer-foto", 1, "photo", photo)])
    server.fates([entry(job_id, "writer-odd1", 1, "reading", {"counter_m": "far"})])
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(PHOTO)), "Content-Type": "image/jpeg"}
    assert server.client.put(f"/api/photos/{NAME}", data=PHOTO, headers=headers).json["complete"]
    return server


def job_of(server, job_id):
    return json.loads(server.client.get(f"/api/jobs/{job_id}").data)


def test_a_backup_taken_while_phones_send_is_whole_and_restores(tmp_path):
    server = ServerProcess(tmp_path / "data").start()
    job_id = new_id()
    phones = [SendingPhone(server.url, job_id, f"writer-{n:04}") for n in range(2)]
    try:
        [p.start() for p in phones]
        end_s = time.monotonic() + 30
        while not all(p.acknowledged for p in phones):
            assert time.monotonic() < end_s, "the phones got no answer"
            time.sleep(0.05)
        for _ in range(10):  # a busy machine may give the phones no turn in the moment that a backup takes
            before = {p.writer: p.acknowledged for p in phones}
            code, printed = run("backup", tmp_path / "copy", "--data", server.folder)
            assert code == 0 and "is whole" in printed, printed
            if all(p.acknowledged > before[p.writer] for p in phones):
                break
        else:
            raise AssertionError("no phone could send while a backup was taken")
        for phone in phones:
            phone.over = True
        [p.join(20) for p in phones]
    finally:
        server.kill()
    assert run("check-data", "--data", tmp_path / "copy")[0] == 0
    code, printed = run("restore", "--create", tmp_path / "copy", "--data", tmp_path / "again")
    assert code == 0, printed
    restored = ServerProcess(tmp_path / "again").start()
    try:
        ask = {"protocol": 1, "device_id": "x", "jobs": {job_id: {"have": {}}}, "pull": 0}
        vector = post(restored.url, ask)["jobs"][job_id]["have"]
        assert all(vector[w] >= n for w, n in before.items()), "acknowledged before the backup"
        for (
            phone
        ) in phones:  # a phone that believes more to be there sends what is missing, and nothing is doubled
            rest = [phone.make(n) for n in range(vector[phone.writer] + 1, phone.acknowledged + 1)]
            for start in range(0, len(rest), 500):
                post(restored.url, {"protocol": 1, "device_id": "x", "entries": rest[start : start + 500]})
        assert post(restored.url, ask)["jobs"][job_id]["have"] == {p.writer: p.acknowledged for p in phones}
    finally:
        restored.kill()


def test_a_second_backup_into_the_same_folder_copies_only_new_photos(tmp_path, job_id):
    filled(tmp_path / "data", job_id).close()
    code, printed = run("backup", tmp_path / "copy", "--data", tmp_path / "data")
    assert code == 0 and "1 photo, 1 of them copied now" in printed
    server = Server(tmp_path / "data")
    server.fates(entries(job_id, "writer-aaaa", 41, 50))
    held = server.all_rows()
    server.close()
    code, printed = run("backup", tmp_path / "copy", "--data", tmp_path / "data")
    assert code == 0 and "1 photo, 0 of them copied now" in printed
    copy = Server(tmp_path / "copy")
    assert copy.all_rows() == held
    copy.close()


def test_it_refuses_to_write_over_anything(tmp_path, job_id):
    filled(tmp_path / "data", job_id).close()
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "dear.txt").write_text("x")
    for folder in (tmp_path / "letters", tmp_path / "data"):
        code, printed = run("backup", folder, "--data", tmp_path / "data")
        assert code == 2 and "[backup_place]" in printed
    assert run("backup", tmp_path / "copy", "--data", tmp_path / "data")[0] == 0
    server = Server(tmp_path / "data")
    held = server.all_rows()
    server.close()
    code, printed = run("restore", "--create", tmp_path / "copy", "--data", tmp_path / "data")
    assert code == 2 and "[target_not_empty]" in printed
    code, printed = run("restore", "--create", tmp_path / "letters", "--data", tmp_path / "new")
    assert code == 2 and "[backup_missing]" in printed
    server = Server(tmp_path / "data")
    assert server.all_rows() == held
    server.close()


def test_a_photo_that_cannot_be_copied_is_named_and_the_rest_is_there(tmp_path, job_id):
    server = filled(tmp_path / "data", job_id)
    path = server.folder / "photos" / NAME[:2] / NAME
    path.write_bytes(PHOTO[:-1] + b"x")
    server.close()
    code, printed = run("backup", tmp_path / "copy", "--data", tmp_path / "data")
    assert code == 1 and f"missing: photo {NAME}" in printed and "[backup_incomplete]" in printed
    code, printed = run("check-data", "--data", tmp_path / "copy")
    assert code == 1 and "43 entries" in printed


def test_invitations_still_open_end_with_a_restore(tmp_path, job_id):
    filled(tmp_path / "data", job_id).close()
    code, printed = run(
        "invite", "--url", "https://office.example", "--name", "A phone", "--data", tmp_path / "data"
    )
    assert code == 0, printed
    run("backup", tmp_path / "copy", "--data", tmp_path / "data")
    assert run("restore", "--create", tmp_path / "copy", "--data", tmp_path / "again")[0] == 0
    server = Server(tmp_path / "again")
    with server.app.app_context(), db.engine.connect() as connection:
        used = connection.execute(text("SELECT used_at FROM invitation")).scalars().all()
    server.close()
    assert len(used) == 1 and used[0] is not None


def test_a_restore_says_that_ended_access_is_in_force_again(tmp_path, job_id):
    filled(tmp_path / "data", job_id).close()
    run("backup", tmp_path / "copy", "--data", tmp_path / "data")
    made = json.loads((tmp_path / "copy" / "backup.json").read_text())["made_at"]
    code, printed = run("restore", "--create", tmp_path / "copy", "--data", tmp_path / "again")
    assert code == 0 and f"had access on {made[:16].replace('T', ' ')} UTC has it again" in printed


@pytest.mark.parametrize("damaged", [False, True])
def test_what_was_erased_after_a_backup_is_back_and_a_newer_folder_takes_it_away_again(
    tmp_path, job_id, damaged
):
    server = filled(tmp_path / "data", job_id)
    first = erase(server, job_id, "entry", "writer-aaaa:3")
    photo = erase(server, job_id, "photo", NAME)
    server.close()
    assert run("backup", tmp_path / "copy", "--data", tmp_path / "data")[0] == 0
    server = Server(tmp_path / "data")
    gone = erase(server, job_id, "entry", "writer-aaaa:7", days=0, reason="a face")
    assert server.client.post(f"/api/erasures/{first['id']}/undo", json={}).status_code == 200
    erased = job_of(server, job_id)
    server.close()
    if damaged:
        with (tmp_path / "data" / "fallbook.sqlite").open("r+b") as file:
            file.write(bytes(100))
    code, printed = run("restore", "--create", tmp_path / "copy", "--data", tmp_path / "old")
    assert code == 0 and "is back. A phone that knows of it" in printed
    more = ("--erasures", tmp_path / "data", "--data", tmp_path / "again")
    code, printed = run("restore", "--create", tmp_path / "copy", *more)
    assert code == 0 and "2 erasures that are newer than the backup were done again." in printed, printed
    again = Server(tmp_path / "again")
    assert job_of(again, job_id) == erased
    states = {one["id"]: one["state"] for one in again.client.get("/api/erasures").json["erasures"]}
    assert states == {first["id"]: "undone", photo["id"]: "quarantined", gone["id"]: "expunged"}
    assert run("check-data", "--data", tmp_path / "again")[0] == 0
    assert again.client.post(f"/api/erasures/{photo['id']}/undo", json={}).status_code == 200
    assert again.client.get(f"/media/photos/{NAME}").data == PHOTO, "a backup holds what is only hidden"
    again.close()


def test_erasures_of_another_server_are_not_taken(tmp_path, job_id):
    filled(tmp_path / "data", job_id).close()
    run("backup", tmp_path / "copy", "--data", tmp_path / "data")
    other = filled(tmp_path / "other", job_id)
    erase(other, job_id, "job")
    other.close()
    more = ("--erasures", tmp_path / "other", "--data", tmp_path / "again")
    code, printed = run("restore", "--create", tmp_path / "copy", *more)
    assert code == 0 and "0 erasures" in printed
    code, printed = run(
        "restore", "--create", tmp_path / "copy", "--erasures", tmp_path, "--data", tmp_path / "b"
    )
    assert code != 0 and "data_missing" in printed


def test_others_on_the_machine_cannot_read_what_is_here_or_in_a_backup(tmp_path, job_id):
    """The folders are of somebody else's making and open to everybody; what is in them is not."""
    before = os.umask(0o022)
    try:
        for name in ("data", "copy", "again"):
            (tmp_path / name).mkdir(mode=0o755)
        server = filled(tmp_path / "data", job_id)
        certificates.authority(server.folder)
        held = [*server.folder.glob("fallbook.sqlite*")]
        assert len(held) >= 3  # the database, and what SQLite keeps beside it
        assert [path.name for path in held if path.stat().st_size and path.stat().st_mode & 0o077] == []
        server.close()
        assert run("backup", tmp_path / "copy", "--data", tmp_path / "data")[0] == 0
        assert run("restore", "--create", tmp_path / "copy", "--data", tmp_path / "again")[0] == 0
    finally:
        os.umask(before)
    for name in ("data", "copy", "again"):
        for path in ("fallbook.sqlite", "photos", "certificates", "certificates/authority.key"):
            assert (tmp_path / name / path).stat().st_mode & 0o077 == 0, f"{name}/{path}"


@pytest.mark.parametrize(
    ("change", "printed"),
    [
        (
            "UPDATE entry SET body = '{}' WHERE writer = 'writer-aaaa' AND number = 7",
            "writer-aaaa:7: differs",
        ),
        ("DELETE FROM entry WHERE writer = 'writer-aaaa' AND number = 7", "writer-aaaa:7: is missing"),
        ("DELETE FROM photo", f"photo {NAME}: is missing"),
    ],
)
def test_the_proof_names_each_record_that_is_not_the_same(tmp_path, job_id, change, printed):
    one = filled(tmp_path / "data", job_id)
    one.close()
    run("backup", tmp_path / "copy", "--data", tmp_path / "data")
    copy = Server(tmp_path / "copy")
    with copy.app.app_context(), writing() as connection:
        connection.execute(text(change))
    one = Server(tmp_path / "data")
    try:
        with one.app.app_context(), snapshot(db.engine) as rows, copy.app.app_context():
            with snapshot(db.engine) as held:
                found = differences(rows, held)
    finally:
        one.close()
        copy.close()
    assert any(printed in line for line in found), found


def test_the_move_to_postgresql_and_s3_keeps_every_record_and_goes_on(
    tmp_path, job_id, postgres, bucket, s3_endpoint, monkeypatch
):
    monkeypatch.setenv("FALLBOOK_S3_ENDPOINT", s3_endpoint)
    one = filled(tmp_path / "data", job_id)
    rows, job = one.all_rows(), job_of(one, job_id)
    one.close()
    assert (
        run("invite", "--url", "https://office.example", "--data", tmp_path / "data")[0] == 0
    )  # the audit log counts by itself
    jobs = run("jobs", "--json", "--data", tmp_path / "data")
    assert jobs[0] == 0 and job_id in jobs[1]
    url = postgres.fresh()
    code, printed = run("migrate", "--to-database", url, "--to-photos", bucket, "--data", tmp_path / "data")
    assert code == 0 and "Everything is there" in printed, printed
    code, printed = run("migrate", "--to-database", url, "--data", tmp_path / "data")
    assert code == 2 and "[target_not_empty]" in printed
    (tmp_path / "beside").mkdir()
    with monkeypatch.context() as there:
        there.setenv("DATABASE_URL", url)
        assert run("jobs", "--json", "--data", tmp_path / "beside") == jobs, "the same list from PostgreSQL"
    settings = {"DATABASE_URL": url, "PHOTOS_URL": bucket, "S3_ENDPOINT": s3_endpoint}
    two = Server(tmp_path / "elsewhere", **settings)
    try:
        assert two.all_rows() == rows and job_of(two, job_id) == job
        assert two.client.get(f"/media/photos/{NAME}").data == PHOTO
        assert two.fates(entries(job_id, "writer-aaaa", 40, 41)) == [
            ["writer-aaaa:40", "set_aside", "identity_taken", two_reasons()],
            ["writer-aaaa:41", "kept"],
        ]
    finally:
        two.close()
    monkeypatch.setenv("DATABASE_URL", url)
    monkeypatch.setenv("FALLBOOK_PHOTOS", bucket)
    assert run("invite", "--url", "https://office.example", "--data", tmp_path / "elsewhere")[0] == 0, (
        "its audit log goes on counting"
    )
    code, printed = run("check-data", "--data", tmp_path / "elsewhere")
    assert code == 0 and "1 photo" in printed
    code, printed = run("backup", tmp_path / "back", "--data", tmp_path / "elsewhere")
    assert code == 0, printed
    monkeypatch.delenv("DATABASE_URL")
    monkeypatch.delenv("FALLBOOK_PHOTOS")
    assert run("check-data", "--data", tmp_path / "back")[0] == 0, (
        "from PostgreSQL and S3 into a plain folder"
    )


def two_reasons():
    return {"entry": ["Another entry is already stored under this identity. This one was stored separately."]}

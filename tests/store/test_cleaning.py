"""What is cleared away by age: only what is old, what nobody needs, and with a line of the audit log."""

import hashlib
import json
import os
import time
from dataclasses import replace
from datetime import timedelta

import pytest
from click.testing import CliRunner
from grown import bucket, postgres, s3_endpoint, server
from servers import Server, entries, entry, erase
from sqlalchemy import text

from webapp import timesource
from webapp.cli import main
from webapp.config import KeepDays
from webapp.store import age_rows
from webapp.store.engine import reading, writing
from webapp.timesource import new_id
from webapp.upkeep import cleaning
from webapp.web.state import state_of

__all__ = ["bucket", "postgres", "s3_endpoint", "server"]
KEEP = KeepDays(uploads=90, invitations=90, packs=7, audit=365)
REAL_NOW = timesource.now_utc


@pytest.fixture
def pass_days(monkeypatch):
    """Let days go by: ``pass_days(3)``."""
    gone = [0.0]

    def go_on(days):
        gone[0] += days
        monkeypatch.setattr(timesource, "now_utc", lambda: REAL_NOW() + timedelta(days=gone[0]))

    return go_on


def ground(server, keep=KEEP):
    state = state_of(server.app)
    return cleaning.Ground(state.folder, state.photos, keep)


def clean(server, keep=KEEP):
    """Clean as the command does on a folder that was never looked at, so that days may jump."""
    (server.folder / cleaning.FILE).unlink(missing_ok=True)
    with server.app.app_context():
        return cleaning.clean(ground(server, keep)).counts()


def half(server, data, first=1):
    sha256 = hashlib.sha256(data).hexdigest()
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(data)), "Content-Type": "image/jpeg"}
    assert server.client.put(f"/api/photos/{sha256}", data=data[:-first], headers=headers).status_code == 200
    return sha256


def gathered(server, sha256):
    return state_of(server.app).photos.place.part_size(sha256)


def lines(server, action=None):
    with server.app.app_context(), reading() as connection:
        rows = connection.execute(text("SELECT action, detail FROM audit ORDER BY id")).all()
    return [json.loads(detail) for found, detail in rows if action in (None, found)]


def photo(job_id, sha256, writer="writer-foto", size=40):
    return entry(
        job_id, writer, 1, "photo", {"sha256": sha256, "size_bytes": size, "media_type": "image/jpeg"}
    )


def test_an_upload_goes_when_it_is_old_and_no_record_waits_for_it(server, job_id, pass_days):
    nobody, wanted = half(server, b"a" * 40), half(server, b"b" * 40)
    aside, held, hidden = (half(server, letter * 40) for letter in (b"c", b"d", b"e"))
    server.fates([photo(job_id, wanted), photo(job_id, aside, "writer-side", size="many")])
    server.fates([entry(job_id, "writer-held", 1, "remark", {"text": "first"})])
    server.fates([photo(job_id, held, "writer-held"), photo(job_id, hidden, "writer-gone")])
    erase(server, job_id, "writer", "writer-gone")
    pass_days(89)
    assert clean(server)["uploads"] == 0
    pass_days(2)
    assert clean(server)["uploads"] == 1 and clean(server)["uploads"] == 0
    assert [gathered(server, one) for one in (nobody, wanted, aside, held, hidden)] == [0, 39, 39, 39, 39]
    assert lines(server, "cleaned") == [{"uploads": 1}]


def test_an_upload_that_goes_on_is_in_use_and_begins_anew_once_it_is_gone(server, pass_days):
    data = b"a" * 40
    sha256 = half(server, data)
    pass_days(100)
    with server.app.app_context():
        assert not state_of(server.app).photos.drop_half(sha256, REAL_NOW().timestamp() - 60)
    assert gathered(server, sha256) == 39
    clean(server)
    headers = {"Upload-Offset": "39", "Upload-Length": "40", "Content-Type": "image/jpeg"}
    answer = server.client.put(f"/api/photos/{sha256}", data=b"a", headers=headers)
    assert answer.json["errors"][0]["code"] == "photo_offset_mismatch" and answer.json["offset"] == 0
    headers["Upload-Offset"] = "0"
    assert server.client.put(f"/api/photos/{sha256}", data=data, headers=headers).json["complete"]


def test_invitations_that_are_over_go_and_no_other(server, pass_days):
    now = REAL_NOW()
    columns = "code_sha256, name, role, made_at, expires_at, used_at"
    moments = {
        "used long ago": (-100, -99),
        "used of late": (-100, -80),
        "expired long ago": (-95, None),
        "expired of late": (-85, None),
        "still good": (300, None),
    }
    with server.app.app_context(), writing() as connection:
        for name, (expires, used) in moments.items():
            at = [(now + timedelta(days=d)).isoformat(timespec="milliseconds") if d else None
                  for d in (-120, expires, used)]  # fmt: skip
            values = dict(zip("abcdef", [name, name, "surveyor", *at], strict=True))
            connection.execute(
                text(f"INSERT INTO invitation ({columns}) VALUES (:a, :b, :c, :d, :e, :f)"), values
            )
    assert clean(server) == {"uploads": 0, "invitations": 2, "packs": 0, "audit": 0}
    with server.app.app_context(), reading() as connection:
        left = set(connection.execute(text("SELECT name FROM invitation")).scalars())
    assert left == {"used of late", "expired of late", "still good"}


def test_lines_of_the_log_stay_as_long_as_the_firm_says_and_those_of_an_erasure_until_its_day(
    server, job_id, pass_days
):
    server.fates(entries(job_id, "writer-aaaa", 1, 3))
    act = erase(server, job_id, "entry", "writer-aaaa:2", days=400)
    before = len(lines(server))
    pass_days(364)
    assert clean(server)["audit"] == 0
    pass_days(2)
    assert clean(server, replace(KEEP, audit=0))["audit"] == 0, "for good, unless the firm says otherwise"
    assert clean(server)["audit"] == before - 1
    assert [line["erasure"] for line in lines(server, "erased")] == [act["id"]]
    server.client.post(f"/api/erasures/{act['id']}/undo", json={})
    assert clean(server)["audit"] == 1
    assert [name for name in lines(server) if "audit" in name] == [{"audit": before - 1}, {"audit": 1}]


def test_a_log_of_many_lines_goes_in_pieces_that_are_each_written_down(
    server, job_id, pass_days, monkeypatch
):
    monkeypatch.setattr(age_rows, "LINES_AT_ONCE", 3)
    for n in range(1, 6):
        server.fates(entries(job_id, "writer-aaaa", n, n))
    pass_days(400)
    with server.app.app_context():
        first, second = cleaning.clean(ground(server)), cleaning.clean(ground(server))
    assert (first.more, second.more) == (True, False)
    assert lines(server) == [{"audit": 3}, {"audit": 2}]


def a_pack(server, name, days, fetched=None):
    path = server.folder / "packs" / f"{name}.zip"
    for one, ago in ((path, days), (path.with_suffix(".used"), fetched)):
        if ago is not None:
            one.write_bytes(b"a pack")
            os.utime(one, (REAL_NOW().timestamp(), REAL_NOW().timestamp() - ago * 86_400))
    return path


def test_packs_go_unless_they_are_made_or_fetched_of_late(server):
    old, fetched, new = a_pack(server, "old", 9), a_pack(server, "fetched", 9, 1), a_pack(server, "new", 6)
    being_made = server.folder / "packs" / "half.part"
    being_made.write_bytes(b"half")
    os.utime(being_made, (0, 0))
    assert clean(server)["packs"] == 1 and not old.exists()
    assert fetched.exists() and new.exists() and being_made.exists()


def test_a_pack_that_is_fetched_is_in_use_and_goes_on_under_its_name(tmp_path, job_id, pass_days):
    server = Server(tmp_path / "data")
    server.fates([entry(job_id, "writer-head", 1, "job", {"title": "Brook culvert"})])
    pack = server.client.post(f"/api/jobs/{job_id}/packs", json={}).json["pack_id"]
    end_s = time.monotonic() + 60
    while server.client.get(f"/api/packs/{pack}").json["state"] != "done":
        assert time.monotonic() < end_s
        time.sleep(0.05)
    first = server.client.get(f"/api/packs/{pack}/file")
    pass_days(6)
    again = server.client.get(
        f"/api/packs/{pack}/file", headers={"Range": "bytes=100-", "If-Range": first.headers["ETag"]}
    )
    assert again.status_code == 206 and first.data[100:] == again.data
    pass_days(6)
    assert clean(server)["packs"] == 0
    pass_days(2)
    assert clean(server)["packs"] == 1
    assert server.client.get(f"/api/packs/{pack}/file").status_code == 404
    server.close()


def test_a_server_cleans_once_a_day_and_one_start_with_a_wrong_clock_takes_nothing(server, job_id, pass_days):
    server.fates(entries(job_id, "writer-aaaa", 1, 3))
    held = len(lines(server))
    with server.app.app_context():
        assert cleaning.on_its_day(ground(server)) is None, "the first look"
        pass_days(4000)
        assert cleaning.on_its_day(ground(server)).counts()["audit"] == 0
        assert cleaning.on_its_day(ground(server)) is None, "not again on the same day"
        pass_days(-4000)
        assert cleaning.on_its_day(ground(server)).counts()["audit"] == 0 and len(lines(server)) == held
        for _ in range(60):
            pass_days(7)
            cleaning.on_its_day(ground(server))
    assert lines(server) == [{"audit": held}]


def test_the_command_and_the_office_say_it(tmp_path, job_id, monkeypatch):
    server = Server(tmp_path / "data", KEEP_AUDIT_DAYS="365")
    nobody = half(server, b"a" * 40)
    wanted = half(server, b"b" * 40)
    server.fates([photo(job_id, wanted)])
    said = server.client.get("/office").text
    server.close()
    assert "broke off (after 90 days)" in said and "lines of the audit log (after 365 days)" in said
    for sha256 in (nobody, wanted):
        path = tmp_path / "data" / "photos" / sha256[:2] / f"{sha256}.part"
        os.utime(path, (0, 0))
    run = CliRunner().invoke
    shown = run(main, ["clean", "--preview", "--data", str(tmp_path / "data")])
    assert shown.exit_code == 0 and "Would be cleared away: 1 upload that broke off." in shown.stdout
    done = run(main, ["clean", "--json", "--data", str(tmp_path / "data")])
    found = json.loads(done.stdout)
    assert (found["uploads"], found["waiting"]) == (1, 1)
    again = run(main, ["clean", "--data", str(tmp_path / "data")])
    assert "Nothing is old enough" in again.stdout and "1 old upload stays" in again.stdout


def test_where_something_cannot_be_read_nothing_goes(server, monkeypatch):
    nobody = half(server, b"a" * 40)
    monkeypatch.setattr(timesource, "now_utc", lambda: REAL_NOW() + timedelta(days=100))
    with server.app.app_context(), writing() as connection:
        connection.execute(text("DROP TABLE erased_entry"))
    with pytest.raises(Exception, match="erased_entry"):
        clean(server)
    assert gathered(server, nobody) == 39


def test_what_is_not_ours_among_the_photos_is_left_and_stops_nothing(tmp_path, pass_days):
    server = Server(tmp_path / "data")
    nobody = half(server, b"a" * 40)
    stray = server.folder / "photos" / nobody[:2] / f"{'Z' * 64}.part"
    stray.write_bytes(b"somebody's own")
    pass_days(100)
    assert clean(server)["uploads"] == 1 and stray.exists() and gathered(server, nobody) == 0
    server.close()


def test_ids_are_never_used_twice(server, job_id, pass_days):
    """The line on the cleaning is written while the last old one is still counted."""
    server.fates(entries(job_id, "writer-aaaa", 1, 1))
    pass_days(400)
    clean(server)
    server.fates(entries(new_id(), "writer-aaaa", 1, 1))
    with server.app.app_context(), reading() as connection:
        ids = list(connection.execute(text("SELECT id FROM audit ORDER BY id")).scalars())
    assert ids == [2, 3]

"""Jobs, taking them in, and packs of them."""

import errno
import hashlib
import io
import json
import re
import time
import zipfile

import pytest
from picture_files import saved
from servers import Server, entries, entry, erase, error_of
from sqlalchemy import text

from webapp import job_pack, paths
from webapp.errors import AppError
from webapp.intake.open_job import open_job
from webapp.records import job_file
from webapp.records.vectors import digest
from webapp.store.engine import writing
from webapp.timesource import new_id
from webapp.web.state import state_of

A = "writer-aaaa"
SAMPLES = sorted(p.parent for p in paths.SAMPLE_JOBS.glob("*/job.json"))


def zipped(files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def sample_zip(folder):
    files = {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    return zipped({n: d for n, d in files.items() if n == "job.json" or n.startswith("photos/")})


def test_the_proof_of_a_job_is_the_digest_of_the_vector_that_was_read(server, job_id):
    server.sync([*entries(job_id, A, 1, 2), entry(job_id, "writer-bbbb", 1)])
    answer = server.client.get(f"/api/jobs/{job_id}/proof")
    assert answer.json == {"ok": True, "entries": 3, "digest": digest({A: 2, "writer-bbbb": 1})}
    for other in ("zz", "01a1a070-0000-7000-8000-00000000ffff"):
        assert error_of(server.client.get(f"/api/jobs/{other}/proof"))["code"] == "job_not_found"


def take(server, data, content_type="application/zip"):
    return server.client.post("/api/import", data=data, content_type=content_type)


def test_jobs_are_listed_by_title(server, job_id):
    assert server.client.get("/api/jobs").json == {"ok": True, "jobs": []}
    server.fates([entry(job_id, A, 1, "job", {"title": "Weir"})])
    (one,) = server.client.get("/api/jobs").json["jobs"]
    assert (one["job_id"], one["title"], one["site"], one["removed"]) == (job_id, "Weir", "", False)
    assert one["last_received_at"].endswith("+00:00")


def test_a_job_whose_newest_entry_is_damaged_says_so_in_the_list(server, job_id):
    """Before the look in the background has come to it."""
    server.fates([entry(job_id, A, 1, "job", {"title": "Weir"}), *entries(job_id, A, 2, 3)])
    other = new_id()
    server.fates([entry(other, A, 1, "job", {"title": "Sluice"})])
    with server.app.app_context(), writing() as connection:
        connection.execute(text("UPDATE entry SET body = replace(body, '12.3', '12.4') WHERE number = 3"))
    sluice, weir = server.client.get("/api/jobs").json["jobs"]
    assert (
        weir["damaged"] and weir["title"] == "Weir" and weir["last_received_at"] and "damaged" not in sluice
    )
    row = re.search(rf'(?s)href="/office/jobs/{job_id}".*?</a>', server.client.get("/office").text)[0]
    assert ">damaged<" in row and server.client.get("/office").text.count(">damaged<") == 1


def test_a_job_file_holds_entries_and_what_they_fold_to(server, job_id):
    bad = entry(job_id, A, 4, fields={"nonsense": 1})
    sent = [entry(job_id, A, 1, "job", {"title": "Weir"}), *entries(job_id, A, 2, 3), bad]
    server.fates(sent)
    found = server.client.get(f"/api/jobs/{job_id}").json
    assert found["entries"] == sent and len(found["records"]) == 3
    assert list(found["aside"]) == [f"{A}:4"]
    assert job_file.check(found).entries == sent


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda p: p.name)
def test_a_sample_goes_in_and_comes_out_the_same_on_an_empty_server(server, tmp_path, folder):
    answer = take(server, sample_zip(folder))
    assert answer.status_code == 200, answer.text
    job = job_file.read((folder / "job.json").read_bytes())
    assert answer.json["kept"] == len(job.entries) and answer.json["photos"] == len(job.photos) > 0
    before = server.all_rows()
    again = take(server, sample_zip(folder)).json
    assert (again["kept"], again["kept_already"], again["photos"]) == (0, len(job.entries), 0)
    assert server.all_rows() == before

    whole = server.client.get(f"/api/jobs/{job.job_id}").data
    assert job_file.read(whole).records == job.records
    other = Server(tmp_path / "other")
    try:
        assert take(other, whole, "application/json").status_code == 200
        assert other.client.get(f"/api/jobs/{job.job_id}").json["records"] == json.loads(whole)["records"]
    finally:
        other.close()
    for photo in job.photos:
        got = server.client.get(f"/media/photos/{photo['sha256']}").data
        assert hashlib.sha256(got).hexdigest() == photo["sha256"]


def test_what_was_set_aside_elsewhere_is_set_aside_here(server, job_id):
    sent = [entry(job_id, A, 1), entry(job_id, A, 2, fields={"nonsense": 1})]
    why = {f"{A}:2": {"code": "entry_refused", "reasons": {"nonsense": ["No."]}}}
    assert (
        take(server, job_file.dumps(job_file.build(job_id, sent, why, [])), "application/json").json[
            "set_aside"
        ]
        == 1
    )
    assert server.client.get(f"/api/jobs/{job_id}").json["aside"] == why


NEWER = json.dumps(
    {"format": "fallbook-job", "version": 2, "job_id": "x", "records": [], "future": 1}
).encode()


@pytest.mark.parametrize(
    ("data", "status", "code"),
    [
        (b"", 422, "file_kind"),
        (b"hello", 422, "file_kind"),
        (b"{}", 422, "job_file_kind"),
        (NEWER, 422, "job_file_newer"),
        (b'{"format": "fallbook-job", "version": 1, "job_id": "x"}', 422, "job_file_invalid"),
        (b"PK\x03\x04 torn", 422, "zip_damaged"),
        ({"../job.json": "{}"}, 422, "zip_unsafe_name"),
        ({"job.json": "{}", "photos/../../x": "y"}, 422, "zip_unsafe_name"),
        ({"/job.json": "{}"}, 422, "zip_unsafe_name"),
        ({"C:job.json": "{}"}, 422, "zip_unsafe_name"),
        ({"other.json": "{}"}, 422, "job_file_kind"),
        ({"job.json": "[1"}, 422, "file_not_json"),
        ({"job.json": NEWER}, 422, "job_file_newer"),
        ({"job.json": b" " * 90_000_000}, 422, "zip_too_large"),
    ],
    ids=lambda v: (
        f"{len(v)}-bytes" if isinstance(v, bytes) else "+".join(v) if isinstance(v, dict) else str(v)
    ),
)
def test_a_file_that_cannot_be_taken_changes_nothing(server, job_id, data, status, code):
    server.fates(entries(job_id, A, 1, 2))
    before = server.all_rows()
    answer = take(server, zipped(data) if isinstance(data, dict) else data)
    assert (answer.status_code, error_of(answer)["code"]) == (status, code)
    assert server.all_rows() == before
    assert list(server.folder.glob("incoming-*")) == []


def test_a_pack_that_is_not_whole_is_not_taken(server):
    folder, out = SAMPLES[0], io.BytesIO()
    with open_job(folder) as (job, photo_bytes):
        job_pack.build(job_file.build(job.job_id, job.entries, job.aside, job.photos), photo_bytes, out)
    with zipfile.ZipFile(out) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    files["readings.csv"] += b"1"
    answer = take(server, zipped(files))
    assert (answer.status_code, error_of(answer)["code"]) == (422, "pack_mismatch")
    assert server.all_rows()["entry"] == []
    whole = take(server, out.getvalue()).json
    assert (whole["photos_missing"], whole["kept"]) == (0, len(job.entries))


def test_photos_that_did_not_come_along_are_counted(server):
    whole = take(server, (SAMPLES[0] / "job.json").read_bytes(), "application/json").json
    assert whole["photos"] == 0 and whole["photos_missing"] > 0


def test_a_photo_whose_bytes_are_wrong_stops_the_whole_import(server):
    folder = SAMPLES[0]
    files = {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*.jpg")}
    name = sorted(files)[0]
    files[name] = b"not the picture"
    answer = take(server, zipped({"job.json": (folder / "job.json").read_bytes(), **files}))
    assert (answer.status_code, error_of(answer)["code"]) == (422, "photo_hash_mismatch")
    assert server.all_rows()["entry"] == []


def test_a_form_of_another_site_cannot_import(server):
    answer = take(server, b"{}", "multipart/form-data; boundary=x")
    assert (answer.status_code, error_of(answer)["code"]) == (415, "media_type")
    refused = server.client.post(
        "/api/import", data=b"{}", content_type="application/json", headers={"Origin": "http://else.example"}
    )
    assert error_of(refused)["code"] == "cross_site"


# packs


def wait(server, pack_id):
    end = time.monotonic() + 20
    while time.monotonic() < end:
        found = server.client.get(f"/api/packs/{pack_id}").json
        if found["state"] in ("done", "failed"):
            return found
        time.sleep(0.02)
    raise AssertionError(found)


def ask_for_pack(server, job_id):
    answer = server.client.post(f"/api/jobs/{job_id}/packs", json={})
    assert answer.status_code == 202 and answer.json["state"] in ("waiting", "making", "done", "failed")
    assert answer.headers["Location"] == f"/api/packs/{answer.json['pack_id']}"
    return answer.json["pack_id"]


def test_a_pack_is_made_watched_and_fetched(server, job_id):
    server.fates(entries(job_id, A, 1, 2))
    pack_id = ask_for_pack(server, job_id)
    found = wait(server, pack_id)
    assert (found["state"], found["step"]) == ("done", "Ready") and found["done"] == found["total"] > 5
    got = server.client.get(f"/api/packs/{pack_id}/file")
    with zipfile.ZipFile(io.BytesIO(got.data)) as pack:
        assert json.loads(pack.read("manifest.json"))["job_id"] == job_id
    assert got.headers["Cache-Control"] == "private"
    assert got.headers["Content-Disposition"] == f"attachment; filename=fallbook-{job_id}.zip"


@pytest.mark.parametrize(
    ("fault", "code"),
    [
        (AppError("report_failed", "No glyph."), "report_failed"),
        (ValueError("x"), "report_failed"),
        (OSError(errno.ENOSPC, "full"), "pack_disk_full"),
    ],
)
def test_a_pack_that_fails_says_so(server, job_id, monkeypatch, fault, code):
    def make(task, source, budget):
        task.part.write_bytes(b"half")
        (task.folder / "scratch").write_bytes(b"half")
        raise fault

    monkeypatch.setattr("webapp.web.pack_process.make", make)
    server.fates(entries(job_id, A, 1, 2))
    pack_id = ask_for_pack(server, job_id)
    found = wait(server, pack_id)
    assert (found["state"], found["code"]) == ("failed", code) and found["message"]
    assert error_of(server.client.get(f"/api/packs/{pack_id}/file"))["code"] == "pack_not_found"
    assert list((server.folder / "packs").iterdir()) == []


def test_a_pack_has_the_photos_wherever_they_are_stored(server, job_id, monkeypatch):
    data = saved("JPEG")
    sha256 = hashlib.sha256(data).hexdigest()
    fields = {"sha256": sha256, "size_bytes": len(data), "media_type": "image/jpeg"}
    server.fates([*entries(job_id, A, 1, 2), entry(job_id, A, 3, kind="photo", fields=fields)])
    with server.app.app_context():
        state_of(server.app).photos.keep_whole(sha256, data, "image/jpeg")
    packs = []
    for has_files in (True, False):
        if not has_files:  # as a store elsewhere
            place = state_of(server.app).photos.place
            monkeypatch.setattr(state_of(server.app).photos, "place", Elsewhere(place))
        pack_id = ask_for_pack(server, job_id)
        assert wait(server, pack_id)["state"] == "done"
        packs.append(server.client.get(f"/api/packs/{pack_id}/file").data)
    with zipfile.ZipFile(io.BytesIO(packs[0])) as pack:
        assert pack.read(f"photos/{sha256}.jpg") == data
    assert packs[0] == packs[1]


class Elsewhere:
    """A store of photos that has no files of its own."""

    trusted = True

    def __init__(self, place):
        self._place = place

    def path(self, sha256):
        return None

    def open(self, sha256):
        return self._place.open(sha256)


def test_no_pack_of_no_job(server, job_id):
    answer = server.client.post(f"/api/jobs/{job_id}/packs", json={})
    assert (answer.status_code, error_of(answer)["code"]) == (404, "job_not_found")


def test_a_pack_is_asked_for_in_json(server, job_id):
    assert error_of(server.client.post(f"/api/jobs/{job_id}/packs"))["code"] == "media_type"


def test_a_job_file_that_differs_from_the_job_here_is_refused_whole(server, job_id):
    """One old entry that differs, many new ones, a photo: nothing is taken, nothing changes (D54)."""
    server.fates([entry(job_id, A, 1, "job", {"title": "Weir"}), *entries(job_id, A, 2, 3)])
    same = server.client.get(f"/api/jobs/{job_id}").data
    sent = json.loads(same)["entries"] + entries(job_id, "writer-bbbb", 1, 5)
    sent[0]["fields"]["title"] = "Sluice"
    differing = json.dumps(job_file.build(job_id, sent, {}, [])).encode()
    before = server.all_rows()
    refused = take(server, differing, "application/json")
    assert refused.status_code == 409 and error_of(refused)["code"] == "job_file_differs"
    assert f"1 entry differs: {A}:1." in error_of(refused)["message"] and server.all_rows() == before
    assert take(server, same, "application/json").json["kept_already"] == 3
    taken = take(server, zipped({"job.json": differing})).json
    assert (taken["kept"], taken["set_aside"]) == (5, 1), "what comes from a phone is kept beside"
    assert len(server.all_rows()["clash"]) == 1


def test_a_job_file_of_before_an_erasure_or_with_more_is_taken(server, job_id):
    server.fates([entry(job_id, A, 1, "job", {"title": "Weir"}), *entries(job_id, A, 2, 3)])
    sent = server.client.get(f"/api/jobs/{job_id}").json["entries"] + entries(job_id, A, 4, 5)
    erase(server, job_id, "entry", f"{A}:2")
    more = json.dumps(job_file.build(job_id, sent, {}, [])).encode()
    taken = take(server, more, "application/json").json
    assert (taken["kept"], taken["kept_already"], taken["set_aside"]) == (2, 2, 1)

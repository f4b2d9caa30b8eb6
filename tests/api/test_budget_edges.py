"""Every budget is tried one below, at and one above: here, or where the last test says."""

import dataclasses
import gzip
import hashlib
import io
import json
import zipfile
from pathlib import Path

import pytest
from servers import Server, entries, entry, error_of

from webapp import config
from webapp.api import bodies, upload_parts
from webapp.budgets import BUDGETS, Budgets
from webapp.errors import AppError
from webapp.intake import open_job, read_pack
from webapp.records import canonical, job_file, json_size, json_text
from webapp.sync import exchange, pulling
from webapp.timesource import new_id

A = "writer-aaaa"
JSON = {"Content-Type": "application/json"}
HERE = Path(__file__).resolve().parent
ELSEWHERE = {  # budget to the test that tries it
    "entry_bytes": "test_budgets.py::test_bytes_of_an_entry",
    "entry_fields": "test_budgets.py::test_fields_values_and_depth_of_an_entry",
    "entry_values": "test_budgets.py::test_fields_values_and_depth_of_an_entry",
    "entry_depth": "test_budgets.py::test_fields_values_and_depth_of_an_entry",
    "rejected_a_writer": "test_budgets.py::test_of_rejected_entries_a_writer_may_have_so_many",
    "rejected_a_job": "test_budgets.py::test_of_rejected_entries_a_job_may_have_so_many",
    "held_back_an_entry": "test_budgets.py::test_what_is_held_back_fills_nothing",
    "held_back_a_job": "test_budgets.py::test_what_is_held_back_fills_nothing",
    "jobs_a_request": "test_budgets.py::test_jobs_and_writers_of_a_request",
    "writers_a_request": "test_budgets.py::test_jobs_and_writers_of_a_request",
    "request_values": "test_budgets.py::test_values_of_a_request",
    "photos_a_job": "test_budgets.py::test_photos_of_a_job",
    "zip_members": "../store/test_zip_budget.py::test_members_one_below_at_and_above",
    "zip_bytes": "../store/test_zip_budget.py::test_bytes_one_below_at_and_above",
}


@pytest.fixture(scope="module", params=["embedded", "grown"])
def server(request, tmp_path_factory):
    """A server on SQLite, and one on PostgreSQL: what is counted in the database is counted by both."""
    grown = request.param == "grown"
    settings = {"DATABASE_URL": request.getfixturevalue("postgres").migrated()} if grown else {}
    one = Server(tmp_path_factory.mktemp("edges") / "data", **settings)
    yield one
    one.close()


@pytest.fixture
def change(monkeypatch):
    """Set a number wherever it stands as one of the table's: ``change(module, json_depth=5)``."""

    def set_to(module, **numbers):
        monkeypatch.setattr(module, "BUDGETS", dataclasses.replace(BUDGETS, **numbers))

    return set_to


def request_of(size):
    """Return a sound sync request of so many bytes."""
    text = b'{"protocol": 1, "device_id": "x"}'
    return text + b" " * (size - len(text))


def entries_a_request(server, over, patch, _change):
    patch.setattr(exchange, "MAX_ENTRIES", 5)
    return server.sync(entries(new_id(), A, 1, 5 + over), pull=0)


def request_bytes(server, over, patch, _change):
    patch.setattr(config, "SYNC_BYTES", 500)
    return server.client.post("/api/sync", data=request_of(500 + over), headers=JSON)


def request_unpacked_bytes(server, over, patch, _change):
    patch.setattr(config, "SYNC_UNPACKED_BYTES", 500)
    packed = gzip.compress(request_of(500 + over))
    return server.client.post("/api/sync", data=packed, headers=JSON | {"Content-Encoding": "gzip"})


def inflate_ratio(server, over, patch, change):
    change(bodies, inflate_ratio=10)
    patch.setattr(bodies, "ANY_RATIO_BYTES", 0)
    sizes = ((n, gzip.compress(request_of(n), mtime=0)) for n in range(100, 2000))
    packed = next(data for n, data in sizes if n == 10 * len(data) + over)
    return server.client.post("/api/sync", data=packed, headers=JSON | {"Content-Encoding": "gzip"})


def json_depth(server, over, _patch, change):
    change(bodies, json_depth=20)
    deep = 18 + over  # in the object, in "entries"
    text = '{"protocol": 1, "device_id": "x", "more": ' + "[" * (deep + 1) + "]" * (deep + 1) + "}"
    return server.client.post("/api/sync", data=text, headers=JSON)


def other_request_bytes(server, over, _patch, _change):
    text = json.dumps({"code": "x" * 43}).encode()
    data = text + b" " * (BUDGETS.other_request_bytes + over - len(text))
    return server.client.post("/api/join/look", data=data, headers=JSON)


def photo_bytes(server, over, _patch, _change):
    return piece(server, new_id().encode(), BUDGETS.photo_bytes + over)


def photo_piece_bytes(server, over, patch, _change):
    patch.setattr(config, "PHOTO_PIECE_BYTES", 100)
    return piece(server, (new_id().encode() * 4)[: 100 + over], 1000)


def piece(server, data, total):
    headers = {"Upload-Offset": "0", "Upload-Length": str(total), "Content-Type": "image/jpeg"}
    return server.client.put(f"/api/photos/{hashlib.sha256(data).hexdigest()}", data=data, headers=headers)


def photos_a_request(server, over, patch, _change):
    patch.setattr(upload_parts, "MAX_TOGETHER", 3)
    photos = [new_id().encode() for _ in range(3 + over)]
    parts = ", ".join(
        f'"{hashlib.sha256(data).hexdigest()}";length={len(data)};type="image/jpeg"' for data in photos
    )
    headers = {"Upload-Parts": parts, "Content-Type": "application/octet-stream"}
    return server.client.put("/api/photos", data=b"".join(photos), headers=headers)


def a_job_file():
    job_id = new_id()
    made = [entry(job_id, A, 1, kind="job", fields={"title": "T"}), *entries(job_id, A, 2, 3)]
    return job_file.dumps(job_file.build(job_id, made, {}, []))


def zipped(**files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in files.items():
            archive.writestr(f"{name}.json", data)
    return out.getvalue()


def taken(server, data):
    return server.client.post("/api/import", data=data, content_type="application/octet-stream")


def import_bytes(server, over, patch, _change):
    data = a_job_file()
    patch.setattr(config, "IMPORT_BYTES", len(data) - over)
    return taken(server, data)


def job_file_bytes(server, over, patch, _change):
    data = a_job_file()
    patch.setattr(open_job, "MAX_JOB_FILE_BYTES", len(data) - over)
    alone, in_a_zip = taken(server, data), taken(server, zipped(job=data))
    assert alone.status_code == in_a_zip.status_code
    return alone


def job_file_values(server, over, _patch, change):
    data = a_job_file()
    change(json_text, job_file_values=json_size.json_size(data).values - over)
    return taken(server, data)


def phone_file_bytes(server, over, patch, _change):
    value = {"format": "fallbook-phone", "version": 1, "stores": {}, "part": 1, "parts": 1, "photos": []}
    value["stores"] = {"entries": [[0, entry(new_id(), A, 1)]]}
    data = json.dumps(value).encode()
    patch.setattr(open_job, "MAX_PHONE_FILE_BYTES", len(data) - over)
    return taken(server, zipped(phone=data))


OVER = {  # budget to the code of what is one above it
    entries_a_request: "too_many_entries",
    request_bytes: "body_too_large",
    request_unpacked_bytes: "body_too_large",
    inflate_ratio: "body_too_large",
    json_depth: "body_not_json",
    other_request_bytes: "body_too_large",
    photo_bytes: "photo_too_large",
    photo_piece_bytes: "body_too_large",
    photos_a_request: "request_malformed",
    import_bytes: "body_too_large",
    job_file_bytes: None,
    job_file_values: "file_unreadable",
    phone_file_bytes: None,
}


@pytest.mark.parametrize("over", [-1, 0, 1])
@pytest.mark.parametrize("asked", OVER, ids=lambda asked: asked.__name__)
def test_one_below_at_and_one_above(server, monkeypatch, change, asked, over):
    answer = asked(server, over, monkeypatch, change)
    if over <= 0:
        refused = [] if answer.status_code < 300 else [error_of(answer)["code"]]
        assert refused in ([], ["access_off"]), answer.json
    else:
        assert answer.status_code in (400, 413, 422), answer.json
        assert error_of(answer)["code"] == OVER[asked] or OVER[asked] is None
        assert error_of(answer)["message"].endswith(".")


@pytest.mark.parametrize(("over", "told"), [(-1, 2), (0, 2), (1, 3)])
def test_answer_bytes(server, monkeypatch, over, told):
    job_id = new_id()
    made = entries(job_id, A, 1, 5)
    server.fates(made)
    monkeypatch.setattr(pulling, "MAX_PULL_BYTES", 2 * len(canonical.dumps(made[0])) + over)
    found = server.pull(job_id)
    assert (len(found["entries"]), found["more"]) == (told, True)


@pytest.mark.parametrize("over", [-1, 0, 1])
def test_manifest_bytes(monkeypatch, tmp_path, over):
    data = zipped(manifest='{"format": "another"}')
    (tmp_path / "a.zip").write_bytes(data)
    monkeypatch.setattr(read_pack, "MAX_MANIFEST_BYTES", len('{"format": "another"}') - over)
    with pytest.raises(AppError) as caught:
        read_pack.prove(tmp_path / "a.zip")
    assert (caught.value.code == "pack_no_manifest") is (over <= 0)


def test_no_budget_is_left_out():
    here = {asked.__name__ for asked in OVER} | {"answer_bytes", "manifest_bytes"}
    assert here | ELSEWHERE.keys() == {one.name for one in dataclasses.fields(Budgets)}
    for where in ELSEWHERE.values():
        file, name = where.split("::")
        assert f"def {name}" in (HERE / file).read_text(encoding="utf-8"), where

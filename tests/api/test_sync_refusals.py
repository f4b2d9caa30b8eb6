"""What POST /api/sync refuses, and that nothing stored changes by it."""

import gzip
import json

import pytest
from servers import entries, entry, error_of

from webapp.sync.exchange import MAX_ENTRIES

A = "writer-aaaa"


def test_a_job_is_stored_only_with_the_whole_batch(server, job_id):
    bad = {**entry(job_id, A, 3), "number": 0}
    answer = server.sync([*entries(job_id, A, 1, 2), bad])
    one = error_of(answer)
    assert (answer.status_code, one["code"], one["index"], one["field"]) == (
        422,
        "entry_malformed",
        2,
        "entries",
    )
    assert server.all_rows()["entry"] == []


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ([], "request_malformed"),
        ({"device_id": "x"}, "protocol_unknown"),
        ({"protocol": 2, "device_id": "x"}, "protocol_unknown"),
        ({"protocol": True, "device_id": "x"}, "protocol_unknown"),
        ({"protocol": 1}, "request_malformed"),
        ({"protocol": 1, "device_id": "x" * 81}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "jobs": []}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "jobs": {"x": {"have": {}}}}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "jobs": {"JOB": {}}}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "jobs": {"JOB": {"have": {"short": 1}}}}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "jobs": {"JOB": {"have": {A: -1}}}}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "jobs": {"JOB": {"digest": "zz"}}}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "jobs": {"JOB": {"digest": 5}}}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "entries": {}}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "entries": [7]}, "entry_malformed"),
        ({"protocol": 1, "device_id": "x", "pull": MAX_ENTRIES + 1}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "pull": True}, "request_malformed"),
        ({"protocol": 1, "device_id": "x", "entries": [{}] * (MAX_ENTRIES + 1)}, "too_many_entries"),
    ],
    ids=lambda v: str(v)[:60],
)
def test_a_request_that_is_not_of_the_form(server, job_id, body, code):
    text = json.dumps(body).replace("JOB", job_id)
    answer = server.client.post("/api/sync", data=text, content_type="application/json")
    assert error_of(answer)["code"] == code


@pytest.mark.parametrize(
    ("data", "headers", "status", "code"),
    [
        (b"{", {}, 400, "body_not_json"),
        (b'{"a": NaN}', {}, 400, "body_not_json"),
        (b'{"a": -1e999}', {}, 400, "body_not_json"),
        (b"\xff\xfe{}", {}, 400, "body_not_json"),
        (b"[" * 100_000, {}, 400, "body_not_json"),
        (b"[" * 600 + b"]" * 600, {}, 422, "request_malformed"),
        (b"{}", {"Content-Encoding": "gzip"}, 400, "body_not_gzip"),
        (gzip.compress(b"{}", mtime=0)[:-4], {"Content-Encoding": "gzip"}, 400, "body_not_gzip"),
        (gzip.compress(b"{}", mtime=0) + b"more", {"Content-Encoding": "gzip"}, 400, "body_not_gzip"),
        (b"{}", {"Content-Encoding": "br"}, 415, "media_type"),
        (b"{}", {"Content-Type": "text/plain"}, 415, "media_type"),
        (b"{}", {"Origin": "http://elsewhere.example"}, 403, "cross_site"),
        (b"{}", {"Origin": "null"}, 403, "cross_site"),
        (b"{}", {"Sec-Fetch-Site": "cross-site"}, 403, "cross_site"),
        (b"{}", {"Host": "elsewhere.example"}, 400, "host_unknown"),
    ],
    ids=lambda v: str(v)[:40],
)
def test_a_body_that_cannot_be_taken(server, data, headers, status, code):
    answer = server.client.post(
        "/api/sync", data=data, headers={"Content-Type": "application/json", **headers}
    )
    assert (answer.status_code, error_of(answer)["code"]) == (status, code)


def test_a_refused_type_names_those_that_are_taken(server):
    other = {"Content-Type": "text/plain"}
    sync = error_of(server.client.post("/api/sync", data=b"{}", headers=other))["message"]
    assert sync == "The body is of a type that this address does not take. It may be application/json."
    taking = error_of(server.client.post("/api/import", data=b"{}", headers=other))["message"]
    assert taking.endswith("It may be application/json or application/zip or application/octet-stream.")


def test_own_origin_is_taken(server):
    body = {"protocol": 1, "device_id": "x"}
    answer = server.client.post("/api/sync", json=body, headers={"Origin": "http://localhost"})
    assert answer.status_code == 200


def test_50_megabytes_are_refused_and_change_nothing(server, job_id):
    server.fates(entries(job_id, A, 1, 1))
    before = server.all_rows()
    answer = server.client.post("/api/sync", data=b" " * 50_000_000, content_type="application/json")
    assert (answer.status_code, error_of(answer)["code"]) == (413, "body_too_large")
    assert server.all_rows() == before


def test_a_gzip_bomb_is_refused(server):
    bomb = gzip.compress(b" " * 200_000_000, 9)
    assert len(bomb) < 300_000
    headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
    answer = server.client.post("/api/sync", data=bomb, headers=headers)
    assert (answer.status_code, error_of(answer)["code"]) == (413, "body_too_large")


def test_an_entry_nested_past_all_sense_is_refused_not_a_crash(server, job_id):
    deep = "[" * 900 + "]" * 900
    text = json.dumps(
        {"protocol": 1, "device_id": "x", "entries": [entry(job_id, A, 1, fields={"x": "DEEP"})]}
    )
    answer = server.client.post(
        "/api/sync", data=text.replace('"DEEP"', deep), content_type="application/json"
    )
    assert answer.status_code in (200, 400)
    if answer.status_code == 400:
        assert error_of(answer)["code"] == "body_not_json"
    else:
        assert answer.json["fates"][0][1] == "set_aside"

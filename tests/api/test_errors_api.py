"""Every route by which an error can leave has the one shape under /api; pages get the shell."""

import errno

import psycopg
import pytest
from servers import error_of
from sqlalchemy.exc import IntegrityError, OperationalError

from webapp.api import sync as sync_api


@pytest.mark.parametrize(
    ("method", "path", "status", "code"),
    [
        ("get", "/api/nothing", 404, "not_found"),
        ("post", "/api/nothing", 404, "not_found"),
        ("get", "/api/sync", 405, "method_not_allowed"),
        ("delete", "/api/jobs", 405, "method_not_allowed"),
        ("get", "/media/nothing", 404, "not_found"),
        ("get", "/static/js/nothing.js", 404, "not_found"),
        ("get", "/tables/nothing.json", 404, "not_found"),
        ("get", "/static//css/base.css", 404, "not_found"),
        ("get", "/api//jobs", 404, "not_found"),
        ("get", "/api/jobs/zz", 404, "job_not_found"),
        ("get", "/api/jobs/019abcde-0000-7000-8000-000000000001", 404, "job_not_found"),
        ("get", "/office/jobs/019abcde-0000-7000-8000-000000000001", 404, "job_not_found"),
        ("get", "/api/packs/zz", 404, "pack_not_found"),
        ("get", "/api/packs/019abcde-0000-7000-8000-000000000001/file", 404, "pack_not_found"),
    ],
)
def test_lost_and_forbidden_ways(server, method, path, status, code):
    answer = getattr(server.client, method)(path)
    assert (answer.status_code, error_of(answer)["code"]) == (status, code)
    if status == 405:
        assert answer.headers["Allow"]


@pytest.mark.parametrize(
    ("fault", "status", "code"),
    [
        (ZeroDivisionError("x"), 500, "server_fault"),
        (OSError(errno.ENOSPC, "No space left on device"), 507, "disk_full"),
        (OSError(errno.EACCES, "denied"), 500, "server_fault"),
        (OperationalError("INSERT", {}, Exception("database or disk is full")), 507, "disk_full"),
        (OperationalError("INSERT", {}, Exception("database is locked")), 503, "busy"),
        (OperationalError("INSERT", {}, psycopg.errors.DiskFull("could not extend file")), 507, "disk_full"),
        (OperationalError("INSERT", {}, psycopg.errors.DeadlockDetected("two wait")), 503, "busy"),
        (OperationalError("INSERT", {}, psycopg.errors.AdminShutdown("ending")), 503, "busy"),
        (OperationalError("INSERT", {}, psycopg.OperationalError("connection refused")), 503, "busy"),
        (OperationalError("INSERT", {}, psycopg.errors.InvalidPassword("no")), 500, "server_fault"),
        (OperationalError("INSERT", {}, Exception("disk I/O error")), 500, "server_fault"),
        (IntegrityError("INSERT", {}, Exception("duplicate key")), 503, "busy"),
        (MemoryError(), 500, "server_fault"),
    ],
    ids=repr,
)
def test_a_crash_has_the_shape_and_tells_nothing(server, monkeypatch, fault, status, code):
    def crash(*_):
        raise fault

    monkeypatch.setattr(sync_api, "exchange", crash)
    answer = server.client.post("/api/sync", json={})
    one = error_of(answer)
    assert (answer.status_code, one["code"], answer.json["retry"]) == (status, code, True)
    assert "Traceback" not in answer.text and "INSERT" not in answer.text


@pytest.mark.parametrize("path", ["/", "/jobs/new", "/jobs/x/runs/y/readings/new", "/outbox", "/settings"])
def test_every_screen_is_answered_by_the_shell(server, path):
    answer = server.client.get(path)
    assert answer.status_code == 200 and b'<div id="app">' in answer.data
    assert answer.headers["Cache-Control"] == "no-cache"


def test_an_unknown_page_is_the_shell_with_404(server):
    answer = server.client.get("/wp-login.php")
    assert answer.status_code == 404 and b'<div id="app">' in answer.data


def test_a_page_cannot_be_posted_to(server):
    assert error_of(server.client.post("/jobs/new"))["code"] == "not_found"


def test_static_files_do_not_leave_their_folder(server):
    for path in ("/static/../pyproject.toml", "/static/%2e%2e/pyproject.toml", "/static/js/../../README.md"):
        assert server.client.get(path).status_code == 404

"""A real server is killed while a real pack is made: nothing of the pack is left running or lying about."""

import json
import os
import signal
import time
import urllib.request
from pathlib import Path

import growth_jobs
import psutil
import pytest

WITHIN_S = 60


def post(server, path, body):
    head = {"Content-Type": "application/json"}
    asked = urllib.request.Request(f"{server.url}{path}", json.dumps(body).encode(), head, method="POST")
    with urllib.request.urlopen(asked, timeout=WITHIN_S) as answer:
        return json.load(answer)


def state(server, pack_id):
    with urllib.request.urlopen(f"{server.url}/api/packs/{pack_id}", timeout=WITHIN_S) as answer:
        return json.load(answer)


def until(found, what):
    end_s = time.monotonic() + WITHIN_S
    while time.monotonic() < end_s:
        if value := found():
            return value
        time.sleep(0.05)
    raise AssertionError(what)


def makers():
    """The processes that make packs now."""
    found = []
    for one in psutil.process_iter():
        try:
            if "webapp.pack_maker" in one.cmdline() and one.status() != psutil.STATUS_ZOMBIE:
                found.append(one)
        except psutil.Error:
            pass
    return found


@pytest.fixture
def being_made(live_server):
    """A server, a pack that takes it long, and the process that makes it."""
    job = growth_jobs.job(1_500)
    post(live_server, "/api/import", job)
    before = {one.pid for one in makers()}
    pack = post(live_server, f"/api/jobs/{job['job_id']}/packs", {})
    folder = live_server.folder.resolve() / "packs" / f"{pack['pack_id']}.work"
    (maker,) = until(lambda: [m for m in makers() if m.pid not in before and cwd(m) == folder], "no process")
    until(lambda: state(live_server, pack["pack_id"])["step"] != "Reading the job", "it does not begin")
    return live_server, pack["pack_id"], maker, job["job_id"]


def cwd(process):
    try:
        return Path(process.cwd())
    except psutil.Error:
        return None


def gone(process):
    return not process.is_running() or process.status() == psutil.STATUS_ZOMBIE


def test_a_server_that_is_killed_takes_its_pack_with_it(being_made):
    server, _, maker, job_id = being_made
    server.kill()
    until(lambda: gone(maker), "the process outlived its server")
    server.start()
    assert list((server.folder / "packs").iterdir()) == []
    again = post(server, f"/api/jobs/{job_id}/packs", {})
    assert state(server, again["pack_id"])["state"] in ("waiting", "making", "done")


def test_a_server_that_is_stopped_takes_its_pack_with_it(being_made):
    server, _, maker, _ = being_made
    begun = time.monotonic()
    os.kill(server.process.pid, signal.SIGTERM)
    until(lambda: gone(maker), "the process outlived its server")
    until(lambda: server.process.poll() is not None, "the server does not end")
    assert time.monotonic() - begun < 30
    assert [p.suffix for p in (server.folder / "packs").iterdir() if p.suffix in (".part", ".work")] == []


def test_a_process_that_is_killed_is_told_and_the_server_goes_on(being_made):
    server, pack_id, maker, job_id = being_made
    maker.kill()
    found = until(lambda: (s := state(server, pack_id))["state"] == "failed" and s, "it is not told")
    assert found["code"] == "pack_ended" and "Make it again" in found["message"]
    again = post(server, f"/api/jobs/{job_id}/packs", {})["pack_id"]
    until(lambda: state(server, again)["state"] == "making", "no pack is made any more")
    assert [p for p in (server.folder / "packs").iterdir() if p.name.startswith(pack_id)] == []

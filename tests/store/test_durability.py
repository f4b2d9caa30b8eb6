"""A real server under writes, killed at random moments: what it acknowledged is there, exactly once."""

import contextlib
import hashlib
import http.client
import itertools
import json
import os
import random
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request

import pytest
from grown import postgres
from server_process import ROOT, ServerProcess
from servers import entries, entry

from webapp.timesource import new_id

__all__ = ["postgres"]
ASKED = {"protocol": 1, "device_id": "phone"}
KILLS = 30
PHONES = 3


def post(url, body, path="/api/sync"):
    request = urllib.request.Request(
        f"{url}{path}", json.dumps(body).encode(), {"Content-Type": "application/json"}
    )
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:
            return json.loads(answer.read())
    except urllib.error.HTTPError as error:
        error.close()  # it is an answer too, with a connection behind it
        raise


class SendingPhone(threading.Thread):
    """Sends batches as fast as they are answered and notes what was acknowledged."""

    def __init__(self, url, job_id, name):
        super().__init__(daemon=True)
        self.url, self.job_id, self.writer = url, job_id, name
        self.acknowledged, self.resent, self.over = 0, 0, False

    def run(self):
        while not self.over:
            first = self.acknowledged + 1
            sent = [self.make(n) for n in range(first, first + 7)]
            try:
                fates = post(self.url, {"protocol": 1, "device_id": "phone", "entries": sent})["fates"]
            except (OSError, ValueError, http.client.HTTPException):
                self.resent += 1
                time.sleep(0.05)
                continue
            assert {f[1] for f in fates} <= {"kept", "kept_already"}, fates
            self.acknowledged += 7

    def make(self, number):
        seed = hashlib.sha256(f"{self.writer}{number}".encode()).hexdigest()
        record_id = f"{seed[:8]}-{seed[8:12]}-7{seed[12:15]}-8{seed[15:18]}-{seed[18:30]}"
        return entry(self.job_id, self.writer, number, "remark", {"text": f"{number}"}, record_id)


class PhotoPhone(threading.Thread):
    """Sends bundles of new photos, each again until it is answered, and notes what was said complete."""

    def __init__(self, port):
        super().__init__(daemon=True)
        self.port, self.complete, self.resent, self.over = port, [], 0, False

    def run(self):
        for turn in itertools.count():
            photos = [hashlib.sha256(b"%d %d" % (turn, n)).digest() * 1000 for n in range(4)]
            while not self.over and not self.send(photos):
                self.resent += 1
                time.sleep(0.05)
            if self.over:
                return
            time.sleep(0.1)

    def send(self, photos):
        """Send a bundle, and what a kill left half there from where it stopped, as the app does."""
        named = {hashlib.sha256(data).hexdigest(): data for data in photos}
        parts = ", ".join(f'"{name}";length={len(data)};type="image/jpeg"' for name, data in named.items())
        try:
            reported = self.put("/api/photos", b"".join(photos), {"Upload-Parts": parts})["photos"]
            for one in reported:
                name, data = one["sha256"], named[one["sha256"]]
                if not one["complete"]:
                    assert one["code"] == "photo_offset_mismatch", one
                    rest = {"Upload-Offset": str(one["offset"]), "Upload-Length": str(len(data))}
                    assert self.put(f"/api/photos/{name}", data[one["offset"] :], rest)["complete"]
                self.complete.append(name)
        except (OSError, ValueError, http.client.HTTPException):
            return False
        return True

    def put(self, path, body, headers):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        try:
            own = {"Content-Type": "application/octet-stream", **headers}
            connection.request("PUT", path, body, own)
            answer = connection.getresponse()
            if answer.status >= 500:
                raise http.client.HTTPException(answer.status)
            return json.loads(answer.read())
        finally:
            connection.close()


@pytest.fixture(params=["sqlite", "postgresql"])
def killable(request, tmp_path):
    """A server that can be killed often, on each of the databases."""
    env = {}
    if request.param == "postgresql":
        env["DATABASE_URL"] = request.getfixturevalue("postgres").fresh()
    server = ServerProcess(tmp_path / "data", env=env).start()
    yield server
    server.kill()


def test_killed_again_and_again_it_loses_and_doubles_nothing(killable, request):
    server, job_id = killable, new_id()
    phones = [SendingPhone(server.url, job_id, f"writer-{n:04}") for n in range(PHONES)]
    with_photos = PhotoPhone(server.port)
    try:
        [p.start() for p in (*phones, with_photos)]
        for n in range(KILLS):
            time.sleep(random.uniform(0.02, 0.2))
            server.restart()
            if server.env and n in (KILLS // 3, 2 * KILLS // 3):
                request.getfixturevalue("postgres").kill_and_start_again()
        time.sleep(0.3)
    finally:
        for phone in (*phones, with_photos):
            phone.over = True
    [p.join(30) for p in (*phones, with_photos)]
    check_nothing_lost(server, job_id, phones)
    assert with_photos.complete and with_photos.resent > 0, "no kill hit it: it proved nothing"
    for name in with_photos.complete:
        assert hashlib.sha256(server.get(f"/media/photos/{name}")).hexdigest() == name
    server.kill()
    check = [sys.executable, "-m", "webapp.cli", "check-data", "--data", str(server.folder)]
    done = subprocess.run(check, cwd=ROOT, capture_output=True, text=True, env={**os.environ, **server.env})
    assert done.returncode == 0, done.stderr


def check_nothing_lost(server, job_id, phones):
    have = {p.writer: p.acknowledged for p in phones}
    assert all(have.values()), "every phone got something through"
    assert sum(p.resent for p in phones) > 0, "no kill hit a phone: the test proved nothing"
    held = post(server.url, {"protocol": 1, "device_id": "x", "jobs": {job_id: {"have": {}}}, "pull": 0})
    vector = held["jobs"][job_id]["have"]
    assert all(vector[w] >= n for w, n in have.items()), "acknowledged and gone"
    found = json.loads(server.get(f"/api/jobs/{job_id}"))["entries"]
    for phone in phones:
        mine = [e for e in found if e["writer"] == phone.writer]
        assert mine == [phone.make(n) for n in range(1, vector[phone.writer] + 1)], "each exactly once"


class Eraser(threading.Thread):
    """Erases what a writer wrote in a job, once, and notes whether that was acknowledged."""

    def __init__(self, url, job_id):
        super().__init__(daemon=True)
        self.url, self.job_id, self.acknowledged = url, job_id, False

    def run(self):
        body = {"what": "writer", "target": "writer-goes", "reason": "on request", "days": 30}
        with contextlib.suppress(OSError, ValueError, http.client.HTTPException):
            post(self.url, body, f"/api/jobs/{self.job_id}/erasures")
            self.acknowledged = True


def test_an_erasure_that_is_killed_on_postgresql_is_done_whole_or_not_at_all(postgres, tmp_path):
    server = ServerProcess(tmp_path / "data", env={"DATABASE_URL": postgres.fresh()}).start()
    try:
        for killed, wait_s in (("server", 0.01), ("database", 0.0), ("database", 0.02)):
            job_id = new_id()
            goes, stays = entries(job_id, "writer-goes", 1, 200), entries(job_id, "writer-stays", 1, 3)
            assert len(post(server.url, {**ASKED, "entries": goes + stays})["fates"]) == 203
            eraser = Eraser(server.url, job_id)
            eraser.start()
            time.sleep(wait_s)
            if killed == "server":
                server.restart()
            else:
                postgres.kill_and_start_again()
            eraser.join(30)
            check_erased_whole_or_not(server, goes, stays, eraser.acknowledged)
    finally:
        server.kill()


def check_erased_whole_or_not(server, goes, stays, acknowledged):
    """All of a writer is hidden, or none; sent again nothing is doubled; undone all of it is there again."""
    job_id = goes[0]["job_id"]
    fates = post(server.url, {**ASKED, "entries": goes + stays})["fates"]
    assert [fate[1] for fate in fates[200:]] == ["kept_already"] * 3
    (outcome,) = {tuple(fate[1:3]) for fate in fates[:200]}
    assert outcome == ("set_aside", "erased") or (outcome == ("kept_already",) and not acknowledged)
    for act in json.loads(server.get("/api/erasures"))["erasures"]:
        if act["job_id"] == job_id:
            post(server.url, {}, f"/api/erasures/{act['id']}/undo")
    held = json.loads(server.get(f"/api/jobs/{job_id}"))["entries"]
    assert sorted(held, key=lambda e: (e["writer"], e["number"])) == goes + stays


def test_told_to_stop_it_finishes_what_is_under_way(tmp_path):
    server = ServerProcess(tmp_path / "data").start()
    job_id = new_id()
    batch = {"protocol": 1, "device_id": "x", "entries": entries(job_id, "writer-aaaa", 1, 500)}
    body = json.dumps(batch).encode()
    head = f"POST /api/sync HTTP/1.1\r\nHost: localhost\r\nContent-Length: {len(body)}\r\n"
    try:
        with socket.create_connection(("127.0.0.1", server.port), timeout=20) as s:
            s.sendall(head.encode() + b"Content-Type: application/json\r\n\r\n" + body[:1000])
            time.sleep(0.3)
            server.process.send_signal(signal.SIGTERM)
            time.sleep(0.7)
            s.sendall(body[1000:])
            answer = b""
            while block := s.recv(65536):
                answer += block
        assert answer.startswith(b"HTTP/1.1 200 ") and answer.count(b'"kept"') == 500
        assert server.process.wait(20) == 0
        server.start()
        held = post(server.url, {"protocol": 1, "device_id": "x", "jobs": {job_id: {"have": {}}}, "pull": 0})
        assert held["jobs"][job_id]["have"] == {"writer-aaaa": 500}
    finally:
        server.kill()


def test_a_body_of_50_megabytes_over_a_real_connection(live_server):
    request = urllib.request.Request(
        f"{live_server.url}/api/sync", b" " * 50_000_000, {"Content-Type": "application/json"}
    )
    try:
        urllib.request.urlopen(request, timeout=60)
        raise AssertionError("it was taken")
    except urllib.error.HTTPError as error:
        with error:
            body = json.loads(error.read())
        assert (error.code, body["errors"][0]["code"]) == (413, "body_too_large")


def test_what_waitress_refuses_has_the_one_shape_too(live_server):
    with socket.create_connection(("127.0.0.1", live_server.port), timeout=10) as s:
        s.sendall(b"POST /api/sync HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n")
        s.sendall(b"Content-Length: 99999999999\r\n\r\n")
        answer = b""
        while block := s.recv(65536):
            answer += block
    head, _, body = answer.partition(b"\r\n\r\n")
    assert b" 413 " in head.split(b"\r\n")[0] and b"application/json" in head
    assert b"x-content-type-options: nosniff" in head.lower()
    assert json.loads(body)["errors"][0]["code"] == "body_too_large"


def test_the_log_is_one_json_line_a_request_without_bodies(live_server):
    job_id = new_id()
    batch = {"protocol": 1, "device_id": "secret-device", "entries": entries(job_id, "writer-aaaa", 1, 1)}
    post(live_server.url, batch)
    live_server.get("/healthz")
    text = live_server.log.read_text()
    lines = [json.loads(line) for line in text.splitlines() if line.startswith("{")]
    (sync,) = [line for line in lines if line.get("path") == "/api/sync"]
    assert set(sync) == {"time", "level", "event", "method", "path", "status", "ms", "bytes", "device"}
    assert (sync["method"], sync["status"]) == ("POST", 200) and sync["ms"] > 0
    assert "secret-device" not in text

"""Slow and idle connections, bodies that nobody may send, and who gets which threads."""

import contextlib
import json
import socket
import threading
import time

import pytest

from webapp import create_app, serve
from webapp.access import granting, joining
from webapp.access.terms import OFFICE, SURVEYOR
from webapp.access.who import DEVICE_COOKIE
from webapp.app import close
from webapp.server import connections, lanes

HOST = "van.example"


class Running:
    """A server with access control in this process, its data folder and a phone that was let in."""

    def __init__(self, folder, **settings):
        self.app = create_app({"DATA_FOLDER": folder, "HOST_NAMES": [HOST], "ACCESS": True, **settings})
        with self.app.app_context():
            self.cookies = {role: self.let_in(role) for role in (SURVEYOR, OFFICE)}
        self.server = serve.make(self.app, "127.0.0.1", 0)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()

    @staticmethod
    def let_in(role):
        code = granting.invite(role, "Phone", None, 24, granting.By())
        return f"{DEVICE_COOKIE}={joining.redeem(joining.Request(code, 'Phone'), granting.By())[0]}"

    def connect(self):
        one = socket.create_connection(("127.0.0.1", int(self.server.effective_port)), timeout=20)
        return one

    def head(self, method, path, role=None, **more):
        lines = [f"{method} {path} HTTP/1.1", f"Host: {HOST}"]
        lines += [f"Cookie: {self.cookies[role]}"] if role else []
        lines += [f"{name.replace('_', '-')}: {value}" for name, value in more.items()]
        return ("\r\n".join(lines) + "\r\n\r\n").encode()

    def end(self):
        for channel in list(self.server.active_channels.values()):
            channel.will_close = True
        self.server.pull_trigger()
        self.server.task_dispatcher.shutdown()
        self.server.close()
        close(self.app)


@pytest.fixture
def running(tmp_path):
    one = Running(tmp_path / "data")
    yield one
    one.end()


def answer(connection):
    """Return status and JSON of an answer, or None where the connection was closed without one."""
    data = b""
    with contextlib.suppress(ConnectionError):
        while b"\r\n\r\n" not in data or len(data.split(b"\r\n\r\n", 1)[1]) < length_of(data):
            piece = connection.recv(65536)
            if not piece:
                break
            data += piece
    if not data:
        return None
    head, _, body = data.partition(b"\r\n\r\n")
    return int(head.split()[1]), json.loads(body)


def length_of(data):
    head = data.split(b"\r\n\r\n")[0].lower()
    return int(head.split(b"content-length:")[1].split()[0])


def codes(found):
    return found and (found[0], found[1]["errors"][0]["code"])


@pytest.mark.parametrize(
    ("method", "path", "role", "more", "expected"),
    [
        ("POST", "/api/import", None, {"Content_Type": "application/zip"}, (401, "access_needed")),
        ("POST", "/api/import", SURVEYOR, {"Content_Type": "application/zip"}, (403, "access_role")),
        ("POST", "/api/import", OFFICE, {"Content_Type": "text/plain"}, (415, "media_type")),
        ("POST", "/api/import", OFFICE, {"Content_Type": "application/zip", "Origin": "https://x.example"},
         (403, "cross_site")),
        ("POST", "/api/join", None, {"Content_Type": "application/json"}, (413, "body_too_large")),
        ("POST", "/nowhere", None, {}, (413, "body_too_large")),
        ("POST", "/api/sync", SURVEYOR, {"Content_Type": "application/json"}, (413, "body_too_large")),
    ],
)  # fmt: skip
def test_600_megabytes_are_refused_by_their_head(running, method, path, role, more, expected):
    with running.connect() as one:
        one.sendall(running.head(method, path, role, Content_Length=600_000_000, **more))
        assert codes(answer(one)) == expected


def test_a_body_of_unknown_length_is_refused_too(running):
    with running.connect() as one:
        one.sendall(running.head("POST", "/api/import", None, Transfer_Encoding="chunked"))
        assert codes(answer(one)) == (401, "access_needed")
    with running.connect() as one:
        kind = {"Content_Type": "application/json", "Transfer_Encoding": "chunked"}
        one.sendall(running.head("POST", "/api/join", None, **kind))
        with contextlib.suppress(ConnectionError):
            for _ in range(30):
                one.sendall(b"10000\r\n" + b" " * 65536 + b"\r\n")
        assert codes(answer(one)) in ((413, "body_too_large"), None)


@pytest.mark.parametrize("encoding", ["gzip, chunked", "br", "chunked, identity"])
def test_a_transfer_encoding_that_is_not_known_is_no_fault_of_the_server(running, encoding):
    with running.connect() as one:
        one.sendall(running.head("POST", "/api/sync", SURVEYOR, Transfer_Encoding=encoding))
        assert codes(answer(one)) == (422, "request_malformed")


def test_a_phone_that_is_refused_reads_why_after_its_piece(running):
    """It sends the whole piece before it looks: closing on it would look like a lost link."""
    with running.connect() as one:
        kind = {"Upload_Offset": 0, "Upload_Length": 1_000_000, "Content_Type": "image/jpeg"}
        one.sendall(running.head("PUT", f"/api/photos/{'0' * 64}", None, Content_Length=1_000_000, **kind))
        one.sendall(b"x" * 1_000_000)
        assert codes(answer(one)) == (401, "access_needed")


def test_a_good_body_comes_through(running):
    with running.connect() as one:
        kind = {"Upload_Offset": 0, "Upload_Length": 1_000_000, "Content_Type": "image/jpeg"}
        name = f"/api/photos/{'0' * 64}"
        one.sendall(
            running.head("PUT", name, SURVEYOR, Content_Length=1_000_000, Expect="100-continue", **kind)
        )
        assert one.recv(100).startswith(b"HTTP/1.1 100")
        one.sendall(b"x" * 1_000_000)
        assert codes(answer(one)) == (422, "photo_hash_mismatch")


def fresh_phone(running):
    begun = time.monotonic()
    with running.connect() as one:
        body = json.dumps({"protocol": 1, "device_id": "x"}).encode()
        kind = {"Content_Type": "application/json", "Content_Length": len(body)}
        one.sendall(running.head("POST", "/api/sync", SURVEYOR, **kind) + body)
        assert answer(one)[0] == 200
    return time.monotonic() - begun


@pytest.mark.parametrize("said", [b"", b"GET / HTTP/1.1\r\nHost: van.ex", "body"])
def test_200_silent_or_half_requests_keep_nobody_out(running, monkeypatch, said):
    if said == "body":
        kind = {"Content_Type": "application/json", "Content_Length": 500}
        said = running.head("POST", "/api/sync", SURVEYOR, **kind) + b"{"
    with contextlib.ExitStack() as open_ones:
        held = [open_ones.enter_context(running.connect()) for _ in range(200)]
        for one in held:
            one.sendall(said)
        assert fresh_phone(running) < 10


def test_where_it_is_full_the_longest_silent_one_goes(running, monkeypatch):
    monkeypatch.setattr(connections, "MAX_CONNECTIONS", 20)
    with contextlib.ExitStack() as open_ones:
        held = [open_ones.enter_context(running.connect()) for _ in range(20)]
        wait_for(lambda: len(running.server.active_channels) == 20)
        assert fresh_phone(running) < 10
        assert held[0].recv(1) == b""


def wait_for(true, within_s=20):
    end = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


@pytest.mark.parametrize(
    ("limit", "said"), [("HEAD_S", b"GET / HT"), ("IDLE_S", b""), ("BODY_IDLE_S", "body")]
)
def test_a_slow_connection_is_closed(running, monkeypatch, limit, said):
    monkeypatch.setattr(connections, limit, 0.3)
    if said == "body":
        kind = {"Content_Type": "application/json", "Content_Length": 500}
        said = running.head("POST", "/api/sync", SURVEYOR, **kind) + b"{"
    with running.connect() as one:
        one.sendall(said)
        assert one.recv(1) == b""


def test_a_body_that_trickles_is_closed(running, monkeypatch):
    monkeypatch.setattr(connections, "BODY_EASY_S", 0.3)
    kind = {"Content_Type": "application/json", "Content_Length": 5000}
    with running.connect() as one:
        one.sendall(running.head("POST", "/api/sync", SURVEYOR, **kind))
        with pytest.raises(ConnectionError):
            for _ in range(300):
                one.sendall(b" ")
                time.sleep(0.1)


def test_lanes_tell_requests_and_senders_apart():
    cookie = {"COOKIE": "a=b; __Host-fallbook-client=SECRET.x; c=d"}
    client, phone = lanes.sender_of(cookie), lanes.sender_of({"COOKIE": "__Host-fallbook=S"})
    assert (client, phone, lanes.sender_of({})) == ("client SECRET.x", "device S", "")
    assert lanes.sender_of({"AUTHORIZATION": "Bearer x"}) == "bearer Bearer x"
    for path, sender, lane in [
        ("/api/sync", phone, "phones"), ("/api/photos/abc", phone, "phones"), ("/api/photos", "", "phones"),
        ("/media/photos/abc", phone, "phones"),
        ("/media/photos/abc", client, "guests"),
        ("/", "", "app"), ("/static/app/x.js", client, "app"), ("/sw.js", "", "app"),
        ("/api/me", phone, "app"),
        ("/office", phone, "office"), ("/office/jobs/x", client, "guests"),
        ("/api/jobs/x", "bearer x", "guests"),
        ("/api/import", "", "office"), ("/api/synchronous", phone, "office"),
    ]:  # fmt: skip
        assert lanes.lane_of(path, sender) == lane, path


class Task:
    """Stands for a connection with one request, which is served until it is let go."""

    def __init__(self, path, cookie):
        request = type("Request", (), {"path": path, "headers": {"COOKIE": cookie}})
        self.requests, self.begun, self.go = [request], threading.Event(), threading.Event()

    def service(self):
        self.begun.set()
        self.go.wait(20)

    def cancel(self):
        pass


def test_16_tabs_of_a_client_take_one_thread_and_no_phone_waits():
    queue = lanes.Lanes()
    tabs = [Task("/office/jobs/x", "__Host-fallbook-client=S") for _ in range(16)]
    phone = Task("/api/sync", "__Host-fallbook=P")
    other = Task("/office/jobs/x", "__Host-fallbook-client=T")
    try:
        for one in (*tabs, phone, other):
            queue.add_task(one)
        for one in (tabs[0], phone, other):
            assert one.begun.wait(10)
        time.sleep(0.1)
        assert [one.begun.is_set() for one in tabs] == [True] + [False] * 15
        tabs[0].go.set()
        assert tabs[1].begun.wait(10)
    finally:
        for one in (*tabs, phone, other):
            one.go.set()
        queue.shutdown()


def test_one_phone_with_many_requests_leaves_room_for_others():
    queue = lanes.Lanes()
    greedy = [Task("/api/sync", "__Host-fallbook=G") for _ in range(40)]
    phones = [Task("/api/sync", f"__Host-fallbook=P{n}") for n in range(5)]
    try:
        for one in (*greedy, *phones):
            queue.add_task(one)
        assert all(one.begun.wait(10) for one in phones)
        assert sum(one.begun.is_set() for one in greedy) == lanes.LANES["phones"].of_one
    finally:
        for one in (*greedy, *phones):
            one.go.set()
        queue.shutdown()

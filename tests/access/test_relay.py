"""The TLS relay: silent and greedy clients hold up nobody, and what is under way goes out before the end."""

import socket
import ssl
import threading
import time

import pytest

from webapp import serve
from webapp.errors import AppError
from webapp.lan import certificates, relay
from webapp.lan.serving import from_relay

BIG = b"x" * 3_000_000


def answer(environ, start):
    """Say who asks and how much came; wait where the address says so."""
    size = len(environ["wsgi.input"].read())
    if environ["PATH_INFO"] == "/slow":
        time.sleep(0.7)
    body = BIG if environ["PATH_INFO"] == "/big" else f"{environ['REMOTE_ADDR']} {size}".encode()
    start("200 OK", [("Content-Length", str(len(body)))])
    return [body]


class Front:
    def __init__(self, folder):
        chain, key = certificates.leaf(folder, ["localhost", "127.0.0.1"])
        peers = {}
        self.inside = serve.make(from_relay(answer, peers), "127.0.0.1", 0, scheme="https")
        where = ("127.0.0.1", self.inside.effective_port)
        self.relay = relay.Relay("127.0.0.1", 0, certificates.tls_context(chain, key), where, peers).start()
        self.trust = ssl.create_default_context(cadata=certificates.authority(folder).certificate_pem)
        threading.Thread(target=self.inside.run, daemon=True).start()

    def connect(self):
        bare = socket.create_connection(("127.0.0.1", self.relay.port), timeout=10)
        return self.trust.wrap_socket(bare, server_hostname="localhost")

    def ask(self, path, body=b""):
        with self.connect() as secure:
            head = f"POST {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n"
            head += f"Content-Length: {len(body)}\r\n\r\n"
            secure.sendall(head.encode() + body)
            found = b""
            while data := secure.recv(1 << 16):
                found += data
        return found.partition(b"\r\n\r\n")[2]

    def close(self):
        self.relay.no_more()
        self.relay.finish(1)
        self.inside.close()


@pytest.fixture(scope="module")
def front(tmp_path_factory):
    one = Front(tmp_path_factory.mktemp("front"))
    yield one
    one.close()


def test_bodies_go_both_ways_and_the_senders_address_with_them(front):
    assert front.ask("/", BIG) == b"127.0.0.1 3000000"
    assert front.ask("/big") == BIG
    assert front.relay.peers == {} or all(a == "127.0.0.1" for a in front.relay.peers.values())


def test_clients_that_say_nothing_hold_up_nobody(front):
    silent = [socket.create_connection(("127.0.0.1", front.relay.port)) for _ in range(20)]
    half = [front.connect() for _ in range(10)]
    for one in half:
        one.sendall(b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\nhalf")
    try:
        start_s = time.monotonic()
        assert front.ask("/", b"abc") == b"127.0.0.1 3"
        assert time.monotonic() - start_s < 5
    finally:
        for one in (*silent, *half):
            one.close()


def test_one_address_cannot_take_all_connections(front, monkeypatch):
    monkeypatch.setattr(relay, "MAX_OF_ONE", 3)
    time.sleep(0.3)  # those of the tests before are let go
    held = [front.connect() for _ in range(3)]
    try:
        with pytest.raises(OSError), front.connect() as refused:
            refused.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
            if not refused.recv(10):
                raise ConnectionResetError
    finally:
        for one in held:
            one.close()


def test_a_port_that_is_taken_is_said(front, tmp_path):
    chain, key = certificates.leaf(tmp_path, ["localhost"])
    other = relay.Relay(
        "127.0.0.1", front.relay.port, certificates.tls_context(chain, key), ("127.0.0.1", 1), {}
    )
    with pytest.raises(AppError) as caught:
        other.start()
    assert caught.value.code == "address_taken"


def test_an_answer_under_way_goes_out_before_the_end(tmp_path):
    one, found = Front(tmp_path), []
    asking = threading.Thread(target=lambda: found.append(one.ask("/slow", b"abcd")))
    asking.start()
    time.sleep(0.3)
    one.relay.no_more()
    time.sleep(0.2)
    with pytest.raises(OSError):
        one.connect()
    one.relay.finish(5)
    asking.join(5)
    one.inside.close()
    assert found == [b"127.0.0.1 4"]


def test_where_it_is_full_the_one_that_says_nothing_goes(front, monkeypatch):
    """180 idle connections kept a fresh phone out."""
    monkeypatch.setattr(relay, "MAX_OF_ONE", 20)
    monkeypatch.setattr(relay, "AT_WORK_S", 0.2)
    held = [front.connect() for _ in range(20)]
    try:
        time.sleep(0.3)
        assert front.ask("/") == b"127.0.0.1 0"
        monkeypatch.setattr(relay, "MAX_OF_ONE", 60)
        monkeypatch.setattr(relay, "MAX_CONNECTIONS", 20)
        assert front.ask("/") == b"127.0.0.1 0"
    finally:
        for one in held:
            one.close()


def test_a_connection_that_says_nothing_does_not_reach_the_server(front, monkeypatch):
    held = [front.connect() for _ in range(5)]
    try:
        assert front.ask("/") == b"127.0.0.1 0"
        assert len(front.inside.active_channels) <= 1
    finally:
        for one in held:
            one.close()

"""An answer arrives whole, however long it took to make, unless nobody takes it."""

import time

import pytest
from test_connections import Running, wait_for

from webapp.server import connections


@pytest.fixture
def running(tmp_path):
    one = Running(tmp_path / "data")
    yield one
    one.end()


class LongAnswer:
    """An answer longer than the sockets hold, and a server that looks at its connections when told."""

    bytes = 12_000_000
    made_in_s = ahead_s = 0.0

    def __init__(self, running, monkeypatch):
        self.server = running.server
        monkeypatch.setattr(connections.timesource, "monotonic_s", lambda: time.monotonic() + self.ahead_s)
        monkeypatch.setattr(self.server, "application", self.made)
        monkeypatch.setattr(self.server.adj, "cleanup_interval", 1e9)
        monkeypatch.setattr(self.server, "next_channel_cleanup", float("inf"))
        self.look()
        self.asked = running.connect()
        self.asked.sendall(running.head("GET", "/"))
        wait_for(lambda: any(one.total_outbufs_len for one in self.server.active_channels.values()))

    def made(self, environ, start_response):
        self.ahead_s += self.made_in_s
        start_response("200 OK", [("Content-Length", str(self.bytes))])
        return [b"x" * self.bytes]

    def look(self):
        self.server.maintenance(0.0)
        self.server.pull_trigger()

    def wait_until_made(self):
        wait_for(lambda: not any(one.requests for one in self.server.active_channels.values()))

    def body_bytes(self):
        """Read on and return how long the body is that comes."""
        got = bytearray()
        with self.asked as one:
            while b"\r\n\r\n" not in got or len(got) - got.index(b"\r\n\r\n") - 4 < self.bytes:
                if not (more := one.recv(1_000_000)):
                    break
                got += more
        return len(got) - got.index(b"\r\n\r\n") - 4


def test_an_answer_that_took_long_to_make_is_sent_whole_to_a_slow_reader(running, monkeypatch):
    monkeypatch.setattr(LongAnswer, "made_in_s", 2 * connections.IDLE_S)
    answer = LongAnswer(running, monkeypatch)
    answer.wait_until_made()
    answer.look()
    answer.look()
    time.sleep(0.2)
    assert answer.body_bytes() == answer.bytes


def test_after_a_pause_of_the_server_an_answer_goes_on(running, monkeypatch):
    answer = LongAnswer(running, monkeypatch)
    answer.wait_until_made()
    answer.ahead_s += 2 * connections.IDLE_S
    answer.look()
    time.sleep(0.2)
    assert answer.body_bytes() == answer.bytes


def test_a_reader_who_takes_nothing_of_an_answer_is_closed(running, monkeypatch):
    answer = LongAnswer(running, monkeypatch)
    answer.wait_until_made()
    while answer.ahead_s < 1.1 * connections.IDLE_S:
        answer.ahead_s += 2.0
        answer.look()
    wait_for(lambda: not running.server.active_channels)
    assert answer.body_bytes() < answer.bytes

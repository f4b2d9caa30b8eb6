"""A yard full of phones that come home at once (in full: tests/bench/phones.py)."""

from crowd import crowd
from server_process import ServerProcess


def test_a_crowd_of_phones_loses_nothing_and_memory_stays_bounded(tmp_path):
    server = ServerProcess(tmp_path / "data", more=("--quiet",)).start()
    try:
        found = crowd(server, phones=40, entries=100, photos=2, photo_bytes=50_000)
    finally:
        server.kill()
    assert found["most_rss_bytes"] < 300_000_000

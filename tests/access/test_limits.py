"""How often: each bucket alone, and the processes of one server together."""

import json
import sqlite3
import threading
import urllib.error
import urllib.request

import pytest
from server_process import ServerProcess

from webapp.access import limits
from webapp.access.limits import LIMITS, Buckets, TooMany
from webapp.store.folder import LIMITS_FILE

BURST = int(LIMITS["redeem"].burst)


@pytest.fixture
def clock(monkeypatch):
    """The seconds that the limits see."""
    now = [1000.0]
    monkeypatch.setattr(limits.timesource, "monotonic_s", lambda: now[0])
    return now


@pytest.fixture
def made(tmp_path):
    """Return makers of buckets: in memory, in a file that others have too, in one that cannot be made."""
    every = []

    def make(where):
        places = {"memory": None, "file": tmp_path / LIMITS_FILE, "no file": tmp_path / "none" / LIMITS_FILE}
        every.append(Buckets(places[where]))
        return every[-1]

    yield make
    for one in every:
        one.close()


def taken(buckets, sender="a", tries=BURST + 3, kind="redeem"):
    """Return how many of some tries got a token, and what the last one that did not was told to wait."""
    good, after_s = 0, None
    for _ in range(tries):
        try:
            buckets.take(kind, sender)
            good += 1
        except TooMany as refused:
            after_s = refused.after_s
    return good, after_s


@pytest.mark.parametrize("where", ["memory", "file", "no file"])
def test_a_bucket_empties_and_fills_again_for_each_sender_and_kind(made, clock, where):
    buckets = made(where)
    assert taken(buckets) == (BURST, 6)
    assert taken(buckets, "b") == (BURST, 6) and taken(buckets, kind="pack", tries=11) == (10, 10)
    clock[0] += 60 / LIMITS["redeem"].a_minute
    assert taken(buckets, tries=2) == (1, 6), "one token came"
    clock[0] += 3
    assert taken(buckets, tries=1) == (0, 3), "half a token is none"
    clock[0] += 3600
    assert taken(buckets) == (BURST, 6), "an hour fills it, and no further than it goes"
    clock[0] -= 500
    assert taken(buckets, tries=1) == (0, 6), "a clock that goes back gives nothing and takes nothing"


@pytest.mark.parametrize("where", ["memory", "file"])
def test_buckets_do_not_grow_for_ever(made, clock, monkeypatch, where):
    monkeypatch.setattr(limits, "MAX_BUCKETS", 50)
    monkeypatch.setattr(limits, "FORGET_EVERY", 10)
    buckets = made(where)
    taken(buckets, "first")
    for n in range(500):
        clock[0] += 0.001
        buckets.take("redeem", str(n))
        assert buckets.count() <= 60
    assert taken(buckets, "499")[0] == BURST - 1, "the oldest go first"
    clock[0] += 3600
    assert taken(buckets, "now", tries=10)[0] == 10 and buckets.count() < 12, "those that are full go"


def test_who_share_a_file_share_the_limit(made, clock):
    one, two = made("file"), made("file")
    assert taken(one, tries=6)[0] + taken(two)[0] == BURST
    assert taken(one) == (0, 6) and taken(made("memory"))[0] == BURST


def test_threads_and_processes_take_no_token_twice(made, clock):
    every, good = [made("file") for _ in range(4)], []
    threads = [threading.Thread(target=lambda one=one: good.append(taken(one)[0])) for one in every * 2]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(good) == 8 and sum(good) == BURST


def test_a_full_disk_leaves_each_process_its_own_limit(made, clock, tmp_path):
    buckets = made("file")
    assert taken(buckets, tries=4)[0] == 4
    other = sqlite3.connect(tmp_path / LIMITS_FILE)
    other.execute("DROP TABLE bucket")  # as unusable as a full disk makes it
    other.close()
    assert taken(buckets) == (BURST, 6)


@pytest.fixture
def pair(tmp_path):
    """Two processes of one server that asks for a credential."""
    env = {"FALLBOOK_SHARED": "1", "FALLBOOK_ACCESS": "on"}
    both = [ServerProcess(tmp_path / "data", env=env) for _ in range(2)]
    for one in both:
        one.start()
    yield both
    for one in both:
        one.kill()


def guess(server):
    """Try an invitation that there is not; return the status."""
    body = json.dumps({"code": "x" * 43}).encode()
    headers = {"Content-Type": "application/json"}
    request = urllib.request.Request(f"{server.url}/api/join/look", body, headers)
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(request, timeout=60)
    with refused.value as answer:
        assert answer.status == 403 or int(answer.headers["Retry-After"]) >= 1
        return answer.status


def test_a_limit_holds_for_all_processes_of_a_server_and_not_beyond_its_end(pair):
    found = [guess(pair[n % 2]) for n in range(BURST + 2)]
    assert found == [403] * BURST + [429] * 2
    file = pair[0].folder / LIMITS_FILE
    assert file.is_file() and file.stat().st_mode & 0o077 == 0
    pair[0].restart()
    assert guess(pair[0]) == 429, "the other process still runs"
    for one in pair:
        one.kill()
    pair[1].start()
    assert guess(pair[1]) == 403

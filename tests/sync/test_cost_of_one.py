"""What one more entry costs does not depend on how many there are: counted in steps of the database.

SQLite counts the instructions of its virtual machine, so that the same data give the same number anywhere.
"""

import hashlib
import sys
from collections import Counter

import pytest
from servers import Server, entry
from sqlalchemy import event

from webapp.records import canonical
from webapp.store import entry_rows, kept_rows
from webapp.store.engine import writing
from webapp.store.models import db

JOB = "019abcde-0000-7000-8000-000000000001"
WRITER = "writer-of-many"
REQUEST = {"protocol": 1, "device_id": "test phone", "jobs": {JOB: {"have": {}}}, "entries": []}
EVERY = 10  # instructions between two calls


def rows(count):
    """Yield the rows of a job of readings."""
    for number in range(1, count + 1):
        one = entry(JOB, WRITER, number, record_id=f"019abcde-0000-7000-8000-{number:012d}")
        body = canonical.dumps(one)
        sha256 = hashlib.sha256(body.encode()).hexdigest()
        named = {name: one[name] for name in ("job_id", "writer", "number", "record_id", "kind")}
        yield named | {"body": body, "sha256": sha256, "aside": None, "received_at": "2026-11-30"}


class Steps:
    """Counts the instructions that SQLite takes on every connection of an engine."""

    def __init__(self, engine):
        self.count = 0
        event.listen(engine, "checkout", self._listen)

    def _listen(self, dbapi, _record, _proxy):
        dbapi.set_progress_handler(self._more, EVERY)

    def _more(self):
        self.count += EVERY
        return 0


def steps_of_one(folder, count):
    """Return the steps of a request that brings one entry into a job of ``count`` and asks for news."""
    server = Server(folder)
    try:
        with server.app.app_context():
            with writing() as connection:
                entry_rows.add(connection, list(rows(count)))
            steps = Steps(db.engine)
        sent = []
        for number in (1, 2, 3):  # the first ones make what is remembered
            steps.count = 0
            sent.append(entry(JOB, "writer-of-one", number))
            answer = server.sync(sent[-1:], {JOB: {"have": {WRITER: count, "writer-of-one": number}}}).json
            assert answer["fates"] == [[f"writer-of-one:{number}", "kept"]] and not answer["entries"]
        return steps.count
    finally:
        server.close()


@pytest.mark.parametrize("count", [20_000])
def test_one_entry_costs_no_more_among_many(tmp_path, count):
    few, many = steps_of_one(tmp_path / "few", 20), steps_of_one(tmp_path / "many", count)
    assert 0 < few and many <= 1.5 * few, (few, many)


def test_what_is_sought_by_its_kind_is_found_without_the_rest_of_the_job(tmp_path):
    server = Server(tmp_path)
    try:
        with server.app.app_context():
            photo = entry(JOB, "writer-of-one", 1, "photo", {"sha256": "a" * 64})
            server.fates([photo])
            with writing() as connection:
                entry_rows.add(connection, list(rows(20_000)))
                steps = Steps(db.engine)
            with db.engine.connect() as connection:
                found = kept_rows.kept(connection, JOB, "photo")
                assert found == [photo]
                assert kept_rows.record_ids(connection, JOB, "photo") == {photo["record_id"]}
                assert entry_rows.count(connection, JOB, "photo") == 1
        assert 0 < steps.count < 2_000
    finally:
        server.close()


def calls_of(work):
    """Return which Python functions some work calls, and how often."""
    found = Counter()

    def note(frame, event, _argument):
        if event == "call":
            found[frame.f_code.co_name] += 1

    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(None)
    return found


def test_a_pull_and_a_repeat_do_little_for_each_entry(tmp_path):
    """Counted in calls, which are the same on every machine."""
    count, server = 2000, Server(tmp_path)
    sent = [entry(JOB, WRITER, number) for number in range(1, count + 1)]
    try:
        first = calls_of(lambda: server.fates(sent))
        again = calls_of(lambda: server.fates(sent))
        pull = calls_of(lambda: server.client.post("/api/sync", json=REQUEST, buffered=False))
    finally:
        server.close()
    assert first["check_entry"] == count and not again["check_entry"]
    assert sum(pull.values()) < 3 * count, pull.most_common(9)

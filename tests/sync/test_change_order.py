"""PostgreSQL: stamps are given in the order of the commits, so that no phone misses a change."""

import threading
import time

import pytest
from servers import Server, entry
from sqlalchemy import text

from webapp.store import change_rows, entry_rows
from webapp.store.engine import reading
from webapp.store.models import db
from webapp.sync.apply import columns_of
from webapp.sync.stored import text_of
from webapp.timesource import new_id

WAITS = text("SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND NOT granted")
FIRST, SECOND = "writer-z-first", "writer-a-second"  # of one place in the log the second is read
NOW = "2026-11-30T00:00:00.000+00:00"


def row(job_id, writer):
    one = entry(job_id, writer, 1)
    return columns_of(one, text_of(one), "0" * 64, None, NOW)


class Phone:
    """Asks what went on since it last asked, and remembers of whom."""

    def __init__(self, job_id):
        self.job_id, self.known, self.writers = job_id, None, set()

    def ask(self):
        with reading() as connection:
            if self.known:
                then = change_rows.since(connection, self.job_id, self.known)
                self.writers |= set(entry_rows.heads(connection, self.job_id) if then is None else then)
            self.known = change_rows.stamp(connection, self.job_id)


def both_at_once(app, job_id, phones):
    """Two transactions that begin before either has ended; a phone asks between any two steps."""
    with app.app_context():
        ended = threading.Event()

        def second():
            with app.app_context(), db.engine.begin() as connection:
                entry_rows.add(connection, [row(job_id, SECOND)])
            ended.set()

        with db.engine.begin() as first:
            entry_rows.add(first, [row(job_id, FIRST)])
            other = threading.Thread(target=second)
            other.start()
            with db.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as watching:
                while not ended.is_set() and not watching.execute(WAITS).scalar():
                    time.sleep(0.01)
            phones[0].ask()
        phones[1].ask()
        other.join(20)
        assert ended.is_set()
        for phone in phones:
            phone.ask()


@pytest.mark.parametrize("in_turn", [True, False])
def test_no_phone_misses_one_of_two_changes_at_once(postgres, tmp_path, monkeypatch, in_turn):
    if not in_turn:  # the fault that this guards against
        monkeypatch.setattr(change_rows, "_ALONE", text("SELECT 1 WHERE :scope = :scope"))
    server, job_id = Server(tmp_path, DATABASE_URL=postgres.migrated()), new_id()
    try:
        server.fates([entry(job_id, "writer-before", 1)])
        phones = [Phone(job_id) for _ in range(3)]
        with server.app.app_context():
            for phone in phones:
                phone.ask()
        both_at_once(server.app, job_id, phones)
        missed = [phone for phone in phones if not phone.writers >= {FIRST, SECOND}]
        assert bool(missed) is not in_turn
    finally:
        server.close()

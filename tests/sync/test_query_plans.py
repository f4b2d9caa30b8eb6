"""No statement of an exchange reads a whole table, whatever SQLite knows of how much is in it."""

import pytest
from servers import Server, entries, entry
from sqlalchemy import event, text

from webapp.store.models import Base, db
from webapp.timesource import new_id

A, B = "writer-aaaa", "writer-bbbb"
TABLES = set(Base.metadata.tables)
SHA256 = "a" * 64


class Plans:
    """Notes how SQLite goes about each statement of an engine."""

    def __init__(self, engine):
        self.found, self._engine = {}, engine
        event.listen(engine, "before_cursor_execute", self._note)

    def _note(self, _connection, cursor, statement, parameters, _context, many):
        if statement.split(None, 1)[0].upper() not in ("SELECT", "WITH", "DELETE", "UPDATE", "INSERT"):
            return
        raw = cursor.connection.cursor()
        some = parameters[0] if many else parameters
        plan = [row[3] for row in raw.execute(f"EXPLAIN QUERY PLAN {statement}", some)]
        self.found[statement] = plan

    def scans(self):
        """Return the statements that read a table, or an index, from one end to the other."""
        return {
            statement: plan
            for statement, plan in self.found.items()
            if any(line.startswith("SCAN ") and line.split()[1] in TABLES for line in plan)
        }

    def close(self):
        event.remove(self._engine, "before_cursor_execute", self._note)


@pytest.fixture
def filled(tmp_path):
    """A server that holds some of everything, and the job that is asked about."""
    server, job_id = Server(tmp_path / "data"), new_id()
    server.fates([entry(job_id, A, 1, "job", {"title": "x"}), *entries(job_id, A, 2, 40)])
    server.fates([entry(new_id(), A, 1, "job", {"title": "x"}) for _ in range(20)])
    server.fates([entry(job_id, B, 1, "photo", {"sha256": SHA256}), *entries(job_id, B, 2, 5)])
    yield server, job_id
    server.close()


def test_a_push_and_what_follows_scan_no_table(filled):
    server, job_id = filled
    found = server.sync(jobs={job_id: {"have": {A: 40, B: 5}}}, lists={}).json
    stamp, lists = found["jobs"][job_id]["stamp"], found["lists"]
    with server.app.app_context():
        plans = Plans(db.engine)
    photo = entry(job_id, B, 6, "photo", {"sha256": "b" * 64})
    job = entry(job_id, B, 7, "job", {"title": "y"})
    odd = entry(job_id, B, 8, fields={"counter_m": "far"})
    state = {"since": stamp, "have": {B: 8}}
    answer = server.sync([photo, job, odd], {job_id: state}, lists=lists, photo_remarks=True).json
    assert [fate[1] for fate in answer["fates"]] == ["kept", "kept", "set_aside"]
    assert answer["others_since"] == lists["others"] and len(answer["photos_wanted"]) == 2
    server.sync([photo, job], {job_id: {"have": {}}})  # all of it, as an earlier version asks
    plans.close()
    assert any("INSERT INTO entry" in statement for statement in plans.found)
    assert any("FROM change" in statement for statement in plans.found)
    (counted,) = [plan for statement, plan in plans.found.items() if "ix_entry_aside" in statement]
    assert "SEARCH entry USING INDEX ix_entry_aside (job_id=?)" in counted
    assert not plans.scans(), plans.scans()


def test_a_scan_is_seen(filled):
    server, _ = filled
    with server.app.app_context():
        plans = Plans(db.engine)
        with db.engine.connect() as connection:
            connection.execute(text("SELECT count(*) FROM entry WHERE received_at = ''"))
        plans.close()
    assert plans.scans()

"""Ways of losing on the server: a disk that fills in the middle of a batch, a kill between commit and answer."""

import pytest
from servers import Server, entries, error_of
from sqlalchemy import event
from sync_phones import NEW_JOB, RUN

from webapp.store.models import db
from webapp.timesource import new_id


@pytest.fixture
def full_disk(tmp_path):
    """A server whose database may grow by no page more until ``room`` is set."""
    server = Server(tmp_path / "data")
    server.room = 1_000_000
    with server.app.app_context():
        engine = db.engine

    @event.listens_for(engine, "begin")
    def begin(connection):
        connection.exec_driver_sql(f"PRAGMA max_page_count={server.room}")

    yield server
    server.close()


def pages(server):
    with server.app.app_context(), db.engine.connect() as connection:
        return connection.exec_driver_sql("PRAGMA page_count").scalar()


def test_way_19_a_disk_that_fills_in_a_batch_keeps_all_of_it_or_nothing(full_disk):
    server, job = full_disk, new_id()
    server.fates(entries(job, "writer-aaaa", 1, 3))
    before, batch = server.all_rows(), entries(job, "writer-aaaa", 4, 900)
    server.room = pages(server) + 2
    refused = server.sync(batch)
    assert refused.status_code == 507 and error_of(refused)["code"] == "disk_full" and refused.json["retry"]
    assert server.all_rows() == before, "not half of it"
    server.room = 1_000_000
    assert {outcome[1] for outcome in server.fates(batch)} == {"kept"}
    assert server.pull(job)["jobs"][job]["have"] == {"writer-aaaa": 900}


def test_way_20_a_kill_between_commit_and_answer_doubles_nothing(kit, live_server, relay):
    one = kit(relay.url)
    job = one.kit(NEW_JOB, 40)
    relay.outage_s = 3
    relay.lose_answer("POST", "/api/sync", how="outage")  # it is on disk; nobody heard of it
    assert one.kit(RUN)["state"] == "offline"
    live_server.restart()  # kill -9
    assert len(live_server.entries(job)) == 41
    assert one.kit("async ({sync}) => sync.status.unsent") == 41, "not called sent before it was heard"
    one.page.wait_for_timeout(3300)
    assert one.kit(RUN)["state"] == "sent"
    held = live_server.entries(job)
    assert len(held) == 41 == len({(e["writer"], e["number"]) for e in held})
    assert one.kit("async ({sync}) => sync.status.state") == "all_sent"

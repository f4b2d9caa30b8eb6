"""An application on a data folder of its own, and entries to send to it."""

import json

import described
import empty_data
import pytest
from flask.testing import FlaskClient
from sqlalchemy import event

from webapp import create_app
from webapp.timesource import new_id
from webapp.web.state import state_of

STAMP = "2026-11-25T10:31:07.120+00:00"
ONE_IN_80 = {"size": 80, "unit": "one_in", "sense": "falling", "typed": "1:80"}


def entry(job_id, writer, number, kind="reading", fields=None, record_id=None, **more):
    """Return one good entry; ``more`` replaces or adds parts of it."""
    own = {"counter_m": 12.3, "inclination": ONE_IN_80} if fields is None else fields
    return {
        "job_id": job_id,
        "writer": writer,
        "number": number,
        "device_id": "test phone",
        "record_id": record_id or (job_id if kind == "job" else new_id()),
        "kind": kind,
        "fields": own,
        "recorded_at": STAMP,
        **more,
    }


def entries(job_id, writer, first, last, **more):
    """Return good entries with the numbers ``first`` to ``last``."""
    return [entry(job_id, writer, number, **more) for number in range(first, last + 1)]


class Client(FlaskClient):
    """A test client that reads every answer to its end, as a browser does, and holds it against the API's
    own description: an answer that is not described there fails the test."""

    def open(self, *args, **more):
        more.setdefault("buffered", True)
        answer = super().open(*args, **more)
        described.check(answer.request.method, answer.request.path, answer)
        return answer


def wait_for_no_disk(app):
    """Let what the database writes reach the disk in its own time: this process is not killed."""
    from webapp.store.models import db

    with app.app_context():
        if db.engine.dialect.name == "sqlite":
            event.listen(db.engine, "connect", lambda dbapi, _: dbapi.execute("PRAGMA synchronous=OFF"))
            db.engine.dispose()


class Server:
    """The application, its test client, and the requests that tests make of it.

    ``anew``: its database is made here, commit by commit, and each commit waits for the disk.
    """

    def __init__(self, folder, *, anew=False, **settings):
        self.folder = folder
        if not (anew or "DATABASE_URL" in settings):
            empty_data.put_where_none_is(folder)
        self.app = create_app({"DATA_FOLDER": folder, **settings})
        if not anew:
            wait_for_no_disk(self.app)
        self.app.test_client_class = Client
        self.client = self.app.test_client()

    def close(self):
        with self.app.app_context():
            from webapp.store.models import db

            db.engine.dispose()
        state_of(self.app).close()

    def sync(self, sent=(), jobs=None, **more):
        """Send a sync request and return the response."""
        body = {"protocol": 1, "device_id": "test phone", "jobs": jobs or {}, "entries": list(sent), **more}
        return self.client.post("/api/sync", json=body)

    def fates(self, sent):
        answer = self.sync(sent)
        assert answer.status_code == 200, answer.text
        return answer.json["fates"]

    def pull(self, job_id, have=None, **more):
        answer = self.sync(jobs={job_id: {"have": have or {}}}, **more)
        assert answer.status_code == 200, answer.text
        return answer.json

    def all_rows(self):
        """Return everything the database holds, to see that nothing changed."""
        from sqlalchemy import text

        from webapp.store.engine import reading

        with self.app.app_context(), reading() as connection:
            return {
                table: sorted(map(tuple, connection.execute(text(f"SELECT * FROM {table}"))), key=repr)
                for table in ("entry", "clash", "photo", "change")
            }


def erase(server, job_id, what, target="", days=30, reason="on request"):
    """Erase something as the office does, and return the answer."""
    body = {"what": what, "target": target, "reason": reason, "days": days}
    answer = server.client.post(f"/api/jobs/{job_id}/erasures", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json


def error_of(response):
    """Return the one error of a response in the one shape; a failure here is a failure of the shape."""
    body = json.loads(response.data)
    assert set(body) - {"offset"} == {"ok", "status", "retry", "errors"}, body
    assert body["ok"] is False and body["status"] == response.status_code
    (one,) = body["errors"]
    assert set(one) == {"code", "field", "index", "message"} and one["message"]
    return one


@pytest.fixture
def server(tmp_path):
    one = Server(tmp_path / "data")
    yield one
    one.close()


@pytest.fixture
def job_id():
    return new_id()

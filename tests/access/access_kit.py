"""A server with access control on, and the senders that may come to it."""

import hashlib
import io
import itertools
from datetime import timedelta

import pytest
from grown import grown_settings
from PIL import Image
from servers import Server, entry

from webapp import timesource
from webapp.access import credentials, granting
from webapp.access.who import CLIENT_COOKIE, DEVICE_COOKIE, LOCAL_MARK
from webapp.erasing import acts
from webapp.store import access_rows
from webapp.store.engine import writing
from webapp.timesource import new_id
from webapp.web.state import state_of

BOOK = "https://book.example"
LONG_AGO, FAR_AHEAD = "2020-01-01T00:00:00.000+00:00", "2200-01-01T00:00:00.000+00:00"
ADDRESSES = (f"10.1.{n // 250}.{n % 250 + 1}" for n in itertools.count())


def picture(shade):
    """Return the bytes of a small picture."""
    out = io.BytesIO()
    Image.new("RGB", (8, 8), (shade, shade, shade)).save(out, "JPEG")
    return out.getvalue()


class Sender:
    """Somebody with a browser of their own, at an address of their own."""

    def __init__(self, van, cookies=(), base=BOOK, environ=None, token=None):
        self.van, self.base, self.environ, self.token = van, base, environ or {}, token
        self.address = self.environ.get("REMOTE_ADDR") or next(ADDRESSES)
        self.browser = van.app.test_client()
        for name, value in cookies:
            self.browser.set_cookie(name, value, domain="book.example", secure=True)

    def open(self, method, path, **more):
        more.setdefault("base_url", self.base)
        environ = {"REMOTE_ADDR": self.address, **self.environ}
        if self.token:
            environ["HTTP_AUTHORIZATION"] = f"Bearer {self.token}"
        return self.browser.open(path, method=method, environ_base=environ, **more)

    def get(self, path, **more):
        return self.open("GET", path, **more)

    def post(self, path, value=None, **more):
        return self.open("POST", path, json={} if value is None else value, **more)

    def sync(self, sent=(), jobs=None, phone="test phone"):
        body = {"protocol": 1, "device_id": phone, "jobs": jobs or {}, "entries": list(sent)}
        return self.post("/api/sync", body)

    def fates(self, sent, phone="test phone"):
        answer = self.sync(sent, phone=phone)
        assert answer.status_code == 200, answer.text
        return answer.json["fates"]


class OverPlainHttp(Sender):
    """Somebody who sends another's cookie over a way that others can read."""

    def __init__(self, van, victim):
        super().__init__(van, base=BOOK.replace("https", "http"))
        self.browser = van.app.test_client(use_cookies=False)
        name = "__Host-fallbook"
        found = victim.browser.get_cookie(name, domain="book.example")
        self.cookie = f"{name}={found.value}"

    def open(self, method, path, **more):
        more["headers"] = {**more.get("headers", {}), "Cookie": self.cookie}
        return super().open(method, path, **more)


class Van(Server):
    """The server of a firm: phones and clients come to it by its name, over HTTPS."""

    def __init__(self, folder, **settings):
        super().__init__(folder, PUBLIC_URL=BOOK, **settings)
        assert self.app.config["ACCESS"], "a server with a name of its own asks for credentials"

    def invite(self, role="surveyor", job_id=None, hours=1.0):
        with self.app.app_context():
            return granting.invite(role, f"A {role}", job_id, hours, granting.By())

    def let_in(self, role="surveyor", job_id=None):
        """Return a sender that has used an invitation, with its device's id in ``device_id``."""
        sender = Sender(self)
        answer = sender.post("/api/join", {"code": self.invite(role, job_id), "name": f"The {role}"})
        assert answer.status_code == 200, answer.text
        sender.device_id = answer.json["device_id"]
        return sender

    def nobody(self):
        return Sender(self)

    def this_machine(self):
        return Sender(self, base="http://localhost", environ={LOCAL_MARK: True, "REMOTE_ADDR": "127.0.0.1"})

    def revoked(self):
        sender = self.let_in()
        self.revoke(sender.device_id)
        return sender

    def revoke(self, device_id):
        with self.app.app_context():
            granting.revoke(device_id, granting.By())

    def client_of(self, job_id, days=1.0):
        with self.app.app_context():
            secret, _ = granting.make_link(job_id, "Client", days, granting.By())
        return Sender(self, [(CLIENT_COOKIE, secret)])

    def credential(self, role="reader", job_id=None, days=1.0):
        """Return the token of a new credential and its row."""
        with self.app.app_context():
            return credentials.add(role, f"A {role} script", job_id, days, granting.By())

    def script(self, role="reader", job_id=None, days=1.0, **more):
        """Return a script that shows a credential of its own."""
        token, row = self.credential(role, job_id, days)
        sender = Sender(self, token=token, **more)
        sender.device_id = row["id"]
        return sender

    def ended_script(self):
        sender = self.script()
        self.revoke(sender.device_id)
        return sender

    def expired_client(self, job_id, monkeypatch):
        sender = self.client_of(job_id)
        self.pass_time(monkeypatch, days=2)
        return sender

    @staticmethod
    def pass_time(monkeypatch, **span):
        """Let time go on."""
        real = timesource.now_utc
        monkeypatch.setattr(timesource, "now_utc", lambda: real() + timedelta(**span))

    def dated(self, table, column, moment, **where):
        """Write over when something was."""
        with self.app.app_context(), writing() as connection:
            access_rows.change(connection, table, where, {column: moment})

    def idle(self):
        """Return an office browser that nobody used for a year."""
        sender = self.let_in("office")
        self.dated(access_rows.DEVICE, "last_seen_at", LONG_AGO, id=sender.device_id)
        return sender

    def script_made_ahead(self):
        sender = self.script("office")
        self.dated(access_rows.DEVICE, "created_at", FAR_AHEAD, id=sender.device_id)
        return sender

    def erased(self, job_id, days=30):
        """Take a whole job away; return the act's id."""
        wanted = {"job_id": job_id, "what": "job", "reason": "Wrong site", "days": days}
        with self.app.app_context():
            return acts.erase(wanted, granting.By()).id

    def job_with_photo(self, shade):
        """Put a job with one photo on the server; return its id and the photo's hash."""
        job_id, data = new_id(), picture(shade)
        sha256 = hashlib.sha256(data).hexdigest()
        fields = {"sha256": sha256, "media_type": "image/jpeg", "size_bytes": len(data)}
        here = self.this_machine()
        sent = [
            entry(job_id, f"maker-{job_id[-8:]}", 1, kind="job", fields={"title": f"Job {shade}"}),
            entry(job_id, f"maker-{job_id[-8:]}", 2, kind="photo", fields=fields),
        ]
        assert [f[1] for f in here.fates(sent)] == ["kept", "kept"]
        headers = {"Upload-Offset": "0", "Upload-Length": str(len(data))}
        answer = here.open(
            "PUT", f"/api/photos/{sha256}", data=data, headers=headers, content_type="image/jpeg"
        )
        assert answer.json["complete"] is True
        return job_id, sha256

    def pack_of(self, job_id):
        """Put a finished pack of a job on the server, made of next to nothing; return its id."""
        packing = state_of(self.app).packing
        pack = packing.start(job_id, lambda task: task.part.write_bytes(b"PK"))
        while packing.find(pack.pack_id).state != "done":
            pass
        return pack.pack_id


@pytest.fixture
def van(request, tmp_path):
    grown = getattr(request, "param", "embedded") == "grown"
    one = Van(tmp_path / "data", **(grown_settings(request) if grown else {}))
    yield one
    one.close()


# A test that runs on both: as it comes, and on PostgreSQL with its photos in an S3-compatible store.
on_both = pytest.mark.parametrize("van", ["embedded", "grown"], indirect=True)

__all__ = ["BOOK", "CLIENT_COOKIE", "DEVICE_COOKIE", "Sender", "Van", "on_both", "van"]

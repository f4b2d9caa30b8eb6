"""Each code that the description lists for an operation is one that it really answers with.

What follows from what an operation is, is provoked in every one; what is its own, one by one.  That no answer
has a code that is not listed is seen in every test, see ``tests/described.py``.
"""

import errno
import json

import described
import pytest
from access_kit import BOOK, CLIENT_COOKIE, OverPlainHttp, Sender, Van
from refusal_cases import FILES, OWN, past, store_down, used
from servers import error_of
from sqlalchemy.exc import OperationalError

from webapp import config
from webapp.access import granting, limits
from webapp.access.permissions import RULES, SOMEBODY
from webapp.api import packs as packs_api
from webapp.errors import AppError
from webapp.web.openapi import OPERATIONS
from webapp.web.openapi.refusals import codes_of
from webapp.web.openapi.security import asks

BY_NAME = {one.name: one for one in OPERATIONS}
PHOTO = b"x"
ODD = {"nothing": "at all"}


class World:
    """A server with a job, a photo and a pack, and somebody of every kind."""

    def __init__(self, folder):
        self.van = Van(folder)
        self.job_id, self.photo = self.van.job_with_photo(40)
        self.foreign, self.foreign_photo = self.van.job_with_photo(90)
        self.names = {"job_id": self.job_id, "sha256": self.photo, "pack_id": self.van.pack_of(self.job_id)}
        self.names |= {"name": "shapes", "filename": "css/base.css"}
        self.office = self.van.let_in("office")
        self.names["device_id"] = self.van.let_in().device_id
        self.bound = self.van.script("surveyor", self.job_id)
        self.reader = self.van.script("reader")
        self.secret, row = self.link()
        self.names["link_id"] = row["id"]
        self.names["erasure_id"] = self.van.erased(self.van.job_with_photo(120)[0])

    def link(self):
        with self.van.app.app_context():
            return granting.make_link(self.job_id, "", 1, granting.By())

    def ask(self, one, sender=None, names=None, more=None, **replaced):
        """Ask an operation as its description says, or with parts of the request replaced."""
        path = one.path.format(**self.names | (names or {}))
        given = {p["in"]: {} for p in one.parameters}
        for part in one.parameters:
            given[part["in"]][part["name"]] = str(part["example"])
        sent = {"query_string": given.get("query", {}), "headers": dict(given.get("header", {}))}
        content = one.body.get("content", {})
        if "application/json" in content:
            sent |= {"data": json.dumps(content["application/json"]["example"])}
            sent |= {"content_type": "application/json"}
        elif content:
            sent |= {"data": PHOTO, "content_type": "application/octet-stream"}
        sent["headers"] |= replaced.pop("headers", {})
        return (sender or self.office).open(one.method.upper(), path, **sent | replaced)


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    patch = pytest.MonkeyPatch()
    patch.setattr(packs_api, "build_pack", lambda _app, _job, out, _progress: out.write(b"PK"))
    many = limits.Limit(1e9, 1e9)
    patch.setattr(limits, "LIMITS", dict.fromkeys(limits.LIMITS, many))
    one = World(tmp_path_factory.mktemp("refusals") / "data")
    yield one
    one.van.close()
    patch.undo()


def is_code(answer, code, method="get"):
    """Fail where an answer was not refused with a code, or is no refusal that is described."""
    described.check(answer.request.method, answer.request.path, answer)
    assert answer.status_code == AppError(code).kind.status, (answer.status_code, answer.text[:200])
    if method != "head" and answer.mimetype == "application/json":
        assert error_of(answer)["code"] == code, answer.text[:200]


def senders(world):
    """Return somebody whose credential is refused, by the code."""
    secret, row = world.link()
    with world.van.app.app_context():
        granting.revoke_link(row["id"], granting.By())
    token, _ = world.van.credential("office")
    return {
        "access_needed": world.van.nobody(),
        "access_revoked": world.van.revoked(),
        "access_expired": Sender(world.van, [(CLIENT_COOKIE, secret)]),
        "access_idle": world.van.idle(),
        "made_ahead": world.van.script_made_ahead(),
        "credential_unknown": Sender(world.van, token=f"fallbook_{'x' * 43}"),
        "credential_ended": world.van.ended_script(),
        "credential_expired": world.van.script("office", days=1e-9),
        "credential_insecure": Sender(world.van, token=token, base=BOOK.replace("https", "http")),
    }


@pytest.mark.parametrize("one", [o for o in OPERATIONS if asks(o.endpoint)], ids=lambda one: one.name)
def test_a_credential_that_is_not_good(world, one, monkeypatch):
    for code, sender in senders(world).items():
        is_code(world.ask(one, sender), code, one.method)
    if RULES[one.endpoint] < SOMEBODY:
        is_code(world.ask(one, world.reader), "access_role", one.method)
    monkeypatch.setitem(limits.LIMITS, "any", limits.Limit(0, 1e-9))
    is_code(world.ask(one), "too_many_requests", one.method)


@pytest.mark.parametrize("one", OPERATIONS, ids=lambda one: one.name)
def test_what_any_operation_may_say(world, one, monkeypatch):
    is_code(world.ask(one, headers={"Host": "elsewhere.example"}), "host_unknown", one.method)
    faults = {"server_fault": ZeroDivisionError("x")}
    faults["busy"] = OperationalError("INSERT", {}, Exception("database is locked"))
    if "disk_full" in codes_of(one):
        faults["disk_full"] = OSError(errno.ENOSPC, "No space left on device")
    for code, fault in faults.items():

        def fail(*_args, fault=fault, **_words):
            raise fault

        monkeypatch.setitem(world.van.app.view_functions, one.endpoint, fail)
        is_code(world.ask(one), code, one.method)
    monkeypatch.setitem(world.van.app.config, "ACCESS", False)
    is_code(world.ask(one), "address_open", one.method)


CHANGES = [one for one in OPERATIONS if one.method not in ("get", "head")]


@pytest.mark.parametrize("one", CHANGES, ids=lambda one: one.name)
def test_what_changes_something_is_not_for_another_site(world, one):
    is_code(world.ask(one, headers={"Origin": "https://evil.example"}), "cross_site")


@pytest.mark.parametrize("one", [o for o in OPERATIONS if o.takes_json], ids=lambda one: one.name)
def test_a_body_that_is_not_json(world, one):
    is_code(world.ask(one, content_type="text/plain"), "media_type")
    is_code(world.ask(one, data="{"), "body_not_json")
    is_code(world.ask(one, data=b"{}", headers={"Content-Encoding": "gzip"}), "body_not_gzip")
    is_code(world.ask(one, data="[]"), "request_malformed")
    is_code(world.ask(one, data=b" " * (config.SYNC_BYTES + 1)), "body_too_large")


@pytest.mark.parametrize("code", FILES)
def test_a_file_that_cannot_be_taken(world, code):
    kind = "application/octet-stream" if FILES[code][:1] == b"#" else "application/zip"
    is_code(world.ask(BY_NAME["importJob"], data=FILES[code], content_type=kind), code)


for _name in ("photoOffset", "putPhotoPiece", "photo"):
    OWN[_name, "photo_name"] = lambda w, o, p: w.ask(o, names={"sha256": "zz"})
for _name in ("job", "proveJob", "makePack", "officeJob", "makeClientLink", "acceptBeside"):
    OWN[_name, "job_not_found"] = lambda w, o, p: w.ask(o, names={"job_id": "zz"})
for _name in ("pack", "packFile"):
    OWN[_name, "pack_not_found"] = lambda w, o, p: w.ask(o, names={"pack_id": "zz"})
for _name in ("lookAtInvitation", "join"):
    OWN[_name, "invitation_unknown"] = lambda w, o, p: w.ask(o)
    OWN[_name, "invitation_used"] = lambda w, o, p: w.ask(o, json={"code": used(w)}, data=None)
    OWN[_name, "invitation_expired"] = lambda w, o, p: w.ask(o, json={"code": past(w)}, data=None)
for _name in ("lookAtInvitation", "join", "openClientLink", "invite", "makeClientLink"):
    OWN[_name, "access_insecure"] = lambda w, o, p: w.ask(o, base_url=BOOK.replace("https", "http"))
for _name in ("lookAtInvitation", "join", "openClientLink"):
    OWN[_name, "too_many_requests"] = lambda w, o, p: (
        p.setitem(limits.LIMITS, "redeem", limits.Limit(0, 1e-9)),
        w.ask(o),
    )[1]
for _name in ("invite", "makeClientLink"):
    OWN[_name, "access_insecure"] = lambda w, o, p: w.ask(o, OverPlainHttp(w.van, w.office))
    OWN[_name, "url_unknown"] = lambda w, o, p: (
        p.setitem(w.van.app.config, "PUBLIC_URL", ""),
        w.ask(o, w.van.this_machine()),
    )[1]
for _name in ("lookAtInvitation", "join", "openClientLink", "invite", "makeClientLink"):
    OWN[_name, "access_off"] = lambda w, o, p: (
        p.setitem(w.van.app.config, "ACCESS", False),
        w.ask(o, w.van.this_machine()),
    )[1]


for _name in ("photoOffset", "putPhotoPiece", "photo"):
    OWN[_name, "photo_store_down"] = lambda w, o, p: store_down(w, o, p)


@pytest.mark.parametrize(("name", "code"), OWN, ids=lambda x: x)
def test_what_is_an_operation_s_own(world, name, code, monkeypatch):
    one = BY_NAME[name]
    is_code(OWN[name, code](world, one, monkeypatch), code, one.method)


@pytest.mark.parametrize("one", OPERATIONS, ids=lambda one: one.name)
def test_every_code_listed_is_provoked_here(one):
    """A code that nobody could provoke is not in the description."""
    seen = {"host_unknown", "server_fault", "busy", "address_open"}
    seen |= {"data_damaged", "database_lost"}  # see tests/store/test_damaged_pages.py and its neighbours
    seen |= {"photos_lost", "photo_store_down"} if one.name == "health" else set()
    seen |= {"request_malformed"}  # where nothing of the request is read, waitress says it: see test_headers
    if asks(one.endpoint):
        seen |= {"access_needed", "access_revoked", "access_expired", "too_many_requests"}
        seen |= {"access_idle", "made_ahead"}
        seen |= {f"credential_{why}" for why in ("unknown", "ended", "expired", "insecure")}
        seen |= {"access_role"} if RULES[one.endpoint] < SOMEBODY else set()
    if one in CHANGES:
        seen |= {"cross_site", "disk_full"}
    if one.takes_json:
        seen |= {"media_type", "body_not_json", "body_not_gzip", "body_too_large"}
    seen |= {code for name, code in OWN if name == one.name}
    seen |= set(FILES) if one.name == "importJob" else set()
    assert seen == codes_of(one)

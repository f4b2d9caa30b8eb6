"""Each code that the description lists for an operation is one that it really answers with.

What follows from what an operation is, is provoked in every one; what is its own, one by one.  That no answer
has a code that is not listed is seen in every test, see ``tests/described.py``.
"""

import errno
import hashlib
import io
import json
import zipfile

import described
import pytest
from access_kit import BOOK, CLIENT_COOKIE, OverPlainHttp, Sender, Van
from servers import error_of
from sqlalchemy.exc import OperationalError

from webapp import config
from webapp.access import granting, limits
from webapp.access.permissions import JOB, RULES
from webapp.api import packs as packs_api
from webapp.errors import AppError
from webapp.intake import open_job, safe_zip
from webapp.pack import manifest_json
from webapp.schemas import examples
from webapp.schemas.wire import job_file_example
from webapp.sync.exchange import MAX_ENTRIES
from webapp.timesource import new_id
from webapp.web.openapi import OPERATIONS
from webapp.web.openapi.refusals import codes_of
from webapp.web.openapi.security import asks
from webapp.web.state import state_of

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
        "credential_unknown": Sender(world.van, token=f"fallbook_{'x' * 43}"),
        "credential_ended": world.van.ended_script(),
        "credential_expired": world.van.script("office", days=1e-9),
        "credential_insecure": Sender(world.van, token=token, base=BOOK.replace("https", "http")),
    }


@pytest.mark.parametrize("one", [o for o in OPERATIONS if asks(o.endpoint)], ids=lambda one: one.name)
def test_a_credential_that_is_not_good(world, one, monkeypatch):
    for code, sender in senders(world).items():
        is_code(world.ask(one, sender), code, one.method)
    if RULES[one.endpoint] != JOB:
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


def zipped(*members):
    """Return a zip of (name, bytes)."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in members:
            archive.writestr(name, data)
    return out.getvalue()


def job_with(**parts):
    """Return the example of a job file with some parts replaced."""
    return json.dumps(job_file_example() | parts).encode()


def with_entries(**parts):
    entry = examples.entry("job", 1) | {"record_id": examples.JOB_ID}
    return job_with(records=[], entries=[entry], photos=[], **parts)


WRONG_PHOTO = job_with(photos=[{"sha256": "0" * 64, "size_bytes": 1, "media_type": "image/png"}])
FILES = {
    "file_kind": b"%PDF-1.7",
    "file_not_json": b"{",
    "job_file_kind": b"{}",
    "job_file_newer": job_with(version=2),
    "job_file_invalid": job_with(records={}),
    "job_file_inconsistent": with_entries(),
    "exchange_unreadable": b"#A1=ISO-8859-1:1998\r\n\x00",
    "exchange_empty": b"#A1=ISO-8859-1:1998\r\n",
    "zip_unsafe_name": zipped(("../x", b"")),
    "zip_damaged": b"PK\x03\x04 and no more",
    "pack_no_manifest": zipped(("manifest.json", b"{}"), ("job.json", b"{}")),
    "photo_hash_mismatch": zipped(("job.json", WRONG_PHOTO), (f"photos/{'0' * 64}.png", b"y")),
}


@pytest.mark.parametrize("code", FILES)
def test_a_file_that_cannot_be_taken(world, code):
    kind = "application/octet-stream" if FILES[code][:1] == b"#" else "application/zip"
    is_code(world.ask(BY_NAME["importJob"], data=FILES[code], content_type=kind), code)


def fails(code):
    """Return a stand-in for something that answers with a code."""

    def stand_in(*_args, **_words):
        raise AppError(code)

    return stand_in


def newer_pack():
    """Return a pack of a version that is not known yet."""
    return zipped(
        ("manifest.json", json.dumps({"format": manifest_json.FORMAT, "version": 99}).encode()),
        ("job.json", b"{}"),
    )


def used(world):
    code = world.van.invite()
    world.van.nobody().post("/api/join", {"code": code})
    return code


def past(world):
    with world.van.app.app_context():
        return granting.invite("surveyor", "", None, 1e-9, granting.By())


def ended(world):
    secret, row = world.link()
    with world.van.app.app_context():
        granting.revoke_link(row["id"], granting.By())
    return secret


NOWHERE = "0" * 64
OWN = {
    ("sync", "protocol_unknown"): lambda w, o, p: w.ask(o, json={"protocol": 2}, data=None),
    ("sync", "too_many_entries"): lambda w, o, p: w.ask(
        o, json={"protocol": 1, "device_id": "x", "entries": [{}] * (MAX_ENTRIES + 1)}, data=None
    ),
    ("sync", "too_many_jobs"): lambda w, o, p: w.ask(
        o, json={"protocol": 1, "device_id": "x", "jobs": dict.fromkeys(map(str, range(5001)))}, data=None
    ),
    ("sync", "entry_malformed"): lambda w, o, p: w.ask(
        o, json={"protocol": 1, "device_id": "x", "entries": [{}]}, data=None
    ),
    ("declination", "declination_place"): lambda w, o, p: w.ask(
        o, query_string={"lat_deg": 91, "lon_deg": 0, "on": "2026-11-25"}
    ),
    ("declination", "declination_date"): lambda w, o, p: w.ask(
        o, query_string={"lat_deg": 54, "lon_deg": 0, "on": "1900-01-01"}
    ),
    ("declination", "request_malformed"): lambda w, o, p: w.ask(o, query_string={}),
    ("putPhotosTogether", "media_type"): lambda w, o, p: w.ask(o, content_type="text/plain"),
    ("putPhotosTogether", "request_malformed"): lambda w, o, p: w.ask(o, headers={"Upload-Parts": "x"}),
    ("putPhotosTogether", "body_too_large"): lambda w, o, p: w.ask(
        o, data=b"x" * (config.PHOTO_PIECE_BYTES + 1)
    ),
    ("putPhotosTogether", "photo_store_down"): lambda w, o, p: (
        p.setattr(state_of(w.van.app).photos.place, "settle", fails("photo_store_down")),
        w.ask(
            o,
            headers={"Upload-Parts": f'"{hashlib.sha256(b"q").hexdigest()}";length=1;type="image/png"'},
            data=b"q",
        ),
    )[1],
    ("photoOffset", "photo_not_found"): lambda w, o, p: w.ask(o, w.bound, {"sha256": w.foreign_photo}),
    ("putPhotoPiece", "photo_not_found"): lambda w, o, p: w.ask(o, w.bound, {"sha256": w.foreign_photo}),
    ("photo", "photo_not_found"): lambda w, o, p: w.ask(o, names={"sha256": NOWHERE}),
    ("putPhotoPiece", "request_malformed"): lambda w, o, p: w.ask(o, headers={"Upload-Offset": "x"}),
    ("putPhotoPiece", "photo_too_large"): lambda w, o, p: w.ask(
        o, names={"sha256": NOWHERE}, headers={"Upload-Length": "300000000"}
    ),
    ("putPhotoPiece", "body_too_large"): lambda w, o, p: w.ask(o, data=b"x" * (config.PHOTO_PIECE_BYTES + 1)),
    ("putPhotoPiece", "photo_offset_mismatch"): lambda w, o, p: w.ask(
        o, names={"sha256": NOWHERE}, headers={"Upload-Offset": "1"}
    ),
    ("putPhotoPiece", "photo_hash_mismatch"): lambda w, o, p: w.ask(
        o, names={"sha256": NOWHERE}, headers={"Upload-Length": "1"}
    ),
    ("importJob", "media_type"): lambda w, o, p: w.ask(o, content_type="text/plain"),
    ("importJob", "body_too_large"): lambda w, o, p: (p.setattr(config, "IMPORT_BYTES", 3), w.ask(o))[1],
    ("importJob", "file_unreadable"): lambda w, o, p: (
        p.setattr(open_job, "MAX_JOB_FILE_BYTES", 3),
        w.ask(o),
    )[1],
    ("importJob", "exchange_too_large"): lambda w, o, p: (
        p.setattr(open_job.exchange, "MAX_BYTES", 3),
        w.ask(o, data=b"#A1=ISO", content_type="application/octet-stream"),
    )[1],
    ("importJob", "zip_too_large"): lambda w, o, p: (
        p.setattr(safe_zip, "MAX_MEMBERS", 0),
        w.ask(o, data=zipped(("job.json", b"{}")), content_type="application/zip"),
    )[1],
    ("importJob", "pack_mismatch"): lambda w, o, p: w.ask(
        o, data=newer_pack(), content_type="application/zip"
    ),
    ("importJob", "photo_store_down"): lambda w, o, p: (
        p.setattr(state_of(w.van.app).photos.place, "put", fails("photo_store_down")),
        w.ask(
            o,
            data=zipped(
                ("job.json", job_with(photos=[photo_of(b"z")])),
                (f"photos/{hashlib.sha256(b'z').hexdigest()}.png", b"z"),
            ),
            content_type="application/zip",
        ),
    )[1],
    ("makePack", "media_type"): lambda w, o, p: w.ask(o, content_type="text/plain"),
    ("invite", "job_not_found"): lambda w, o, p: w.ask(o, json={"job_id": new_id()}, data=None),
    ("revokeDevice", "device_unknown"): lambda w, o, p: w.ask(o, names={"device_id": new_id()}),
    ("revokeClientLink", "client_link_unknown"): lambda w, o, p: w.ask(o, names={"link_id": new_id()}),
    ("audit", "job_not_found"): lambda w, o, p: w.ask(o, query_string={"job_id": "x"}),
    ("audit", "request_malformed"): lambda w, o, p: w.ask(o, query_string={"last": "0"}),
    ("table", "not_found"): lambda w, o, p: w.ask(o, names={"name": "nothing"}),
    ("staticFile", "not_found"): lambda w, o, p: w.ask(o, names={"filename": "nothing.css"}),
    ("openClientLink", "client_link_unknown"): lambda w, o, p: w.ask(o, json={"secret": "y" * 43}, data=None),
    ("openClientLink", "access_expired"): lambda w, o, p: w.ask(o, json={"secret": ended(w)}, data=None),
}
for _name in ("photoOffset", "putPhotoPiece", "photo"):
    OWN[_name, "photo_name"] = lambda w, o, p: w.ask(o, names={"sha256": "zz"})
for _name in ("job", "makePack", "officeJob", "makeClientLink", "acceptBeside"):
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


def photo_of(data):
    return {"sha256": hashlib.sha256(data).hexdigest(), "size_bytes": len(data), "media_type": "image/png"}


def store_down(world, one, patch):
    photos = state_of(world.van.app).photos
    for name in ("part_size", "size", "path", "open"):
        patch.setattr(photos.place, name, fails("photo_store_down"))
    return world.ask(one, names={"sha256": world.photo if one.name == "photo" else NOWHERE})


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
    seen |= {"request_malformed"}  # where nothing of the request is read, waitress says it: see test_headers
    if asks(one.endpoint):
        seen |= {"access_needed", "access_revoked", "access_expired", "too_many_requests"}
        seen |= {f"credential_{why}" for why in ("unknown", "ended", "expired", "insecure")}
        seen |= {"access_role"} if RULES[one.endpoint] != JOB else set()
    if one in CHANGES:
        seen |= {"cross_site", "disk_full"}
    if one.takes_json:
        seen |= {"media_type", "body_not_json", "body_not_gzip", "body_too_large"}
    seen |= {code for name, code in OWN if name == one.name}
    seen |= set(FILES) if one.name == "importJob" else set()
    assert seen == codes_of(one)

"""Every route, for every sender, on a job of their own and on another's.

ROWS is written by hand and says again, independently of the rules, whom each route is for.  A route
without a row here is red.
"""

import pytest
from access_kit import CLIENT_COOKIE, Sender, Van

from webapp.access import granting, terms
from webapp.api import packs as packs_api
from webapp.timesource import new_id

REFUSED = {"nobody", "revoked", "expired", "ended script", "expired script", "unknown script"}
READERS = {
    "client",
    "limited",
    "surveyor",
    "office",
    "this machine",
    "reading script",
    "bound reading script",
}
READERS |= {"script", "bound script", "office script"}
PHONES = {"limited", "surveyor", "office", "this machine", "script", "bound script", "office script"}
OFFICES = {"office", "this machine", "office script"}
BOUND = {"client", "limited", "bound reading script", "bound script"}  # to one job
ALL = REFUSED | READERS
SYNC = {"protocol": 1, "device_id": "x", "jobs": {}, "entries": []}
INVITE = {"role": "surveyor"}
OPEN = {"secret": "{secret}", "instead": True}
WHOLE = {"what": "job", "target": ""}
NONE_SUCH = {"what": "writer", "target": "writer-none", "reason": "wrong site"}

# (method, route): whom it is for, an address of it, what is sent, the answer when all is well
ROWS = {
    ("GET", "/"): (ALL, "/", None, 200),
    ("GET", "/sw.js"): (ALL, "/sw.js", None, 200),
    ("GET", "/sw-module.js"): (ALL, "/sw-module.js", None, 200),
    ("GET", "/manifest.webmanifest"): (ALL, "/manifest.webmanifest", None, 200),
    ("GET", "/fields.json"): (ALL, "/fields.json", None, 200),
    ("GET", "/handbook.json"): (ALL, "/handbook.json", None, 200),
    ("GET", "/tables/<name>.json"): (ALL, "/tables/shapes.json", None, 200),
    ("GET", "/favicon.ico"): (ALL, "/favicon.ico", None, 200),
    ("GET", "/static/<path:filename>"): (ALL, "/static/css/base.css", None, 200),
    ("GET", "/healthz"): (ALL, "/healthz", None, 200),
    ("GET", "/api/openapi.json"): (ALL, "/api/openapi.json", None, 200),
    ("GET", "/api/me"): (ALL, "/api/me", None, 200),
    ("POST", "/api/join/look"): (ALL, "/api/join/look", {"code": "{invitation}"}, 200),
    ("POST", "/api/join"): (ALL, "/api/join", {"code": "{invitation}", "instead": True}, 200),
    ("POST", "/api/sign-out"): (OFFICES, "/api/sign-out", {}, 200),
    ("POST", "/api/client-links/open"): (ALL, "/api/client-links/open", OPEN, 200),
    ("GET", "/office/open"): (ALL, "/office/open", None, 200),
    ("GET", "/api/jobs"): (READERS, "/api/jobs", None, 200),
    ("GET", "/api/jobs/<job_id>"): (READERS, "/api/jobs/{job}", None, 200),
    ("GET", "/api/jobs/<job_id>/proof"): (PHONES, "/api/jobs/{job}/proof", None, 200),
    ("GET", "/office/jobs/<job_id>"): (READERS, "/office/jobs/{job}", None, 200),
    ("GET", "/media/photos/<sha256>"): (READERS, "/media/photos/{photo}", None, 200),
    ("POST", "/api/jobs/<job_id>/packs"): (READERS, "/api/jobs/{job}/packs", {}, 202),
    ("GET", "/api/packs/<pack_id>"): (READERS, "/api/packs/{pack}", None, 200),
    ("GET", "/api/packs/<pack_id>/file"): (READERS, "/api/packs/{pack}/file", None, 200),
    ("POST", "/api/sync"): (PHONES, "/api/sync", SYNC, 200),
    ("HEAD", "/api/photos/<sha256>"): (PHONES, "/api/photos/{photo}", None, 200),
    ("PUT", "/api/photos/<sha256>"): (PHONES, "/api/photos/{photo}", b"x", 200),
    ("PUT", "/api/photos"): (PHONES, "/api/photos", b"x", 200),
    ("GET", "/api/declination"): (PHONES, "/api/declination?lat_deg=54&lon_deg=-2&on=2026-11-25", None, 200),
    ("GET", "/office"): (OFFICES, "/office", None, 200),
    ("GET", "/office/phones"): (OFFICES, "/office/phones", None, 200),
    ("GET", "/office/audit"): (OFFICES, "/office/audit", None, 200),
    ("POST", "/api/import"): (OFFICES, "/api/import", {}, 422),
    ("POST", "/api/invitations"): (OFFICES, "/api/invitations", INVITE, 201),
    ("GET", "/api/devices"): (OFFICES, "/api/devices", None, 200),
    ("POST", "/api/devices/<device_id>/revoke"): (OFFICES, "/api/devices/{device}/revoke", {}, 200),
    ("GET", "/api/client-links"): (OFFICES, "/api/client-links", None, 200),
    ("POST", "/api/jobs/<job_id>/client-links"): (OFFICES, "/api/jobs/{job}/client-links", {}, 201),
    ("POST", "/api/client-links/<link_id>/revoke"): (OFFICES, "/api/client-links/{link}/revoke", {}, 200),
    ("POST", "/api/jobs/<job_id>/beside/accept"): (OFFICES, "/api/jobs/{job}/beside/accept", {}, 200),
    ("GET", "/office/erasures"): (OFFICES, "/office/erasures", None, 200),
    ("GET", "/office/jobs/<job_id>/erase"): (OFFICES, "/office/jobs/{job}/erase", None, 200),
    ("GET", "/api/erasures"): (OFFICES, "/api/erasures", None, 200),
    ("POST", "/api/jobs/<job_id>/erasures/preview"): (
        OFFICES,
        "/api/jobs/{job}/erasures/preview",
        WHOLE,
        200,
    ),
    ("POST", "/api/jobs/<job_id>/erasures"): (OFFICES, "/api/jobs/{job}/erasures", NONE_SUCH, 422),
    ("POST", "/api/erasures/<erasure_id>/undo"): (OFFICES, "/api/erasures/{device}/undo", {}, 404),
    ("POST", "/api/erasures/<erasure_id>/expunge"): (OFFICES, "/api/erasures/{device}/expunge", {}, 404),
    ("GET", "/api/audit"): (OFFICES, "/api/audit?last=3", None, 200),
}
CODES = {
    "nobody": (401, "access_needed"),
    "revoked": (403, "access_revoked"),
    "expired": (403, "access_expired"),
    "ended script": (403, "credential_ended"),
    "expired script": (403, "credential_expired"),
    "unknown script": (401, "credential_unknown"),
}
NAMES = [f"{method} {route}" for method, route in ROWS]


class World:
    """One server, two jobs, and every sender."""

    def __init__(self, folder):
        self.van = Van(folder)
        self.jobs = {}
        for whose, shade in (("own", 40), ("foreign", 90)):
            job_id, photo = self.van.job_with_photo(shade)
            self.jobs[whose] = {"job": job_id, "photo": photo, "pack": self.van.pack_of(job_id)}
        own = self.jobs["own"]["job"]
        self.make = {
            "nobody": self.van.nobody,
            "revoked": self.van.revoked,
            "expired": self.expired,
            "client": lambda: self.van.client_of(own),
            "limited": lambda: self.van.let_in("surveyor", own),
            "surveyor": self.van.let_in,
            "office": lambda: self.van.let_in("office"),
            "this machine": self.van.this_machine,
            "reading script": self.van.script,
            "bound reading script": lambda: self.van.script("reader", own),
            "script": lambda: self.van.script("surveyor"),
            "bound script": lambda: self.van.script("surveyor", own),
            "office script": lambda: self.van.script("office"),
            "ended script": self.van.ended_script,
            "expired script": lambda: self.van.script("office", days=1e-9),
            "unknown script": lambda: Sender(self.van, token=f"fallbook_{'x' * 43}"),
        }

    def expired(self):
        with self.van.app.app_context():
            secret, row = granting.make_link(self.jobs["own"]["job"], "", 1, granting.By())
            granting.revoke_link(row["id"], granting.By())
        return Sender(self.van, [(CLIENT_COOKIE, secret)])

    def names(self, whose, wanted):
        """Return what may stand in an address or a body: made anew where using it ends it."""
        found = dict(self.jobs[whose])
        if "{invitation}" in wanted:
            found["invitation"] = self.van.invite()
        if "{device}" in wanted:
            found["device"] = self.van.let_in().device_id
        if "{pack}" in wanted:  # only so many are kept, and every sender makes one
            found["pack"] = self.van.pack_of(found["job"])
        if "{secret}" in wanted or "{link}" in wanted:
            with self.van.app.app_context():
                found["secret"], row = granting.make_link(self.jobs["own"]["job"], "", 1, granting.By())
            found["link"] = row["id"]
        return found

    def ask(self, sender, method, path, sent, names):
        path = path.format(**names)
        if isinstance(sent, bytes):
            headers = {"Upload-Offset": "0", "Upload-Length": "1", "Content-Type": "application/octet-stream"}
            headers["Upload-Parts"] = f'"{names["photo"]}";length=1;type="image/jpeg"'
            return sender.open(method, path, data=sent, headers=headers)
        if sent is None:
            return sender.open(method, path)
        filled = {k: v.format(**names) if isinstance(v, str) else v for k, v in sent.items()}
        return sender.open(method, path, json=filled)


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    patch = pytest.MonkeyPatch()
    patch.setattr(packs_api, "build_pack", lambda _app, _job, out, _progress: out.write(b"PK"))
    one = World(tmp_path_factory.mktemp("matrix") / "data")
    yield one
    one.van.close()
    patch.undo()


def test_every_route_has_a_row(world):
    found = set()
    for rule in world.van.app.url_map.iter_rules():
        methods = rule.methods - {"OPTIONS"}
        found |= {(method, rule.rule) for method in methods - ({"HEAD"} if "GET" in methods else set())}
    assert found == set(ROWS)


def test_every_role_is_among_the_senders(world):
    asked = {world.make[name]().get("/api/me").json["role"] for name in ALL - REFUSED}
    assert asked >= {terms.CLIENT, *terms.ROLES}


def code_of(answer):
    """Return the code of a refusal, or None; an office page says it in words."""
    if answer.status_code < 400:
        return None
    if answer.mimetype == "text/html":
        return {401: "access_needed", 403: "access"}.get(answer.status_code, "html")
    return answer.json["errors"][0]["code"] if answer.data else "no body"


@pytest.mark.parametrize("row", NAMES)
def test_route_by_sender_by_job(world, row):
    method, route = row.split(" ", 1)
    allowed, path, sent, well = ROWS[method, route]
    by_job = any(f"{{{name}}}" in path for name in ("job", "photo", "pack"))
    for name in sorted(ALL):
        for whose in ("own", "foreign") if by_job else ("own",):
            answer = world.ask(world.make[name](), method, path, sent, world.names(whose, f"{path}{sent}"))
            where = (row, name, whose, answer.status_code, answer.data[:200])
            if name not in allowed:
                status, code = CODES.get(name, (403, "access_role"))
                assert answer.status_code == status, where
                assert method == "HEAD" or code.startswith(code_of(answer)), where
            elif whose == "foreign" and name in BOUND:
                assert answer.status_code == 404, where
            else:
                assert answer.status_code == well, where


@pytest.mark.parametrize("sender", sorted(BOUND & READERS))
def test_a_foreign_job_looks_like_none(world, sender):
    """Nothing in the answer tells a job of somebody else's from one that is nowhere."""
    for path, name in (("/api/jobs/{}", "job"), ("/media/photos/{}", "photo"), ("/api/packs/{}", "pack")):
        foreign = world.make[sender]().get(path.format(world.jobs["foreign"][name]))
        nowhere = world.make[sender]().get(path.format("0" * 64 if name == "photo" else new_id()))
        assert (foreign.status_code, foreign.json) == (nowhere.status_code, nowhere.json)


def test_of_several_photos_only_ones_own_are_taken(world):
    """To a phone of one job the photo of another, here or not, is a part that could not be taken."""
    own, foreign, nowhere = world.jobs["own"]["photo"], world.jobs["foreign"]["photo"], "0" * 64
    rows = world.van.all_rows()["photo"]
    header = ", ".join(f'"{name}";length=1;type="image/jpeg"' for name in (foreign, own, nowhere))
    headers = {"Upload-Parts": header, "Content-Type": "application/octet-stream"}
    reported = world.make["limited"]().open("PUT", "/api/photos", data=b"abc", headers=headers).json["photos"]
    assert [one["sha256"] for one in reported] == [foreign, own, nowhere]
    assert [one.get("code") for one in reported] == ["photo_not_found", None, "photo_not_found"]
    assert (
        reported[0] | {"sha256": nowhere} == reported[2]
        and not reported[0]["complete"]
        and reported[1]["complete"]
    )
    assert world.van.all_rows()["photo"] == rows
    anybody = world.make["surveyor"]().open("PUT", "/api/photos", data=b"abc", headers=headers).json["photos"]
    assert [one.get("code") for one in anybody] == [None, None, "photo_hash_mismatch"]


def test_lists_hold_only_ones_own(world):
    own = world.jobs["own"]["job"]
    for sender in sorted(BOUND & READERS):
        assert [job["job_id"] for job in world.make[sender]().get("/api/jobs").json["jobs"]] == [own]
    assert world.make["limited"]().sync().json["others"][0]["job_id"] == own
    assert len(world.make["limited"]().sync().json["others"]) == 1
    assert len(world.make["surveyor"]().sync().json["others"]) == 2

"""Invitations, credentials and client links: once, for a while, over HTTPS, and never in a log."""

import hashlib
import logging
import re
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from access_kit import BOOK, CLIENT_COOKIE, DEVICE_COOKIE, Sender
from servers import entries, error_of
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from webapp.access import granting
from webapp.store import access_rows
from webapp.store.engine import reading
from webapp.store.models import db
from webapp.web import log


def code_of(answer):
    return error_of(answer)["code"]


def cookie_of(answer, name):
    """Return the value and the flags of a cookie that an answer sets."""
    (line,) = [c for c in answer.headers.getlist("Set-Cookie") if c.startswith(f"{name}=")]
    value, *flags = line.split("; ")
    return value.partition("=")[2], {flag.partition("=")[0]: flag.partition("=")[2] for flag in flags}


def test_an_invitation_works_once(van):
    code = van.invite()
    assert van.nobody().post("/api/join/look", {"code": code}).json["role"] == "surveyor"
    first, second = van.nobody(), van.nobody()
    assert first.post("/api/join", {"code": code, "name": "Phone one"}).status_code == 200
    assert code_of(second.post("/api/join", {"code": code, "name": "Phone two"})) == "invitation_used"
    assert code_of(second.post("/api/join/look", {"code": code})) == "invitation_used"
    assert first.get("/api/jobs").status_code == 200
    assert code_of(second.get("/api/jobs")) == "access_needed"


def test_of_many_phones_at_once_one_gets_in(van):
    code, at_once = van.invite(), threading.Barrier(6)

    def join(sender):
        at_once.wait()
        answer = sender.post("/api/join", {"code": code, "name": "A phone"})
        return "let in" if answer.status_code == 200 else code_of(answer)

    with ThreadPoolExecutor(6) as several:
        fates = sorted(several.map(join, [van.nobody() for _ in range(6)]))
    assert fates == ["invitation_used"] * 5 + ["let in"]
    with van.app.app_context():
        assert len(granting.devices()) == 1


def test_a_full_disk_does_not_stop_somebody_who_only_reads(van, monkeypatch):
    phone = van.let_in()
    van.pass_time(monkeypatch, hours=1)

    def full(*_):
        raise OperationalError("UPDATE", {}, Exception("database or disk is full"))

    monkeypatch.setattr(access_rows, "change", full)
    assert phone.get("/api/jobs").status_code == 200


def test_an_invitation_expires(van, monkeypatch):
    code = van.invite(hours=2)
    van.pass_time(monkeypatch, hours=3)
    assert code_of(van.nobody().post("/api/join", {"code": code, "name": "x"})) == "invitation_expired"
    with van.app.app_context():
        assert granting.devices() == []


@pytest.mark.parametrize("code", [None, 7, "", "x" * 43, "x" * 5000, {"a": 1}, "\ud800" * 43])
def test_what_is_no_invitation_is_not_known(van, code):
    assert code_of(van.nobody().post("/api/join", {"code": code, "name": "x"})) == "invitation_unknown"


def test_the_cookie_goes_to_this_server_only_and_not_to_scripts(van):
    answer = van.nobody().post("/api/join", {"code": van.invite(), "name": "x"})
    value, flags = cookie_of(answer, DEVICE_COOKIE)
    assert len(value) == 43
    assert {"Secure", "HttpOnly"} <= set(flags) and "Domain" not in flags
    assert (flags["SameSite"], flags["Path"], flags["Max-Age"]) == ("Strict", "/", str(400 * 86400))
    with van.app.app_context():
        secret, _ = granting.make_link(van.job_with_photo(3)[0], "", 1, granting.By())
    _, flags = cookie_of(van.nobody().post("/api/client-links/open", {"secret": secret}), CLIENT_COOKIE)
    assert {"Secure", "HttpOnly"} <= set(flags) and flags["SameSite"] == "Strict"


def test_no_credential_over_plain_http(van):
    plain = Sender(van, base="http://book.example")
    assert code_of(plain.post("/api/join", {"code": van.invite(), "name": "x"})) == "access_insecure"


def test_only_hashes_are_stored(van, job_id):
    code, sender = van.invite(), van.nobody()
    answer = sender.post("/api/join", {"code": code, "name": "x"})
    secret, _ = cookie_of(answer, DEVICE_COOKIE)
    sender.fates(entries(job_id, "writer-aaaa", 1, 1))
    with van.app.app_context():
        link, _ = granting.make_link(job_id, "", 1, granting.By())
        with reading() as connection:
            tables = db.metadata.sorted_tables
            rows = repr([list(connection.execute(text(f"SELECT * FROM {t.name}"))) for t in tables])
    assert "writer-aaaa" in rows
    for one in (code, secret, link):
        assert one not in rows


def test_a_revoked_phone_is_told_so_and_loses_nothing(van, job_id):
    phone = van.let_in()
    sent = entries(job_id, "writer-aaaa", 1, 3)
    assert [f[1] for f in phone.fates(sent)] == ["kept"] * 3
    van.revoke(phone.device_id)
    refused = phone.sync(entries(job_id, "writer-aaaa", 4, 4))
    assert (refused.status_code, code_of(refused)) == (403, "access_revoked")
    body = refused.json
    assert body["retry"] is False and "still on the phone" in body["errors"][0]["message"]
    me = phone.get("/api/me").json
    assert (me["refused"], me["role"]) == ("access_revoked", "none") and me["message"]
    assert len(van.let_in().sync(jobs={job_id: {"have": {}}}).json["entries"]) == 3


def test_invited_again_a_revoked_phone_is_the_same_device(van, job_id):
    phone = van.let_in()
    phone.fates(entries(job_id, "writer-aaaa", 1, 2))
    van.revoke(phone.device_id)
    again = phone.post("/api/join", {"code": van.invite(), "name": "The same"})
    assert again.json["device_id"] == phone.device_id
    assert [f[1] for f in phone.fates(entries(job_id, "writer-aaaa", 3, 3))] == ["kept"]


def test_a_credential_that_is_used_is_kept_for_another_400_days(van, monkeypatch):
    phone = van.let_in()
    assert phone.get("/api/jobs").headers.getlist("Set-Cookie") == []
    van.pass_time(monkeypatch, days=2)
    assert cookie_of(phone.get("/api/jobs"), DEVICE_COOKIE)[1]["Max-Age"] == str(400 * 86400)
    with van.app.app_context():
        (row,) = granting.devices()
    assert row["last_seen_at"] > row["created_at"] and row["last_address"] == phone.address


def test_a_clients_link_ends_with_its_days(van, monkeypatch):
    job_id, _ = van.job_with_photo(5)
    client = van.client_of(job_id, days=2)
    assert client.get(f"/api/jobs/{job_id}").status_code == 200
    van.pass_time(monkeypatch, days=3)
    assert code_of(client.get(f"/api/jobs/{job_id}")) == "access_expired"
    page = client.get(f"/office/jobs/{job_id}")
    assert page.status_code == 403 and "expired" in page.text and page.mimetype == "text/html"


def test_two_links_in_one_browser(van):
    one, two = van.job_with_photo(5)[0], van.job_with_photo(6)[0]
    client = van.nobody()
    for job_id in (one, two):
        with van.app.app_context():
            secret, _ = granting.make_link(job_id, "", 1, granting.By())
        assert client.post("/api/client-links/open", {"secret": secret}).json["job_id"] == job_id
    assert {j["job_id"] for j in client.get("/api/jobs").json["jobs"]} == {one, two}


def test_guessing_is_slowed_down(van):
    guesser, other = van.nobody(), van.nobody()
    tries = [guesser.post("/api/join", {"code": "x" * 43, "name": "x"}) for _ in range(12)]
    assert [t.status_code for t in tries] == [403] * 10 + [429] * 2
    assert code_of(tries[-1]) == "too_many_requests" and int(tries[-1].headers["Retry-After"]) >= 1
    assert tries[-1].json["retry"] is True
    assert code_of(other.post("/api/join", {"code": "x" * 43})) == "invitation_unknown"


def test_no_secret_is_in_the_log(van, job_id):
    """Every kind of request that carries or gives a secret, and then the whole log."""
    stream, lines = logging.Handler(), []
    stream.emit = lambda record: lines.append(log.JsonLines().format(record))
    log.LOG.addHandler(stream)
    log.LOG.setLevel(logging.INFO)
    try:
        code = van.invite()
        phone = van.nobody()
        phone.post("/api/join/look", {"code": code})
        cookie, _ = cookie_of(phone.post("/api/join", {"code": code, "name": "x"}), DEVICE_COOKIE)
        phone.fates(entries(job_id, "writer-aaaa", 1, 1))
        office = van.let_in("office")
        link = office.post("/api/invitations", {"role": "surveyor"}).json["link"]
        client = office.post(f"/api/jobs/{job_id}/client-links", {"days": 1}).json["link"]
        van.nobody().post("/api/client-links/open", {"secret": client.partition("#")[2]})
        van.nobody().post("/api/join", {"code": "wrong" + code[5:]})
    finally:
        log.LOG.removeHandler(stream)
    whole = "\n".join(lines)
    assert whole.count('"request"') >= 8 and "/api/join" in whole
    for secret in (code, cookie, link.partition("#")[2], client.partition("#")[2], "wrong" + code[5:]):
        assert len(secret) == 43 and secret not in whole
    reported = van.this_machine().get("/api/audit?last=1000").text
    assert "joined" in reported and not re.search(rf"{code}|{cookie}", reported)


def test_the_links_hold_the_secret_behind_the_hash(van, job_id):
    van.let_in().fates(entries(job_id, "writer-aaaa", 1, 1))
    office = van.let_in("office")
    made = office.post("/api/invitations", {"role": "surveyor", "name": "Van 2"}).json
    assert re.fullmatch(rf"{BOOK}/join#[\w-]{{43}}", made["link"]) and made["qr"].startswith("data:image/svg")
    client = office.post(f"/api/jobs/{job_id}/client-links", {}).json["link"]
    assert re.fullmatch(rf"{BOOK}/office/open#[\w-]{{43}}", client)


def test_the_audit_log_says_who_sent_what(van, job_id):
    phone = van.let_in()
    phone.fates(entries(job_id, "writer-aaaa", 1, 3))
    phone.fates(entries(job_id, "writer-aaaa", 1, 3))  # nothing new, nothing to tell
    lines = van.this_machine().get(f"/api/audit?job_id={job_id}").json["lines"]
    (line,) = lines
    assert (line["action"], line["device_id"], line["address"]) == ("sent", phone.device_id, phone.address)
    assert line["detail"] == {"entries": 3, "writers": {"writer-aaaa": [1, 3]}}
    data = b"a photo of some kind"
    sha256 = hashlib.sha256(data).hexdigest()
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(data))}
    phone.open("PUT", f"/api/photos/{sha256}", data=data, headers=headers, content_type="image/jpeg")
    (photo,) = [x for x in van.this_machine().get("/api/audit").json["lines"] if x["action"] == "sent_photo"]
    assert photo["device_id"] == phone.device_id
    assert photo["detail"] == {"sha256": sha256, "size_bytes": len(data)}
    names = {hashlib.sha256(one).hexdigest(): one for one in (b"one", b"two", b"damaged")}
    parts = ", ".join(f'"{name}";length={len(one)};type="image/jpeg"' for name, one in names.items())
    together = {"Upload-Parts": parts, "Content-Type": "application/octet-stream"}
    phone.open("PUT", "/api/photos", data=b"onetwoDAMAGED", headers=together)
    lines = [x for x in van.this_machine().get("/api/audit").json["lines"] if x["action"] == "sent_photo"]
    reported = {
        x["detail"]["sha256"]: x["detail"]["size_bytes"] for x in lines if x["device_id"] == phone.device_id
    }
    assert reported == {sha256: len(data)} | {name: 3 for name, one in names.items() if len(one) == 3}
    assert "The surveyor" in van.this_machine().get("/office/audit").text

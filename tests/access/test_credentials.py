"""Credentials of scripts: shown in one header only, scoped, ended, never mixed with what a browser holds."""

import hashlib
import json

import pytest
from access_kit import BOOK, DEVICE_COOKIE, Sender
from click.testing import CliRunner
from servers import Server, entries, entry, error_of
from sqlalchemy import text

from webapp.access import credentials, granting
from webapp.access.who import LOCAL_MARK
from webapp.cli import main
from webapp.errors import AppError
from webapp.store import access_rows, migrate
from webapp.store.engine import reading, writing

PLAIN = BOOK.replace("https", "http")
LOOPBACK = {"base": "http://localhost:8321", "environ": {"REMOTE_ADDR": "127.0.0.1"}}


def code_of(answer):
    return error_of(answer)["code"]


def audit_of(van):
    with van.app.app_context(), reading() as connection:
        return access_rows.log(connection, 50)


def test_a_script_syncs_and_is_told_who_it_is(van, job_id):
    script = van.script("surveyor")
    assert [outcome[1] for outcome in script.fates(entries(job_id, "script-aaaa", 1, 3))] == ["kept"] * 3
    me = script.get("/api/me").json
    assert (me["role"], me["device_id"], me["refused"]) == ("surveyor", script.device_id, None)
    sent = next(line for line in audit_of(van) if line["action"] == "sent")
    assert (sent["device_id"], sent["who"]) == (script.device_id, "A surveyor script")
    added = next(line for line in audit_of(van) if line["action"] == "credential_added")
    assert added["detail"]["role"] == "surveyor" and added["detail"]["until"]
    (listed,) = van.this_machine().get("/api/devices").json["devices"]
    assert listed["way"] == "bearer" and listed["last_seen_at"] and listed["expires_at"]
    assert "A surveyor script" in van.this_machine().get("/office/phones").text


def test_only_the_hash_is_kept(van):
    token, row = van.credential()
    with van.app.app_context(), reading() as connection:
        stored = access_rows.device(connection, id=row["id"])
        everything = repr([stored, access_rows.log(connection, 10)])
    assert stored["secret_sha256"] == hashlib.sha256(token.encode()).hexdigest()
    assert token not in everything and token.removeprefix("fallbook_") not in everything
    assert "secret_sha256" not in row


@pytest.mark.parametrize(
    "header",
    ["Bearer", "Bearer ", "bearer:{}", "Bearer {} x", "Bearer x{}", "Bearer {}, Bearer {}", "Bearer\t{}"],
)
def test_a_header_that_is_not_in_order_is_refused_whatever_else_comes(van, header):
    """Not even the office's own cookie, or this machine itself, counts beside it."""
    token, _ = van.credential("office")
    for sender in (van.let_in("office"), van.this_machine(), van.nobody()):
        answer = sender.get("/api/jobs", headers={"Authorization": header.format(token, token)})
        assert (answer.status_code, code_of(answer)) == (401, "credential_unknown")
        assert answer.headers["WWW-Authenticate"].startswith("Bearer")


def test_the_scheme_is_read_without_its_case_and_others_are_not_ours(van):
    token, _ = van.credential()
    for scheme in ("bearer", "BEARER", "Bearer"):
        assert (
            van.nobody().get("/api/jobs", headers={"Authorization": f"{scheme} {token}"}).status_code == 200
        )
    basic = {"Authorization": "Basic c29tZTpvbmU="}  # of a proxy in front
    assert van.let_in().get("/api/jobs", headers=basic).status_code == 200
    assert code_of(van.nobody().get("/api/jobs", headers=basic)) == "access_needed"


def test_a_lesser_token_beside_a_greater_cookie_stays_the_lesser(van):
    token, _ = van.credential("reader")
    for sender in (van.let_in("office"), van.this_machine()):
        answer = sender.get("/api/devices", headers={"Authorization": f"Bearer {token}"})
        assert code_of(answer) == "access_role"


@pytest.mark.parametrize("name", ["access_token", "token", "authorization", "credential", "Bearer"])
def test_a_token_in_an_address_or_a_body_counts_for_nothing(van, name):
    token, _ = van.credential("office")
    sender = van.nobody()
    assert code_of(sender.get("/api/jobs", query_string={name: token})) == "access_needed"
    assert code_of(sender.post("/api/sync", {name: token})) == "access_needed"
    form = sender.open("POST", "/api/sync", data={name: token})
    assert code_of(form) == "access_needed"
    cookie = Sender(van, [(name, token), (DEVICE_COOKIE, token)])
    assert code_of(cookie.get("/api/jobs")) == "access_needed"


def test_the_two_kinds_of_secret_are_not_taken_for_each_other(van):
    token, _ = van.credential("office")
    bare = Sender(van, [(DEVICE_COOKIE, token.removeprefix("fallbook_"))])
    assert code_of(bare.get("/api/jobs")) == "access_needed"
    phone = van.let_in("office")
    secret = phone.browser.get_cookie(DEVICE_COOKIE, domain="book.example").value
    for shown in (secret, f"fallbook_{secret}"):
        assert code_of(Sender(van, token=shown).get("/api/jobs")) == "credential_unknown"


def test_a_row_with_the_hash_of_a_token_but_the_way_of_a_cookie_is_no_credential(van):
    """Only what was made as a script's counts, whatever the hash."""
    token, row = van.credential("office")
    with van.app.app_context(), writing() as connection:
        access_rows.change(connection, access_rows.DEVICE, {"id": row["id"]}, {"way": "cookie"})
    assert code_of(Sender(van, token=token).get("/api/jobs")) == "credential_unknown"


def test_plain_http_is_taken_on_this_machine_only(van):
    token, _ = van.credential()
    assert Sender(van, token=token, **LOOPBACK).get("/api/jobs").status_code == 200
    ways = [
        Sender(van, token=token, base=PLAIN),
        Sender(van, token=token, base="http://localhost"),  # from elsewhere, with a name that anybody can say
        Sender(
            van, token=token, base=PLAIN, environ={"REMOTE_ADDR": "127.0.0.1"}
        ),  # a proxy that says nothing
        Sender(van, token=token, base=PLAIN, environ={"REMOTE_ADDR": "127.0.0.1", LOCAL_MARK: True}),
    ]
    for sender in ways:
        answer = sender.get("/api/jobs")
        assert (answer.status_code, code_of(answer)) == (403, "credential_insecure")
    for header in ("Forwarded", "Via", "X-Forwarded-For", "X-Forwarded-Proto", "X-Real-IP", "CF-Ray"):
        answer = Sender(van, token=token, **LOOPBACK).get("/api/jobs", headers={header: "203.0.113.7"})
        assert code_of(answer) == "credential_insecure", header


def test_no_check_of_the_origin_where_nothing_comes_by_itself(van):
    script, phone = van.script("surveyor"), van.let_in()
    body = {"protocol": 1, "device_id": "x"}
    for headers in ({"Origin": "https://evil.example"}, {"Sec-Fetch-Site": "cross-site"}, {"Origin": "null"}):
        assert script.post("/api/sync", body, headers=headers).status_code == 200
        assert code_of(phone.post("/api/sync", body, headers=headers)) == "cross_site"
        # A page of another site that makes a token up gets nowhere with the browser's own cookie.
        made_up = headers | {"Authorization": f"Bearer fallbook_{'x' * 43}"}
        assert code_of(phone.post("/api/sync", body, headers=made_up)) == "credential_unknown"
        # The ways in set a cookie for whoever asks: there the origin counts.
        for path in ("/api/join", "/api/join/look", "/api/client-links/open"):
            assert code_of(script.post(path, {"code": van.invite()}, headers=headers)) == "cross_site"
    assert code_of(script.open("POST", "/api/sync", data="{}", content_type="text/plain")) == "media_type"


def test_joining_with_a_token_in_hand_leaves_the_credential_alone(van):
    script = van.script("reader")
    answer = script.post("/api/join", {"code": van.invite(), "name": "A phone"})
    assert answer.status_code == 200 and answer.json["device_id"] != script.device_id
    assert script.get("/api/me").json["role"] == "reader"


def test_no_cookie_is_ever_given_to_a_script(van, monkeypatch):
    script = van.script("office")
    van.pass_time(monkeypatch, hours=3)
    for path in ("/api/jobs", "/office", "/api/me"):
        assert "Set-Cookie" not in script.get(path).headers


def test_it_ends_when_it_is_ended_and_when_its_time_is_over(van, monkeypatch, job_id):
    script, lasting = van.script("surveyor", days=2), van.script("surveyor", days=None)
    script.fates(entries(job_id, "script-aaaa", 1, 2))
    van.revoke(script.device_id)
    assert code_of(script.get("/api/jobs")) == "credential_ended"
    assert script.get("/api/me").json["refused"] == "credential_ended"
    assert "revoked" in [line["action"] for line in audit_of(van)]
    other = van.script(days=2)
    van.pass_time(monkeypatch, days=3)
    assert code_of(other.get("/api/jobs")) == "credential_expired"
    assert lasting.get("/api/jobs").status_code == 200


def test_the_office_ends_one_from_its_page(van):
    script, office = van.script("office"), van.let_in("office")
    assert office.post(f"/api/devices/{script.device_id}/revoke").status_code == 200
    assert code_of(script.get("/api/jobs")) == "credential_ended"


def test_guessing_is_slowed(van):
    guesser = Sender(van, token=f"fallbook_{'x' * 43}")
    codes = [code_of(guesser.get("/api/jobs")) for _ in range(62)]
    assert codes[0] == "credential_unknown" and codes[-1] == "too_many_requests"


def test_a_writer_belongs_to_the_script_that_first_used_it(van, job_id):
    """D13 holds for scripts as for phones."""
    first, second = van.script("surveyor"), van.script("surveyor")
    first.fates(entries(job_id, "script-aaaa", 1, 1))
    assert second.fates(entries(job_id, "script-aaaa", 2, 2))[0][2] == "writer_foreign"
    assert first.fates(entries(job_id, "script-aaaa", 2, 2))[0][1] == "kept"


@pytest.mark.parametrize(
    ("role", "job", "days", "code"),
    [
        ("none", None, 1, "request_malformed"),
        ("client", None, 1, "request_malformed"),
        ("office", "here", 1, "request_malformed"),
        ("reader", "00000000-0000-7000-8000-000000000000", 1, "job_not_found"),
        ("reader", "nonsense", 1, "job_not_found"),
        ("reader", None, 0, "request_malformed"),
        ("reader", None, -1, "request_malformed"),
        ("reader", None, 367, "request_malformed"),
        ("reader", None, float("nan"), "request_malformed"),
    ],
)
def test_what_is_not_a_sound_scope_makes_no_credential(van, role, job, days, code):
    job_id = van.job_with_photo(5)[0] if job == "here" else job
    with van.app.app_context():
        with pytest.raises(AppError) as caught:
            credentials.add(role, "x", job_id, days, granting.By())
        assert caught.value.code == code and credentials.all_credentials() == []


def test_without_access_control_a_token_counts_all_the_same(server, job_id):
    """On the laptop itself a script with a reading credential reads, and one that was ended does not."""
    with server.app.app_context():
        token, row = credentials.add("reader", "Reads", None, 1, granting.By())
    shown = {"Authorization": f"Bearer {token}"}
    assert server.client.get("/api/jobs", headers=shown).status_code == 200
    assert code_of(server.client.post("/api/sync", json={}, headers=shown)) == "access_role"
    with server.app.app_context():
        granting.revoke(row["id"], granting.By())
    assert code_of(server.client.get("/api/jobs", headers=shown)) == "credential_ended"
    assert server.client.get("/api/jobs").status_code == 200


def run(*words, code=0):
    found = CliRunner().invoke(main, [str(w) for w in words])
    assert found.exception is None or isinstance(found.exception, SystemExit), found.exc_info
    assert found.exit_code == code, found.output
    return found


def test_from_adding_to_ending_on_the_command_line(tmp_path, monkeypatch, job_id):
    data = ("--data", tmp_path / "data")
    monkeypatch.setenv("FALLBOOK_URL", BOOK)
    van = Server(tmp_path / "data")
    try:
        van.app.config["ACCESS"] = False
        van.fates([entry(job_id, "writer-aaaa", 1, kind="job", fields={"title": "T"})])
        van.app.config["ACCESS"] = True
        made = run("credential", "add", *data, "--name", "Nightly copy", "--job", job_id)
        token = made.stdout.strip()
        assert (
            token.startswith("fallbook_") and made.stdout.count("\n") == 1
        )  # what $(...) takes is the token alone
        assert token not in made.stderr and "Nightly copy" in made.stderr
        run("credential", "add", *data, "--name", "For ever", "--role", "office", "--no-expiry")
        client = van.app.test_client()
        shown = {"Authorization": f"Bearer {token}"}
        assert client.get("/api/jobs", headers=shown, base_url=BOOK).json["jobs"][0]["job_id"] == job_id
        listed = run("credential", "list", *data).stdout
        assert f"job {job_id} only" in listed and "office" in listed
        as_json = json.loads(run("credential", "list", *data, "--json").stdout)
        assert {row["name"] for row in as_json} == {"Nightly copy", "For ever"}
        assert not any("secret" in key for row in as_json for key in row)
        assert (
            "Nightly" not in run("device", "list", *data).output
        )  # phones and browsers; it has a list of its own
        assert "[device_unknown]" in run("device", "end", *data, "Nightly copy", code=2).stderr
        assert "Ended: Nightly copy" in run("credential", "end", *data, "Nightly copy").stdout
        assert client.get("/api/jobs", headers=shown, base_url=BOOK).status_code == 403
        assert "[device_unknown]" in run("credential", "end", *data, "Nightly copy", code=2).stderr
        assert (
            "[job_not_found]" in run("credential", "add", *data, "--name", "x", "--job", "y", code=2).stderr
        )
        actions = run("audit", *data, "--json").stdout
        assert '"credential_added"' in actions and '"revoked"' in actions and token not in actions
    finally:
        van.close()


def test_an_older_data_folder_keeps_its_phones_and_gets_the_columns(van):
    """Down to the release before scripts, and up again: phones stay, tokens do not become phones."""
    from flask_migrate import downgrade

    phone, script = van.let_in("office"), van.script("office")
    with van.app.app_context():
        downgrade(directory=str(migrate.DIRECTORY), revision="0002")
        with reading() as connection:
            names = [row[0] for row in connection.execute(text("SELECT id FROM device"))]
        assert names == [phone.device_id]
        migrate.upgrade()
    assert phone.get("/api/devices").json["devices"][0]["way"] == "cookie"
    assert code_of(script.get("/api/devices")) == "credential_unknown"

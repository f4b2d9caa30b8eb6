"""Joining by a secret that the phone makes: a repeat is harmless, and nobody is demoted unasked."""

import itertools

import pytest
from access_kit import CLIENT_COOKIE, DEVICE_COOKIE, Sender, on_both
from hypothesis import given
from hypothesis import strategies as st
from servers import entries, error_of
from sqlalchemy.exc import OperationalError
from test_invitations import code_of, cookie_of

from webapp import timesource
from webapp.access import granting, joining, terms
from webapp.access.joining import Access, together
from webapp.access.permissions import RULES
from webapp.store import access_rows
from webapp.timesource import new_id


def secret():
    return timesource.new_secret()


def join(sender, code, phone=None, **more):
    sent = {"code": code, "name": "A phone", **({"secret": phone} if phone else {}), **more}
    return sender.post("/api/join", sent)


def devices(van):
    with van.app.app_context():
        return granting.devices()


def lost(van, code, phone):
    """A join whose answer never reaches the phone: the browser that sent it is thrown away."""
    assert join(Sender(van), code, phone).status_code == 200


@on_both
def test_a_lost_answer_and_a_repeat_are_one_device(van):
    code, phone = van.invite(), secret()
    lost(van, code, phone)
    lost(van, code, phone)
    sender = van.nobody()
    first = join(sender, code, phone)
    again = join(sender, code, phone)
    assert first.status_code == again.status_code == 200
    assert cookie_of(first, DEVICE_COOKIE)[0] == cookie_of(again, DEVICE_COOKIE)[0]
    (row,) = devices(van)
    assert first.json["device_id"] == again.json["device_id"] == row["id"]
    assert sender.get("/api/me").json["refused"] is None
    with van.app.app_context():
        lines = granting.devices() and van.this_machine().get("/api/audit").json["lines"]
    assert [line["action"] for line in lines].count("joined") == 1


def test_a_repeat_while_the_phone_already_has_its_cookie_shuts_it_out_at_no_moment(van):
    code, phone, sender = van.invite(), secret(), van.nobody()
    assert join(sender, code, phone).status_code == 200
    lost(van, code, phone)  # sent again by the browser itself, and that answer is lost
    assert sender.get("/api/jobs").status_code == 200


def test_another_secret_with_a_used_invitation_is_refused(van):
    code = van.invite()
    lost(van, code, secret())
    for other in (secret(), None):
        refused = join(van.nobody(), code, other)
        assert code_of(refused) == "invitation_used" and not refused.headers.getlist("Set-Cookie")
    assert len(devices(van)) == 1


def test_a_repeat_opens_nothing_once_access_was_ended_or_given_anew(van):
    code, phone = van.invite(), secret()
    lost(van, code, phone)
    van.revoke(devices(van)[0]["id"])
    assert code_of(join(van.nobody(), code, phone)) == "invitation_used"
    lost(van, van.invite(), phone)
    assert code_of(join(van.nobody(), code, phone)) == "invitation_used", "the newer credential stands"
    assert len(devices(van)) == 1 and devices(van)[0]["revoked_at"] is None


def test_a_phone_that_lost_its_cookie_is_the_same_device_by_its_secret(van, job_id):
    phone = secret()
    before = van.nobody()
    first = join(before, van.invite(), phone).json["device_id"]
    assert [f[1] for f in before.fates(entries(job_id, "writer-aaaa", 1, 2))] == ["kept"] * 2
    after = van.nobody()
    assert join(after, van.invite(), phone).json["device_id"] == first
    assert [f[1] for f in after.fates(entries(job_id, "writer-aaaa", 3, 3))] == ["kept"]
    assert code_of(before.get("/api/jobs")) == "access_needed", "the earlier cookie went with it"
    assert len(devices(van)) == 1


def test_a_phone_of_an_earlier_version_joins_without_a_secret(van):
    code, sender = van.invite(), van.nobody()
    assert join(sender, code).status_code == 200 and sender.get("/api/jobs").status_code == 200
    assert code_of(join(van.nobody(), code)) == "invitation_used"


@pytest.mark.parametrize("wrong", ["", "short", 7, "x" * 44, ["x" * 43], "é" * 43])
def test_what_is_no_secret_of_a_phone_is_refused_and_uses_nothing(van, wrong):
    code = van.invite()
    assert code_of(van.nobody().post("/api/join", {"code": code, "secret": wrong})) == "request_malformed"
    assert join(van.nobody(), code, secret()).status_code == 200


def test_only_hashes_of_it_are_stored(van):
    code, phone, sender = van.invite(), secret(), van.nobody()
    cookie = cookie_of(join(sender, code, phone), DEVICE_COOKIE)[0]
    rows = repr(van.all_rows())
    assert not any(one in rows for one in (code, phone, cookie)) and len(cookie) == 43
    listed = van.this_machine().get("/api/devices").text
    assert "sha256" not in listed


@pytest.mark.parametrize("name", ["change", "add", "set_jobs", "note"])
def test_cut_at_every_statement_the_phone_comes_out_joined_exactly_once(van, monkeypatch, name):
    """Each write of the join fails in turn, and the phone asks again with what it has kept."""
    code, phone, real = van.invite(), secret(), getattr(access_rows, name)
    for nth in itertools.count():
        calls = itertools.count()

        def fails(*args, _calls=calls, _nth=nth, **more):
            if next(_calls) == _nth:
                raise OperationalError("INSERT", {}, Exception("database or disk is full"))
            return real(*args, **more)

        with monkeypatch.context() as patch:
            patch.setattr(access_rows, name, fails)
            answer = join(van.nobody(), code, phone)
        if answer.status_code == 200:
            break
        assert answer.status_code == 507 and devices(van) == [], "nothing half done"
    assert nth >= 1, "it was cut at least once"
    assert join(van.nobody(), code, phone).json["device_id"] == devices(van)[0]["id"]
    assert len(devices(van)) == 1


@on_both
def test_a_device_of_one_job_keeps_it_when_it_takes_another(van):
    one, two = van.job_with_photo(10)[0], van.job_with_photo(20)[0]
    other, _ = van.job_with_photo(30)
    sender, phone = van.nobody(), secret()
    assert join(sender, van.invite(job_id=one), phone).json["jobs"] == [one]
    answer = join(sender, van.invite(job_id=two), phone)
    assert answer.json["jobs"] == sorted([one, two])
    assert sender.get("/api/me").json["jobs"] == sorted([one, two])
    assert {j["job_id"] for j in sender.get("/api/jobs").json["jobs"]} == {one, two}
    assert sender.get(f"/api/jobs/{other}").status_code == 404
    (row,) = [
        d
        for d in van.this_machine().get("/api/devices").json["devices"]
        if d["id"] == answer.json["device_id"]
    ]
    assert row["jobs"] == sorted([one, two])
    assert "2 jobs only." in van.this_machine().get("/office/phones").text


def test_what_was_ended_is_not_given_back_by_an_invitation_for_another_job(van):
    one, two = van.job_with_photo(10)[0], van.job_with_photo(20)[0]
    sender = van.let_in("surveyor", one)
    van.revoke(sender.device_id)
    assert join(sender, van.invite(job_id=two)).json["jobs"] == [two]
    assert sender.get(f"/api/jobs/{one}").status_code == 404


@pytest.mark.parametrize("limited", [False, True])
def test_an_office_that_opens_a_surveyors_invitation_is_asked(van, limited):
    job_id, _ = van.job_with_photo(10)
    office, code = van.let_in("office"), van.invite(job_id=job_id if limited else None)
    for path in (f"/join?{code}", "/join", "/office/open", f"/office/open?{code}"):
        office.get(path)
    answer = join(office, code, secret())
    assert (answer.status_code, code_of(answer)) == (409, "join_lowers")
    assert "office, all jobs" in error_of(answer)["message"] and "surveyor" in error_of(answer)["message"]
    assert office.get("/office/phones").status_code == 200, "still the office"
    assert van.nobody().post("/api/join/look", {"code": code}).status_code == 200, (
        "the invitation is not used"
    )
    answer = join(office, code, secret(), instead=True)
    assert answer.json["role"] == "surveyor" and answer.json["jobs"] == ([job_id] if limited else None)
    assert code_of(office.get("/api/devices")) == "access_role"


def test_a_surveyor_of_all_jobs_is_asked_before_it_is_limited_to_one(van):
    job_id, _ = van.job_with_photo(10)
    sender = van.let_in()
    assert code_of(join(sender, van.invite(job_id=job_id))) == "join_lowers"
    assert sender.get("/api/me").json["jobs"] is None
    assert join(sender, van.invite(job_id=job_id), instead=True).json["jobs"] == [job_id]


def test_an_office_that_opens_a_clients_link_is_asked(van):
    job_id, _ = van.job_with_photo(10)
    with van.app.app_context():
        link, _ = granting.make_link(job_id, "Client", 2, granting.By())
    office = van.let_in("office")
    answer = office.post("/api/client-links/open", {"secret": link})
    assert (answer.status_code, code_of(answer)) == (409, "link_lowers")
    assert office.get("/office").status_code == 200
    assert van.this_machine().get("/api/client-links").json["links"][0]["last_seen_at"] is None
    answer = office.post("/api/client-links/open", {"secret": link, "instead": True})
    assert answer.json["job_id"] == job_id
    assert office.get("/api/me").json["role"] == "client" and office.get("/office").status_code == 403
    (row,) = [d for d in devices(van) if d["id"] == office.device_id]
    assert row["revoked_at"], "the session ended on the server too"


def test_links_that_are_over_make_room_and_those_that_hold_are_kept(van):
    client = van.nobody()
    jobs = [van.job_with_photo(10 + n)[0] for n in range(9)]
    for job_id in jobs:
        with van.app.app_context():
            link, _ = granting.make_link(job_id, "", 2, granting.By())
        client.address = f"10.9.0.{jobs.index(job_id)}"
        assert client.post("/api/client-links/open", {"secret": link}).status_code == 200
    assert {j["job_id"] for j in client.get("/api/jobs").json["jobs"]} == set(jobs)
    assert client.browser.get_cookie(CLIENT_COOKIE, domain="book.example").value.count(".") == 8


ACCESS = st.builds(
    Access,
    st.sampled_from(sorted(terms.ROLES)),
    st.none() | st.frozensets(st.sampled_from("abcd"), min_size=1),
).map(lambda one: one if terms.ROLES[one.role].one_job else Access(one.role, None))


def may(access, job):
    """What it may do in a job, by the rules of every address."""
    here = access.jobs is None or job in access.jobs
    return {endpoint for endpoint, allowed in RULES.items() if here and access.role in allowed}


@given(ACCESS, ACCESS)
def test_no_invitation_takes_anything_away_unasked(now, given_):
    found = together(now, given_)
    if found is None:
        assert any(may(now, job) - may(given_, job) for job in "abcde")
        assert now.role != given_.role or now.jobs is None
        return
    for job in "abcde":
        assert may(found, job) == may(now, job) | may(given_, job)


@given(st.text("abcXYZ019-_", min_size=43, max_size=43), st.text("abcXYZ019-_", min_size=43, max_size=43))
def test_a_credential_follows_from_both_and_is_neither(code, phone):
    made = joining.credential_of(code, phone)
    assert made == joining.credential_of(code, phone) and len(made) == 43
    assert (made not in (code, phone) and made != joining.credential_of(phone, code)) or code == phone
    assert made != joining.credential_of(code, phone[::-1]) or phone == phone[::-1]
    assert new_id() not in made

"""What was made while the server's clock was wrong, and an office browser that nobody used."""

from datetime import timedelta

import pytest
from access_kit import DEVICE_COOKIE, on_both
from servers import entry, error_of

from webapp import timesource
from webapp.access import granting
from webapp.access.moments import AHEAD_S
from webapp.store import access_rows
from webapp.store.engine import reading

REAL = timesource.now_utc
YEAR_S = 365 * 86_400


@pytest.fixture
def clock(monkeypatch):
    """Return a function that sets the server's clock so many seconds ahead, or behind."""

    def set_ahead(seconds):
        monkeypatch.setattr(timesource, "now_utc", lambda: REAL() + timedelta(seconds=seconds))

    set_ahead(0)
    return set_ahead


def code_of(answer):
    return error_of(answer)["code"]


def device(van, sender):
    with van.app.app_context(), reading() as connection:
        return access_rows.device(connection, id=sender.device_id)


def ways_in(van, job_id):
    """Return, by name, something that lets somebody in, and a function that asks with it."""
    van.this_machine().fates([entry(job_id, "writer-a", 1, "job", {"title": "Weir"})])
    code = van.invite()
    with van.app.app_context():
        secret, _ = granting.make_link(job_id, "Client", 2, granting.By())
    opened, script = van.client_of(job_id), van.script("reader")
    return {
        "invitation, looked at": lambda: van.nobody().post("/api/join/look", {"code": code}),
        "invitation": lambda: van.nobody().post("/api/join", {"code": code, "name": "A phone"}),
        "link, opened": lambda: van.nobody().post("/api/client-links/open", {"secret": secret}),
        "link, used": lambda: opened.get("/api/jobs"),
        "script": lambda: script.get("/api/jobs"),
    }


@pytest.mark.parametrize("ahead_s", [AHEAD_S + 60, YEAR_S])
def test_what_was_made_with_the_clock_ahead_lets_nobody_in(van, job_id, clock, ahead_s):
    clock(ahead_s)
    made = ways_in(van, job_id)
    clock(0)
    assert {name: code_of(ask()) for name, ask in made.items()} == dict.fromkeys(made, "made_ahead")


@pytest.mark.parametrize("ahead_s", [-1800, -1, 0, AHEAD_S - 60])
def test_a_clock_that_is_a_little_ahead_shuts_nobody_out(van, job_id, clock, ahead_s):
    clock(ahead_s)
    made = ways_in(van, job_id)
    clock(0)
    answers = {name: ask() for name, ask in made.items() if name != "invitation, looked at"}
    good = {name: answer.status_code for name, answer in answers.items()}
    lasts = {"link, used", "script", "link, opened", "invitation"}
    assert good == dict.fromkeys(lasts, 200)


def test_when_a_device_came_is_put_right_after_the_clock(van, clock):
    phone = van.let_in()
    clock(YEAR_S)
    phone.get("/api/jobs")
    assert device(van, phone)["last_seen_at"] > (REAL() + timedelta(days=300)).isoformat()
    clock(0)
    phone.get("/api/jobs")
    assert device(van, phone)["last_seen_at"] < (REAL() + timedelta(seconds=60)).isoformat()


@pytest.mark.parametrize(("hours", "idle_h", "signed_out"), [
    (720, 719.9, False), (720, 720.1, True), (1, 1.1, True), (0, 9000, False),
])  # fmt: skip
def test_an_office_browser_that_nobody_used(tmp_path, clock, hours, idle_h, signed_out):
    van = van_with(tmp_path, hours)
    browser, phone, script = van.let_in("office"), van.let_in(), van.script("office")
    clock(idle_h * 3600)
    answer = browser.get("/office")
    assert (answer.status_code == 403) == signed_out
    if signed_out:
        assert code_of(browser.get("/api/devices")) == "access_idle"
        assert "signed out" in answer.text
        assert device(van, browser)["last_seen_at"] < REAL().isoformat(), "being refused is no use"
    assert phone.get("/api/jobs").status_code == 200
    assert script.get("/api/jobs").status_code == (200 if idle_h < 24 else 403)  # its own days
    van.close()


def van_with(folder, hours):
    from access_kit import Van

    return Van(folder / "data", OFFICE_IDLE_HOURS=str(hours))


@on_both
def test_use_keeps_an_office_browser(van, clock):
    browser = van.let_in("office")
    for day in range(0, 100, 20):
        clock(day * 86_400)
        assert browser.get("/office").status_code == 200
    clock((80 + 31) * 86_400)
    assert browser.get("/office").status_code == 403


def test_a_browser_comes_back_as_itself(van, clock):
    browser = van.let_in("office")
    clock(31 * 86_400)
    assert code_of(browser.get("/api/jobs")) == "access_idle"
    again = browser.post("/api/join", {"code": van.invite("office"), "name": "The desk"})
    assert again.json["device_id"] == browser.device_id
    assert browser.get("/office").status_code == 200


def test_a_clock_that_was_ahead_signs_nobody_out(van, clock):
    clock(YEAR_S)
    browser = van.let_in("office")
    clock(0)
    assert browser.get("/office").status_code == 200
    clock(31 * 86_400)
    assert browser.get("/office").status_code == 403


@on_both
def test_signing_out(van):
    browser, other = van.let_in("office"), van.let_in("office")
    assert "Sign out" in browser.get("/office/phones").text
    answer = browser.post("/api/sign-out", {})
    assert answer.json == {"ok": True, "signed_out": True}
    assert (
        f"{DEVICE_COOKIE}=;" in answer.headers["Set-Cookie"] and "Max-Age=0" in answer.headers["Set-Cookie"]
    )
    assert browser.get("/office").status_code == 401
    assert device(van, browser)["revoked_at"] is not None
    assert other.get("/office").status_code == 200
    assert "signed out" in other.get("/office/audit").text


def test_there_is_nothing_to_sign_out_of_here(van):
    here, script = van.this_machine(), van.script("office")
    for sender in (here, script):
        assert sender.post("/api/sign-out", {}).json == {"ok": True, "signed_out": False}
        assert sender.get("/office").status_code == 200
    assert "Sign out" not in here.get("/office/phones").text

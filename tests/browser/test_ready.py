"""Ready for no signal: said on the first screen and in the settings, with how far it has come, and only when it is true."""

import re

import pytest
from server_process import ROOT
from steps import button
from test_screens import faults_of, show

READY = "Ready for no signal"
PRETEND = """async (app, state) => {
  const told = {phase: 'none', kept_bytes: 0, total_bytes: 0, kept_files: 0, total_files: 0, reason: '', ...state};
  if (!app.kept.pretended) {
    app.kept = {events: new EventTarget(), state: told, pretended: true, retries: 0, start: async () => {}, retry: async () => { app.kept.retries += 1; }};
    await app.go('/settings');
  }
  app.kept.state = told;
  app.kept.events.dispatchEvent(new Event('changed'));
}"""
HALF = {"kept_bytes": 120_000, "total_bytes": 240_000, "kept_files": 5, "total_files": 9}
STATES = [
    ({"phase": "keeping", **HALF}, "Keeping the app on this phone: 120 of 240 kB"),
    ({"phase": "waiting", **HALF, "reason": "no_signal"}, "The signal broke off. It goes on by itself."),
    ({"phase": "waiting", **HALF, "reason": "server"}, "The server answered with a fault."),
    ({"phase": "waiting", **HALF, "reason": "phone_full"}, "The phone has no room left for the app."),
    ({"phase": "waiting", **HALF, "reason": "new_release"}, "The server has a newer app now."),
    ({"phase": "waiting", **HALF, "reason": "damaged"}, "did not arrive whole"),
    ({"phase": "unsupported", "reason": "not_secure"}, "Open Fallbook by its https address."),
    (
        {"phase": "unsupported", "reason": "no_worker"},
        "an ordinary window of Chrome, Edge, Firefox or Safari",
    ),
    ({"phase": "ready", **HALF, "kept_bytes": 240_000, "kept_files": 9}, READY),
]


@pytest.mark.parametrize(("path", "night"), [("/", False), ("/settings", True)])
def test_each_state_is_said_with_what_to_do(newcomer, path, night):
    one = newcomer
    one.app(PRETEND, {})
    one.page.evaluate("(on) => document.documentElement.classList.toggle('night', on)", night)
    show(one, path, {})
    place = one.page.locator(".kept")
    for state, words in STATES:
        one.app(PRETEND, state)
        place.get_by_text(words).first.wait_for()
        ready = state["phase"] == "ready"
        assert (READY in one.page.inner_text("body")) == ready
        assert not ready or "120" not in place.inner_text()
        if path == "/":  # the home screen is for an app that opens from there
            heading = one.page.get_by_role("heading", name="Put Fallbook on the home screen")
            heading.wait_for(state="visible" if ready else "hidden")
        if state["phase"] == "waiting":
            assert place.get_by_role("progressbar").get_attribute("value") == "120000"
            before = one.app("async (app) => app.kept.retries")
            button(one.page, "Try again now").click()
            assert one.app("async (app) => app.kept.retries") == before + 1
        assert faults_of(one.page) == [], words
        assert one.page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")


def test_nothing_is_said_before_anything_is_known(newcomer):
    one = newcomer
    one.app(PRETEND, {})
    show(one, "/", {})
    assert not one.page.locator(".kept").is_visible()
    assert one.page.get_by_text("home screen").count() == 0


def test_a_phone_that_says_so_opens_with_the_server_dead(make_phone, live_server):
    phone = make_phone(live_server.url).open("/")
    phone.page.get_by_text(READY).wait_for()
    phone.page.get_by_role("heading", name="Put Fallbook on the home screen").wait_for()
    live_server.kill()
    phone.close()
    phone.open("/")
    phone.page.get_by_text(READY).wait_for()
    show(phone, "/settings", {})
    page_text = phone.page.locator(".kept")
    page_text.get_by_text("are on this phone and were read back").wait_for()
    assert re.search(r"All \d+ files of the app \([\d.]+ [kM]B\)", page_text.inner_text())


def test_a_cut_in_the_middle_is_said_and_goes_on_by_itself(make_phone, live_server):
    phone = make_phone(live_server.url)
    phone.open(None)
    # What the page asks for comes; what the worker asks for does not, until there is signal again.
    stopped = {"on": True}

    def answer(route):
        if stopped["on"] and route.request.service_worker and "/sw" not in route.request.url:
            route.abort("internetdisconnected")
        else:
            route.continue_()

    phone.context.route("**/*", answer)
    phone.goto("/")
    phone.page.locator(".kept").get_by_text("The signal broke off. It goes on by itself.").wait_for()
    assert READY not in phone.page.inner_text("body")
    assert phone.page.get_by_text("home screen").count() == 0
    stopped["on"] = False
    phone.page.get_by_text(READY).wait_for(timeout=40_000)


PROMISE = re.compile(r"no signal|offline|without (a |any )?(signal|network|server)|no network", re.IGNORECASE)
# The sentences that may speak of it, and why none of them promises that the app opens.
ALLOWED = {
    "kept.title": "a heading over the state itself",
    "kept.ready": "shown when it is true",
    "kept.ready_whole": "shown when it is true",
    "photos_here.why": "says what cannot be seen",
    "photos_here.left": "says what cannot be seen",
    "install.ios": "asks to wait until it is said",
    "kept.not_secure": "says that it does not",
    "kept.no_worker": "says that it does not",
    "handover.take_why": "from phone to phone, with the app open",
}


def test_no_sentence_promises_it_before_it_is_true():
    found = {}
    for file in sorted((ROOT / "static" / "js" / "text").glob("en_*.js")):
        for key, words in re.findall(
            r"^  '([^']+)': '(.*)',$", file.read_text(encoding="utf-8"), re.MULTILINE
        ):
            if PROMISE.search(words) and not re.search(r"when there is|there is no signal now", words):
                found[key] = words
    assert set(found) <= set(ALLOWED), found
    for name in ("templates/index.html", "templates/office/trust.html", "webapp/web/shell.py"):
        assert not PROMISE.search(re.sub(r"(#|\"\"\").*", "", (ROOT / name).read_text(encoding="utf-8"))), (
            name
        )

"""The service worker: everything offline from a cold start, and no new version unasked."""

import re

import pytest
from server_process import ServerProcess, copy_of_the_app

DEEP_LINKS = (
    "/",
    "/jobs/new",
    "/outbox",
    "/settings",
    "/jobs/{job}",
    "/jobs/{job}/safety",
    "/jobs/{job}/runs/{run}",
    "/handbook",  # from here on screens of the second part of the app
    "/office",
    "/jobs/{job}/leave",
    "/jobs/{job}/handover",
    "/jobs/{job}/runs/{run}/falls",
    "/jobs/{job}/runs/{run}/condition",
)
NOT_THERE = re.compile("Not here yet")
NEW_JOB = """async (app) => {
  const job = app.newId();
  await app.store.save(job, 'job', null, {title: 'Dell Lane'});
  const node = await app.store.save(job, 'node', null, {node_ref: 'MH1', node_type: 'manhole'});
  const run = await app.store.save(job, 'run', null, {run_ref: 'R1', start_node_id: node, direction: 'with_flow'});
  return {job, run};
}"""


def test_every_deep_link_opens_with_the_server_dead_from_a_cold_start(phone, live_server):
    ids = phone.app(NEW_JOB)
    phone.app("async (app) => app.sync.run()")
    live_server.kill()
    phone.close()
    phone.open(None)
    for path in DEEP_LINKS:
        phone.goto(path.format(**ids))
        phone.page.get_by_role("heading").first.wait_for()
        assert phone.page.get_by_role("heading", name=NOT_THERE).count() == 0
    phone.goto("/jobs/{job}/runs/{run}".format(**ids))
    phone.page.get_by_role("heading", name=re.compile("R1")).wait_for()
    phone.goto(f"/jobs/{ids['job']}")
    phone.page.get_by_text("Dell Lane").first.wait_for()
    for wrong in ("/jobs/%zz", "/jobs/00000000-0000-7000-8000-000000000000", "/nowhere/at/all"):
        phone.goto(wrong)  # said in words, with a way back; nothing in the console
        phone.page.get_by_role("link", name="Jobs").first.wait_for()


def test_what_belongs_to_the_server_is_not_answered_by_the_worker(phone, live_server):
    found = phone.page.evaluate(
        """async () => {
          const script = new URL(document.querySelector('script[defer]').src).pathname;
          const paths = ['/healthz', '/office', '/api/openapi.json', '/sw.js', '/fields.json', script, '/static/js/main.js'];
          const names = await caches.keys();
          const cache = await caches.open(names[0]);
          const kept = await Promise.all(paths.map(async (p) => Boolean(await cache.match(p))));
          return [names.length, kept];
        }"""
    )
    assert found == [1, [False, False, False, False, False, True, True]]
    live_server.kill()
    answers = phone.page.evaluate(
        """async () => Promise.all(['/healthz', '/api/openapi.json', '/tables/shapes.json', '/manifest.webmanifest',
             document.getElementById('data').href].map((p) => fetch(p).then((r) => r.ok, () => false)))"""
    )
    assert answers == [False, False, False, True, True]


WATCH_FOR_AN_OFFER = """
window.offers = 0;
const makePolicy = trustedTypes.createPolicy.bind(trustedTypes);
trustedTypes.createPolicy = (name, rules) => (window.policy = makePolicy(name, rules));
addEventListener('DOMContentLoaded', () => new MutationObserver(() => {
  if (document.body.textContent.includes('Use it now')) window.offers += 1;
}).observe(document.body, { subtree: true, childList: true }));
"""
KEPT = """async (app) => {
  while (app.kept.state.phase !== 'ready') await new Promise((r) => app.kept.events.addEventListener('changed', r, {once: true}));
  return app.kept.state;
}"""


def test_a_first_visit_ends_ready_and_offers_no_new_version(make_phone, live_server):
    phone = make_phone(live_server.url)
    phone.script = WATCH_FOR_AN_OFFER
    phone.open("/")
    state = phone.app(KEPT)
    assert state["kept_files"] == state["total_files"] > 4 and state["reason"] == ""
    assert state["kept_bytes"] == state["total_bytes"] > 100_000
    phone.page.evaluate(
        """async () => {
          const again = await navigator.serviceWorker.register(window.policy.createScriptURL('/sw.js'), {scope: '/', updateViaCache: 'none'});
          const worker = again.installing ?? again.waiting ?? again.active;
          while (worker.state === 'installing') await new Promise((r) => setTimeout(r, 20));
        }"""
    )  # the same release under its other address
    phone.page.wait_for_timeout(500)
    assert phone.page.evaluate("() => window.offers") == 0
    assert phone.app("async (app) => app.update.available") is False
    phone.page.reload()
    assert phone.app(KEPT)["phase"] == "ready" and phone.page.evaluate("() => window.offers") == 0


def test_everything_that_the_page_loads_is_on_the_phone(phone):
    missing = phone.page.evaluate(
        """async () => {
          const cache = await caches.open((await caches.keys())[0]);
          const loaded = performance.getEntriesByType('resource').map((e) => new URL(e.name).pathname)
            .filter((p) => !/^\\/(api|sw)/.test(p));
          const lacking = [];
          for (const path of loaded) if (!(await cache.match(path))) lacking.push(path);
          return lacking;
        }"""
    )
    assert missing == []


def test_page_and_files_come_out_of_the_cache_without_waking_the_worker(phone, live_server):
    phone.wait_until_kept()
    live_server.kill()
    phone.close()
    phone.open("/")
    loaded = phone.page.evaluate(
        """() => [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')]
             .map((one) => [new URL(one.name).pathname, one.workerFinalSourceType])"""
    )
    requested = {
        re.sub("-[0-9a-f]{16}", "", path): source for path, source in loaded if not path.startswith("/api/")
    }
    assert {"/", "/static/app/fallbook.js", "/static/app/fallbook.css", "/static/app/data.json"} <= set(
        requested
    )
    assert {path for path, source in requested.items() if source != "cache"} == set()


@pytest.fixture
def changing_server(tmp_path):
    server = ServerProcess(tmp_path / "data", copy_of_the_app(tmp_path / "app"), same_code=True).start()
    yield server
    server.kill()


def bring_out(server, mark):
    """Make a new version: the same app with another mark on its page."""
    page = server.root / "templates" / "index.html"
    text = page.read_text(encoding="utf-8")
    page.write_text(re.sub(r"<body[^>]*>", f'<body data-mark="{mark}">', text), encoding="utf-8")


MARK = "() => document.body.dataset.mark ?? 'first'"
LOOK_FOR_IT = """async (app) => {
  const told = new Promise((resolve) => app.update.events.addEventListener('available', resolve, {once: true}));
  await app.update.check();
  await told;
}"""


def test_a_new_version_waits_until_it_is_wanted(make_phone, changing_server):
    phone = make_phone(changing_server.url).open("/")
    phone.wait_for_worker()
    assert phone.page.evaluate(MARK) == "first"
    bring_out(changing_server, "second")
    phone.app(LOOK_FOR_IT)
    phone.page.get_by_role("button", name="Later").click()
    phone.page.get_by_role("button", name="Use it now").wait_for(state="hidden")
    phone.goto("/")
    assert phone.page.evaluate(MARK) == "first", "it must not take over by itself"
    assert len(phone.page.evaluate("() => caches.keys()")) == 2
    with phone.page.expect_navigation():
        phone.page.get_by_role("button", name="Use it now").click()
    phone.wait_ready()
    assert phone.page.evaluate(MARK) == "second"
    assert len(phone.page.evaluate("() => caches.keys()")) == 1, "the old version's files are gone"


def sync_event(phone, page):
    """Return what makes the browser say that there is signal.

    By itself it has not noticed that the network was away: it may have said so already, to a worker that
    reached no server, and then says it again only after five minutes.
    """
    session, found = phone.context.new_cdp_session(page), []
    session.on(
        "ServiceWorker.workerRegistrationUpdated", lambda reported: found.extend(reported["registrations"])
    )
    session.send("ServiceWorker.enable")
    while not found:
        page.wait_for_timeout(50)
    event = {"origin": phone.url, "registrationId": found[0]["registrationId"], "tag": "fallbook-sync"}
    return lambda: session.send("ServiceWorker.dispatchSyncEvent", {**event, "lastChance": False})


def test_background_sync_sends_with_no_page_open(phone, live_server):
    phone.context.set_offline(True)
    ids = phone.app(NEW_JOB)
    assert phone.app("async (app) => (await app.sync.run()).state") == "offline"
    phone.page.evaluate(
        """async () => {
          const registration = await navigator.serviceWorker.ready;
          while (!(await registration.sync.getTags()).includes('fallbook-sync')) await new Promise((r) => setTimeout(r, 50));
        }"""
    )
    blank = phone.context.new_page()
    phone.page.close()
    phone.context.set_offline(False)
    say_there_is_signal = sync_event(phone, blank)
    for turn in range(600):
        if live_server.entries(ids["job"]):
            break
        if turn % 50 == 0:
            say_there_is_signal()
        blank.wait_for_timeout(100)
    else:
        pytest.fail("nothing arrived")
    phone.page = blank
    phone.goto("/")
    assert phone.app("async (app) => (await app.store.outbox()).counts.entries") == 0


def test_the_app_can_be_installed(phone):
    session = phone.context.new_cdp_session(phone.page)
    assert session.send("Page.getInstallabilityErrors")["installabilityErrors"] == []
    assert session.send("Page.getAppManifest")["errors"] == []

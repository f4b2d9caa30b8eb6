"""Getting the app onto the phone: through cuts, with no file fetched twice, and never two releases in one."""

import re
import shutil
from pathlib import Path

import pytest
from relay import Relay
from server_process import ROOT, ServerProcess, copy_of_the_app

OLD_WORKER = Path(__file__).resolve().parent / "old_worker.js"
PHASES = """() => {
  const look = (app) => {
    window.phases = [app.kept.state.phase];
    app.kept.events.addEventListener('changed', () => window.phases.push(`${app.kept.state.phase} ${app.kept.state.reason}`.trim()));
  };
  const timer = setInterval(() => { if (window.fallbook?.app.kept) { clearInterval(timer); look(window.fallbook.app); } }, 1);
}"""
LOOK_FOR_IT = """async (app) => {
  const told = new Promise((resolve) => app.update.events.addEventListener('available', resolve, {once: true}));
  await app.update.check();
  await told;
}"""
# Every file of every release that is here: its address, and whether its text is what the address or the page says.
HELD = """async () => {
  const found = {};
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    const page = await (await cache.match('/')).text();
    const hex = async (r) => [...new Uint8Array(await crypto.subtle.digest('SHA-256', await r.arrayBuffer()))].map((b) => b.toString(16).padStart(2, '0')).join('');
    const wanted = [...page.matchAll(/"(\\/static\\/app\\/[^"]+)"/g)].map((m) => m[1]);
    const wrong = [];
    for (const path of wanted) {
      const kept = await cache.match(path);
      if (!kept || !path.includes((await hex(kept)).slice(0, 16))) wrong.push(path);
    }
    found[name] = [/data-release="(\\w+)"/.exec(page)[1], wanted.length, wrong];
  }
  return found;
}"""

BYTES = """() => ['navigation', 'resource'].flatMap((kind) => performance.getEntriesByType(kind))
  .reduce((sum, one) => sum + one.transferSize, 0)"""
SECOND = "() => document.getElementById('script').dataset.second"


@pytest.fixture
def changing_server(tmp_path):
    server = ServerProcess(tmp_path / "data", copy_of_the_app(tmp_path / "app"), same_code=True).start()
    yield server
    server.kill()


def app_requests(relay):
    """The hashed files that were asked for, each with its count."""
    return {path.removeprefix("GET "): n for path, n in relay.by_path().items() if "/static/app/" in path}


def edit(server, path, text):
    """Bring out a release with one more line in a file."""
    target = server.root / path
    target.write_text(target.read_text(encoding="utf-8") + text, encoding="utf-8")


def phases(phone):
    return phone.page.evaluate("() => window.phases")


def assert_whole(phone):
    """Each release that is kept is of one piece."""
    for name, (release, count, wrong) in phone.page.evaluate(HELD).items():
        assert name == f"fallbook-app-{release}" and count >= 5 and wrong == []


def test_nothing_that_the_page_has_fetched_is_fetched_again(make_phone, live_server):
    with Relay(live_server.port) as relay:
        phone = make_phone(relay.url).open("/")
        usable = phone.page.evaluate(BYTES)
        phone.wait_until_kept()
        assert set(app_requests(relay).values()) == {1}, relay.requests
        assert len(app_requests(relay)) >= 5 and len(relay.requests) <= 15
        assert 150_000 < usable < 250_000, "what the page itself fetched until its first screen"
        assert relay.down < 290_000, "the second part, the worker and the handbook too"
        assert_whole(phone)


def test_a_cut_while_it_comes_in_is_got_over(make_phone, live_server):
    with Relay(live_server.port) as relay:
        phone = make_phone(relay.url)
        phone.script = f"({PHASES})();"
        relay.lose_answer("GET", "/sw.js", how="half", times=2)  # the worker itself breaks off
        phone.open(None)
        phone.page.goto(relay.url)
        phone.page.wait_for_function("() => window.phases?.includes('waiting no_signal')", timeout=20_000)
        relay.lose_answer("GET", "/ ", how="outage", times=3)  # then one of its files, and the line with it
        phone.wait_until_kept()
        assert len(relay.dropped) >= 2
        assert phases(phone).count("waiting no_signal") >= 1 and phases(phone)[-1] == "ready"
        counts = app_requests(relay)
        under_way = counts.pop(phone.page.evaluate(SECOND))
        assert set(counts.values()) == {1}, "what came before the cut stays"
        assert 1 <= under_way <= 1 + len(relay.dropped), "asked for beside the page, so cut off with it"
        assert_whole(phone)
        live_server.kill()
        phone.close()
        phone.open("/")
        phone.page.get_by_role("heading", name="Jobs", exact=True).wait_for()


def test_the_state_says_what_is_on_the_phone(phone, live_server):
    phone.wait_until_kept()
    state = phone.app("async (app) => app.kept.state")
    assert state["kept_files"] == state["total_files"] and state["kept_bytes"] == state["total_bytes"]
    script = phone.page.evaluate("() => new URL(document.getElementById('script').src).pathname")
    spoil = "async (path) => { const c = await caches.open((await caches.keys())[0]); await c.put(path, new Response('half')); }"
    phone.page.evaluate(spoil, script)
    phone.app("async (app) => app.kept.retry()")
    phone.wait_until_kept()
    assert_whole(phone)
    live_server.kill()
    lose = "async (path) => { const c = await caches.open((await caches.keys())[0]); await c.delete(path); }"
    phone.page.evaluate(lose, "/")
    phone.app("async (app) => { void app.kept.retry(); }")
    phone.page.wait_for_function("() => fallbook.app.kept.state.phase === 'waiting'", timeout=20_000)
    lost = phone.app("async (app) => app.kept.state")
    assert lost["kept_files"] == lost["total_files"] - 1 and lost["reason"] == "no_signal"
    live_server.start()
    phone.app("async (app) => app.kept.retry()")
    phone.wait_until_kept()
    assert_whole(phone)


def test_a_new_release_brings_only_what_changed(make_phone, changing_server):
    with Relay(changing_server.port) as relay:
        phone = make_phone(relay.url).open("/")
        phone.wait_until_kept()
        edit(changing_server, "static/css/log.css", "\n.new { color: red; }\n")
        relay.reset_counts()
        phone.app(LOOK_FOR_IT)
        assert [re.sub("-[0-9a-f]+", "", path) for path in app_requests(relay)] == [
            "/static/app/fallbook.css"
        ]
        assert relay.down < 40_000
        assert_whole(phone)
        assert phone.app("async (app) => app.kept.state.phase") == "ready", (
            "this release is kept all the same"
        )


def test_a_release_that_changes_while_it_comes_in_is_not_mixed(make_phone, changing_server):
    with Relay(changing_server.port) as relay:
        phone = make_phone(relay.url)
        phone.script = f"({PHASES})();"
        relay.lose_answer("GET", "/sw.js", how="half", times=2)
        phone.open(None)
        phone.page.goto(relay.url)
        phone.page.wait_for_function("() => window.phases?.includes('waiting no_signal')", timeout=20_000)
        relay.outage_s = 3
        relay.lose_answer("GET", "/ ", how="outage")
        phone.page.wait_for_function(
            "() => window.phases.filter((p) => p === 'keeping').length > 0", timeout=20_000
        )
        edit(changing_server, "static/js/ui/format.js", "\nexport const more = 1;\n")
        phone.wait_until_kept()
        assert "waiting new_release" in phases(phone)
        assert_whole(phone)
        phone.page.reload()
        phone.wait_until_kept()
        held = phone.page.evaluate(HELD)
        page = phone.page.evaluate("() => document.documentElement.dataset.release")
        assert list(held) == [f"fallbook-app-{page}"]


def test_a_phone_of_the_release_before_the_joined_app_moves_on(make_phone, changing_server):
    static = changing_server.root / "static" / "js"
    shutil.copy(OLD_WORKER, static / "sw.js")
    link = static / "pwa" / "worker.js"
    text = link.read_text(encoding="utf-8")
    assert "const SCRIPT = '/sw.js';" in text and "updateViaCache: 'imports'" in text
    old = text.replace("const SCRIPT = '/sw.js';", "const SCRIPT = '/sw-module.js';")
    link.write_text(
        old.replace("updateViaCache: 'imports'", "type: 'module', updateViaCache: 'none'"), encoding="utf-8"
    )
    phone = make_phone(changing_server.url).open("/")
    phone.wait_for_worker()
    active = "async () => (await navigator.serviceWorker.getRegistration()).active.scriptURL"
    assert phone.page.evaluate(active).endswith("/sw-module.js")
    for name in ("sw.js", "pwa/worker.js"):
        shutil.copy(ROOT / "static" / "js" / name, static / name)
    phone.app(LOOK_FOR_IT)
    with phone.page.expect_navigation():
        phone.page.get_by_role("button", name="Use it now").click()
    phone.wait_ready()
    phone.wait_until(
        "async () => (await navigator.serviceWorker.getRegistration()).active.scriptURL.endsWith('/sw.js')"
    )
    phone.wait_until_kept()
    assert phone.app("async (app) => app.update.available") is False
    assert len(phone.page.evaluate("() => caches.keys()")) == 1
    assert_whole(phone)
    changing_server.kill()
    phone.close()
    phone.open("/")
    phone.page.get_by_role("heading", name="Jobs", exact=True).wait_for()

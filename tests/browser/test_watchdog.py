"""The watchdog of the start: once more by itself, then a way on and a way out with everything that is on the phone."""

import hashlib
import json
import zipfile
from functools import partial

import pytest
from steps import becomes, button
from sync_phones import photo_bytes
from zygote import command

SCRIPT = "**/static/{app,js}/{fallbook-*,main}.js"
PANEL = "Fallbook could not open"
FAULTS = {
    "not there": {"status": 404, "content_type": "text/plain", "body": "gone"},
    "throws": {"content_type": "text/javascript", "body": "throw new Error('no such thing');"},
    "does nothing": {"content_type": "text/javascript", "body": "/* nothing */"},
    "no script": {"content_type": "text/javascript", "body": "export { nothing } from './not_there.js'; ]]"},
}
CODES = {
    "not there": "start_not_loaded",
    "throws": "start_error",
    "does nothing": "start_silent",
    "no script": "start_error",
}
FILL = """async (app, bytes) => {
  const made = [];
  for (const [n, title] of ['Dell Lane', 'Bell Lane'].entries()) {
    const job = app.newId();
    await app.store.save(job, 'job', null, {title, site: `Zwölf Fuß, 12 °, “${title}”`});
    for (let i = 0; i < 40; i += 1) await app.store.save(job, 'remark', null, {text: `r${i}`});
    await app.store.addPhoto(job, {bytes: Uint8Array.from(bytes[n]).buffer, media_type: 'image/jpeg', preview: new ArrayBuffer(9), preview_type: 'image/jpeg'});
    made.push(job);
  }
  await app.store.saveDraft('half typed', {counter_m: '12.'});
  const db = await new Promise((resolve) => { const r = indexedDB.open('fallbook'); r.onsuccess = () => resolve(r.result); });
  const rows = await new Promise((resolve) => { const r = db.transaction('entries').objectStore('entries').getAll(); r.onsuccess = () => resolve(r.result); });
  db.close();
  return [made, rows];
}"""


def broken_start(one, fault, path="/"):
    """Open the app with a script that is broken; return how often the page was loaded."""
    one.allowed += ["404", "no such thing", "Unexpected", "thrown:", "SyntaxError"]
    loads = []
    one.hear("request", lambda r: loads.append(r.url) if r.is_navigation_request() else None)
    one.context.route(SCRIPT, lambda route: route.fulfill(**FAULTS[fault]))
    one.page.goto(one.url + path)
    one.page.get_by_role("heading", name=PANEL).wait_for(timeout=20_000)
    return len(loads)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_start_that_fails_is_tried_once_more_and_then_says_so(visitor, shared_server, fault):
    one = visitor(shared_server.url)
    assert broken_start(one, fault) == 2, "loaded once more, and not for ever"
    page = one.page
    assert CODES[fault] in page.locator("main").inner_text()
    assert page.get_by_role("button").all_inner_texts() == ["Try again", "Save everything to a file"]
    with page.expect_navigation():
        button(page, "Try again").click()  # still broken: said at once, with no load in between
    page.get_by_role("heading", name=PANEL).wait_for(timeout=20_000)
    one.context.unroute(SCRIPT)
    button(page, "Try again").click()
    page.get_by_role("heading", name="Jobs", exact=True).wait_for()
    one.problems[:] = [p for p in one.problems if not p.startswith("thrown: ")]  # ours, planted
    page.wait_for_timeout(400)
    assert page.evaluate("() => sessionStorage.length") == 0, "the next fault has its second try again"


def test_a_fault_that_comes_once_is_cured_unseen(visitor, shared_server):
    one = visitor(shared_server.url)
    one.allowed += ["404"]
    one.context.route(SCRIPT, lambda route: route.fulfill(**FAULTS["not there"]), times=1)
    one.page.goto(one.url)
    one.page.get_by_role("heading", name="Jobs", exact=True).wait_for()
    assert one.page.evaluate("() => performance.getEntriesByType('navigation')[0].type") == "reload"


def test_a_first_visit_that_is_cut_waits_for_the_network_and_goes_on(visitor, shared_server):
    one = visitor(shared_server.url)
    for what in (SCRIPT, "**/healthz"):
        one.context.route(what, lambda route: route.abort("connectionreset"))
    one.page.goto(one.url)
    one.page.get_by_text("No connection. It goes on by itself as soon as there is one.").wait_for()
    assert one.page.url.startswith(one.url), "not the browser's own page"
    one.context.unroute(SCRIPT)
    one.context.unroute("**/healthz")
    one.page.get_by_role("heading", name="Jobs", exact=True).wait_for()


def test_a_slow_load_is_waited_for_and_said(visitor, shared_server):
    one = visitor(shared_server.url)
    held, loads = [], []
    one.hear("request", lambda r: loads.append(r.url) if r.is_navigation_request() else None)
    one.context.route(SCRIPT, lambda route: held.append(route))
    one.page.goto(one.url, wait_until="commit")
    one.page.get_by_text("Still loading. The connection is slow.").wait_for(timeout=12_000)
    one.page.wait_for_timeout(2000)
    held[0].continue_()
    one.page.get_by_role("heading", name="Jobs", exact=True).wait_for()
    assert len(loads) == 1


def test_a_busy_processor_is_not_taken_for_a_hung_start(visitor, shared_server):
    """Half a minute in which nothing of the page runs is one tick, and as many ticks as that are a hung start."""
    one = visitor(shared_server.url)
    loads = []
    one.hear("request", lambda r: loads.append(r.url) if r.is_navigation_request() else None)
    one.context.route(SCRIPT, lambda route: route.fulfill(**FAULTS["does nothing"]))
    one.page.clock.install(time=0)
    one.page.goto(one.url)
    one.page.clock.run_for(1000)
    one.page.clock.pause_at(30)
    one.page.clock.run_for(3000)
    assert one.page.evaluate("() => [Date.now(), sessionStorage.length]") == [33_000, 0] and len(loads) == 1
    one.page.clock.run_for(6000)
    assert becomes(one.page, lambda: len(loads), 2) == 2


def test_without_the_app_everything_goes_into_a_file_that_the_office_takes(visitor, shared_server, tmp_path):
    one = visitor(shared_server.url)
    pictures = [photo_bytes(20_000), photo_bytes(30_001)]
    one.context.route("**/api/**", lambda route: route.abort())
    one.goto("/")
    jobs, rows = one.app(FILL, [list(p) for p in pictures])
    broken_start(one, "does nothing", f"/jobs/{jobs[0]}")
    with one.page.expect_download() as download:
        button(one.page, "Save everything to a file").click()
    one.page.get_by_text("84 entries, 2 photos").wait_for()
    path = tmp_path / download.value.suggested_filename
    download.value.save_as(path)
    assert path.name.startswith("fallbook-phone-") and path.name.endswith(".fallbook.zip")
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        held = json.loads(archive.read("phone.json"))
        kept = {hashlib.sha256(archive.read(n)).hexdigest() for n in archive.namelist() if n != "phone.json"}
    assert [row for _, row in held["stores"]["entries"]] == rows, "as they lie in the database"
    assert held["stores"]["drafts"][0][1]["counter_m"] == "12."
    assert kept == {hashlib.sha256(p).hexdigest() for p in pictures}
    fallbook = partial(command, log=tmp_path / "commands.log")
    shown = fallbook(["import", "--create", path, "--data", tmp_path / "office"])
    assert shown.count("42 entries new") == 2 and shown.count("1 photo new, 0 photos not here yet") == 2, (
        shown
    )
    again = fallbook(["import", path, "--data", tmp_path / "office"])
    assert again.count("42 here already") == 2
    for job in jobs:
        out = tmp_path / f"{job}.zip"
        fallbook(["export", job, "-o", out, "--data", tmp_path / "office"])
        with zipfile.ZipFile(out) as archive:
            entries = json.loads(archive.read("job.json"))["entries"]
        assert entries == sorted(
            (r for r in rows if r["job_id"] == job), key=lambda e: (e["writer"], e["number"])
        )

    other = visitor(shared_server.url)
    other.context.route("**/api/**", lambda route: route.abort())
    other.goto("/")
    other.page.get_by_label("Take a hand-over file").set_input_files(str(path))
    other.page.get_by_text("Dell Lane: 42 changes new").wait_for()
    other.page.get_by_text("Bell Lane: 42 changes new, 0 here already; 1 picture new").wait_for()


def test_where_nothing_is_stored_the_way_out_says_so_and_makes_nothing(visitor, shared_server):
    one = visitor(shared_server.url)
    broken_start(one, "not there")
    button(one.page, "Save everything to a file").click()
    one.page.get_by_text("There is nothing of Fallbook on this phone.").wait_for()
    assert one.page.evaluate("async () => (await indexedDB.databases()).length") == 0

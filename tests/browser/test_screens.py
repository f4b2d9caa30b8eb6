"""Every screen, on a phone that holds both sample jobs: readable, reachable, no wider than the glass."""

import json
import re

import axe_playwright_python.base
import pytest
from phone import VIEWPORT, Watched
from server_process import ROOT, ServerProcess
from zygote import command

AXE = (axe_playwright_python.base.AXE_FILE_PATH).read_text(encoding="utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
COLOURS = ["color-contrast", "link-in-text-block"]
SAMPLES = sorted(p.parent for p in (ROOT / "sample_jobs").glob("*/job.json"))
PATHS = [
    "/",
    "/jobs/new",
    "/outbox",
    "/settings",
    "/handbook",
    "/join",
    "/nothing/here",
    "/jobs/{job}",
    "/jobs/{job}/edit",
    "/jobs/{job}/safety",
    "/jobs/{job}/checks",
    "/jobs/{job}/checks/new?type=counter_tape",
    "/jobs/{job}/checks/new?type=inclinometer_reversed",
    "/jobs/{job}/checks/{check}",
    "/jobs/{job}/nodes",
    "/jobs/{job}/nodes/new",
    "/jobs/{job}/nodes/{node}",
    "/jobs/{job}/runs/new",
    "/jobs/{job}/runs/{run}",
    "/jobs/{job}/runs/{run}/falls",
    "/jobs/{job}/runs/{run}/trace",
    "/jobs/{job}/runs/{run}/capacity",
    "/jobs/{job}/runs/{run}/culvert",
    "/jobs/{job}/runs/{run}/length",
    "/jobs/{job}/runs/{run}/condition",
    "/jobs/{job}/runs/{run}/next/{stretch}",
    "/jobs/{job}/runs/{run}/edit",
    "/jobs/{job}/runs/{run}/edit?part=end",
    "/jobs/{job}/runs/{run}/readings/file",
    "/jobs/{job}/runs/{run}/readings/new",
    "/jobs/{job}/runs/{run}/readings/{reading}",
    "/jobs/{job}/runs/{run}/observations/new",
    "/jobs/{job}/runs/{run}/observations/{observation}",
    "/jobs/{job}/runs/{run}/change",
    "/jobs/{job}/runs/{run}/stretches/new",
    "/jobs/{job}/runs/{run}/ties/new",
    "/jobs/{job}/runs/{run}/remarks/new",
    "/jobs/{job}/remarks",
    "/jobs/{job}/remarks/new",
    "/jobs/{job}/photos",
    "/jobs/{job}/photos/new",
    "/jobs/{job}/photos/{photo}",
    "/jobs/{job}/conflicts",
    "/jobs/{job}/removed",
    "/jobs/{job}/leave",
    "/jobs/{job}/handover",
    "/jobs/{job}/pack",
]

# Takes both sample jobs onto the phone and gives the ids of one record of each kind.
TAKE_SAMPLES = """async (app) => {
  await app.sync.run();
  for (const job of await app.sync.others()) await app.store.follow(job.job_id);
  await app.sync.run();
  const found = [];
  for (const { job_id } of await app.store.jobs()) {
    const view = await app.store.job(job_id);
    const run = view.records('run')[0].id;
    const of = (kind) => (view.records(kind).find((r) => r.fields.run_id === run) ?? view.records(kind)[0])?.id;
    const check = view.records('check').find((r) => r.fields.check_type === 'counter_tape')?.id;
    found.push({job: job_id, run, check, node: of('node'), reading: of('reading'),
                observation: of('observation'), photo: of('photo'), stretch: of('stretch')});
  }
  return found;
}"""


@pytest.fixture(scope="module")
def sampled_server(tmp_path_factory):
    server = ServerProcess(tmp_path_factory.mktemp("sampled") / "data")
    command(["import", "--create", "--data", server.folder, *(s / "job.json" for s in SAMPLES)], server.log)
    yield server.start()
    server.kill()


@pytest.fixture(scope="module")
def loaded(one_browser, sampled_server):
    """A phone that has taken the sample jobs; with the ids of one record of each kind."""
    one = Watched(sampled_server.url)
    one.watch(one_browser.new_context(viewport=VIEWPORT, has_touch=True, service_workers="block"))
    one.goto("/")
    ids = one.app(TAKE_SAMPLES)
    assert len(ids) == len(SAMPLES) >= 2
    yield one, ids
    one.close()
    one.check()


def show(one, path, ids):
    """Go to a screen as a tap would, and wait until it is drawn."""
    one.app("async (app, path) => app.go(path)", path.format(**ids))
    one.page.locator("main h1, h1").first.wait_for()
    one.page.wait_for_timeout(60)


def faults_of(page, colours_only=False):
    """Run axe on the page; return its findings in a few words.

    ``colours_only``: of a page that it has looked through by day, what another theme may change.
    """
    if page.evaluate("() => !('axe' in window)"):
        page.evaluate(AXE)
    return page.evaluate(
        """async (runOnly) => {
          const found = await axe.run(document, {runOnly, resultTypes: ['violations']});
          return found.violations.map((v) => `${v.id}: ${v.nodes[0].html.slice(0, 160)}`);
        }""",
        {"type": "rule", "values": COLOURS} if colours_only else {"type": "tag", "values": RULES},
    )


def test_every_screen_of_the_app_is_looked_at():
    text = (ROOT / "static" / "js" / "routes.js").read_text(encoding="utf-8")
    patterns = re.findall(r"^ {2}\['(/[^']*)',", text, re.MULTILINE)
    assert len(patterns) > 30
    looked_at = [path.split("?")[0] for path in PATHS]
    fits = {one: re.compile(re.sub(":[a-z]+", "[^/]+", one)) for one in patterns}
    assert [one for one, form in fits.items() if not any(map(form.fullmatch, looked_at))] == []


def test_every_screen_passes_axe_and_fits_the_phone(loaded):
    one, (ids, *_) = loaded
    faults = {}
    for path in PATHS:
        show(one, path, ids)
        found = faults_of(one.page)
        wide = one.page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
        broken = one.page.get_by_role("heading", name="Something went wrong").count()
        if found or wide > 0 or broken:
            faults[path] = {"axe": found, "too_wide_px": wide, "broken": broken}
    assert faults == {}, json.dumps(faults, indent=1)


def test_every_screen_fits_320_pixels_for_both_samples(loaded):
    one, samples = loaded
    one.page.set_viewport_size({"width": 320, "height": 640})
    faults = {}
    for ids in samples:
        for path in PATHS:
            show(one, path, ids)
            wide = one.page.evaluate(
                """() => document.documentElement.scrollWidth <= 320 ? [] : [...document.querySelectorAll('body *')]
                  .filter((e) => e.getBoundingClientRect().right > 321).slice(0, 3)
                  .map((e) => `${e.tagName}.${e.className} ${Math.round(e.getBoundingClientRect().right)}`)"""
            )
            if wide:
                faults[f"{path} {ids['job'][:8]}"] = wide
    one.page.set_viewport_size(VIEWPORT)
    assert faults == {}, json.dumps(faults, indent=1)


def test_controls_are_large_enough_for_gloves(loaded):
    one, (ids, *_) = loaded
    small = {}
    for path in PATHS:
        show(one, path, ids)
        found = one.page.evaluate(
            """() => [...document.querySelectorAll('button, a.button, input:not([type=radio]):not([type=file]), select, .pad-key')]
              .filter((e) => e.checkVisibility({visibilityProperty: true}) && !e.closest('.unseen, .skip') && !e.classList.contains('unseen'))
              .map((e) => [e, e.getBoundingClientRect()]).filter(([, r]) => r.width > 0 && (r.height < 44 || r.width < 40))
              .map(([e, r]) => `${e.tagName} ${e.textContent.trim().slice(0, 20)} ${Math.round(r.width)}x${Math.round(r.height)}`)"""
        )
        if found:
            small[path] = found[:3]
    assert small == {}, json.dumps(small, indent=1)


def test_the_night_theme_keeps_its_contrast(loaded):
    one, (ids, *_) = loaded
    one.app("async (app) => app.store.setSetting('night', true)")
    one.goto("/")
    one.page.locator("html.night").wait_for(state="attached")
    faults = {}
    # test_figures.py does the same for the log of every run and what is computed of it.
    for path in ("/", "/jobs/{job}", "/jobs/{job}/runs/{run}/readings/new", "/outbox"):
        show(one, path, ids)
        if found := faults_of(one.page, colours_only=True):
            faults[path] = found
    one.app("async (app) => app.store.setSetting('night', false)")
    one.goto("/")
    assert faults == {}, json.dumps(faults, indent=1)


def test_the_office_passes_axe(visitor, sampled_server):
    one = visitor(sampled_server.url)
    one.page.goto(f"{sampled_server.url}/office")
    assert faults_of(one.page) == []
    one.page.get_by_role("main").get_by_role("link").first.click()
    one.page.get_by_role("button", name="Make the pack").wait_for()
    assert faults_of(one.page) == []
    for path in ("/office/phones", "/office/audit"):
        one.page.goto(sampled_server.url + path)
        assert faults_of(one.page) == [], path

"""The condition screen: Python's classes with their causes; what to do next in both versions."""

import json
import re

import pytest
from figure_pages import FOLLOW, plain
from phone import VIEWPORT, Watched
from steps import button, link_or_button
from test_screens import SAMPLES, faults_of, sampled_server, show  # noqa: F401

from webapp.assembly.job import assemble

ONCE = """async (app) => {
  const [job, run, seen] = [app.newId(), app.newId(), app.newId()];
  await app.store.addEntries(job, [{kind: 'job', record_id: job, fields: {title: 'At once'}},
    {kind: 'run', record_id: run, fields: {run_ref: 'R1'}},
    {kind: 'observation', record_id: seen, fields: {run_id: run, code: 'BAC', characterisation_1: 'C', counter_m: 4}}]);
  return {job, run, seen};
}"""


@pytest.fixture(scope="module")
def held(one_browser, sampled_server):  # noqa: F811
    """A phone that holds both samples."""
    one = Watched(sampled_server.url)
    one.watch(one_browser.new_context(viewport=VIEWPORT, has_touch=True, service_workers="block"))
    one.goto("/")
    one.app(FOLLOW)
    yield one
    one.close()
    one.check()


def jobs():
    return [json.loads((folder / "job.json").read_text(encoding="utf-8")) for folder in SAMPLES]


def named_runs():
    """The runs of both samples, by their names: what is computed of them is only where a test asks."""
    runs = [
        (job["job_id"], one["fields"]) for job in jobs() for one in job["records"] if one["kind"] == "run"
    ]
    return [(job_id, fields["run_ref"]) for job_id, fields in runs]


@pytest.fixture(scope="module")
def computed():
    """What Python computes of every run of the samples."""
    return {(job["job_id"], run.ref): run for job in jobs() for run in assemble(job).runs}


def opened(page):
    page.evaluate("() => { for (const one of document.querySelectorAll('details')) one.open = true; }")


def test_every_run_is_walked(computed):
    assert set(computed) == set(named_runs())


@pytest.mark.parametrize(("job_id", "ref"), named_runs())
def test_the_screen_says_what_python_computes(held, computed, job_id, ref):
    run = computed[job_id, ref]
    page, at = held.page, f"/jobs/{job_id}/runs/{run.record_id}"
    show(held, f"{at}/condition", {})
    opened(page)
    shown = plain(page.inner_text("main"))
    assert "Preliminary until an engineer confirms it." in shown
    assert "A suggestion for a competent person." in shown
    for one in run.condition.classes:
        row = page.locator(f".goals [data-figure={one.goal}]")
        text = plain(row.inner_text())
        assert f"{one.label} {one.words}".replace("  ", " ") in text.replace("\n", " ")
        assert one.cause in text and one.basis in text
        assert all(step in text for step in map(plain, one.steps))
        settled = "–" if one.high == 0 else str(one.high)
        numeral = settled if one.low == one.high else f"{one.low}–{one.high}"
        assert row.locator(".class-numeral").inner_text() == numeral
    for line in run.condition.number_lines:
        assert line in shown
    cards = page.locator("[data-figure=object]")
    assert cards.count() == len(run.condition.parts)
    for card, part in zip(cards.all(), run.condition.parts, strict=True):
        text = plain(card.inner_text())
        assert part.title in text
        for action in part.suggested:
            assert action.words in text and all(plain(reason) in text for reason in action.reasons)
        assert "The surveyor has not said otherwise." in text
    pieces = list(dict.fromkeys((g.what, g.from_m) for g in run.condition.graded))
    assert page.locator(".graded > a").count() == len(pieces)
    if pieces:
        page.locator(".goals a").first.click()
        page.wait_for_url(re.compile(rf"{at}/observations/[0-9a-f-]+$"))
        show(held, at, {})
        assert page.locator(".log-row.observation .class-mark").count() == len(
            {g.record_id for g in run.condition.graded}
        )
        page.get_by_role("link", name=re.compile("^Condition")).click()
        page.wait_for_url(re.compile(f"{at}/condition$"))


def test_what_is_open_stays_open_when_something_arrives(held):
    made = held.app(ONCE)
    show(held, f"/jobs/{made['job']}/runs/{made['run']}/condition", {})
    opened(held.page)
    count = held.page.locator("main details[open]").count()
    arrive = """async (app, [job, id]) => {
      await app.store.save(job, 'observation', id, {counter_m: 5});
    }"""
    held.app(arrive, [made["job"], made["seen"]])
    held.page.get_by_text("5.00").first.wait_for()
    assert held.page.locator("main details[open]").count() == count > 0


def test_at_once_stands_first_and_the_surveyor_says_what_should_be_done(held):
    page, made = held.page, held.app(ONCE)
    at = f"/jobs/{made['job']}/runs/{made['run']}"
    show(held, f"{at}/condition", {})
    assert "Collapse at 4.00" in page.locator(".body > *").first.inner_text()  # a hazard comes before all
    first = page.locator("[data-figure=immediate]")
    assert "First of all: this needs action at once" in first.inner_text()
    assert first.get_by_role("link").get_attribute("href") == f"{at}/observations/{made['seen']}"
    link_or_button(page, "Say what should be done").click()
    page.wait_for_url(re.compile(f"{at}/next/run$"))
    page.get_by_label("Why").fill("The road is to be rebuilt.")
    button(page, "Save what to do next").click()
    assert "Choose an action, or say that none is needed." in page.inner_text("main")
    page.get_by_label("Renew").select_option(label="Short term")
    assert not faults_of(page)
    button(page, "Save what to do next").click()
    page.wait_for_url(re.compile(f"{at}/condition$"))
    card = page.locator("[data-figure=next]")
    card.locator(".act-own").wait_for()
    both = plain(card.inner_text())
    assert "Dig and expose, without delay" in both and "Renew, short term" in both
    assert "“The road is to be rebuilt.”" in both
    stored = held.app(
        """async (app, ids) => (await app.store.job(ids.job)).record('run', ids.run).fields.next_steps""",
        made,
    )
    assert stored == {"renew": "short_term", "why": "The road is to be rebuilt."}
    page.set_viewport_size({"width": 320, "height": 640})
    for path in ("/condition", "/next/run", ""):
        show(held, f"{at}{path}", {})
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth + 1"), path
    page.evaluate("document.documentElement.classList.add('night')")
    assert not faults_of(page)

"""The culvert screen: the same flow as Python computes, said with its control and its source."""

import pytest
from figure_pages import FOLLOW, RUNS, litres, plain
from phone import VIEWPORT, Watched
from test_screens import faults_of, sampled_server, show  # noqa: F401

from webapp import tables
from webapp.survey.flow.run_culvert import inlets_for, run_culvert

FORGET = "async (app, run) => app.store.setSetting(`culvert ${run}`, null)"
RUN = next(run for run in RUNS if run.ref == "D1")


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


@pytest.fixture
def culvert(held):
    """The screen with nothing typed: what was typed is a setting of the phone."""
    held.app(FORGET, RUN.at.rsplit("/", 1)[1])
    show(held, f"{RUN.at}/capacity", {})
    held.page.get_by_role("link", name="As a short culvert").click()
    held.page.get_by_role("heading", name="Short culvert").wait_for()
    assert held.page.get_by_label("Headwater").input_value() == ""
    return held


def test_the_flow_under_a_headwater_is_python_s(culvert):
    page = culvert.page
    row = RUN.capacity["rows"][0]
    inlet = inlets_for(tables.load("culvert_inlets")["rows"], "circular")[1]
    assert "type the headwater" in page.inner_text("main")
    page.get_by_label("Inlet").select_option(inlet["value"])
    page.get_by_label("Headwater").fill("1,2")
    length = float(page.get_by_label("Length of the culvert").input_value())
    found = run_culvert(row, length, inlet, 1.2, 0.0)
    shown = plain(page.inner_text("[data-figure=culvert] .big-figure"))
    assert shown == f"{litres(found['discharge_m3_s'])} l/s ({found['known']})"
    whole = plain(page.inner_text("main"))
    decides = {"inlet": "The inlet decides", "outlet": "The barrel and the outlet decide"}
    assert decides[found["control"]] in whole
    assert inlet["source"] in whole and "competent engineer" in whole
    assert faults_of(page) == []


@pytest.mark.parametrize(("screen", "label"), [("culvert", "Headwater"), ("capacity", "Flow")])
def test_what_is_being_typed_stays_when_something_arrives(culvert, screen, label):
    page = culvert.page
    show(culvert, f"{RUN.at}/{screen}", {})
    field = page.get_by_label(label, exact=True)
    field.fill("1,")
    arrive = "async (app, job) => { await app.store.save(job, 'job', job, {title: 'Embankment'}); }"
    culvert.app(arrive, RUN.at.split("/")[2])
    page.wait_for_timeout(300)
    assert field.input_value() == "1," and field.evaluate("(one) => one === document.activeElement")


def test_bad_input_is_said_and_a_stretch_without_a_fall_has_no_number(culvert):
    page = culvert.page
    page.get_by_label("Headwater").fill("deep")
    assert "must be a number in m" in page.inner_text("main")
    page.get_by_label("Headwater").fill("1")
    page.get_by_label("Stretch").select_option(index=len(RUN.capacity["rows"]))
    page.get_by_label("Inlet").select_option(index=1)
    assert "No number" in page.inner_text("main")

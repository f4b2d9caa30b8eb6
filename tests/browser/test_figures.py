"""The numbers on the phone: the same as Python computes, said in the same words, with the server dead."""

import json

import pytest
from figure_pages import CUT, FOLLOW, RUNS, SCREENS, check_screens, plain
from phone import VIEWPORT, Watched
from server_process import ServerProcess
from test_screens import SAMPLES, faults_of, sampled_server, show  # noqa: F401
from zygote import command

from webapp.survey.flow.stretch_flow import stretch_flows
from webapp.survey.numbers.decimals import decimal_text


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


@pytest.mark.parametrize("run", RUNS, ids=lambda run: run.ref)
def test_every_number_is_the_one_that_python_computes(held, run):
    check_screens(held, run)


ON_THE_PHONE = """async (app, runId) => {
  const { figuresOf } = fallbook.module('screens/parts/figures_of.js');
  for (const { job_id } of await app.store.jobs()) {
    const view = await app.store.job(job_id);
    const run = view.record('run', runId);
    if (!run) continue;
    const f = figuresOf(app, view, run);
    return {
      levels: f.profile.stations, lengths: f.lengths, sags: f.water.sags, backfalls: f.water.backfalls, water: f.water.checks,
      rise: f.rise, gaps: f.profile.gaps, far_check: f.extent.far_check, surveyed_m: f.extent.surveyed_m,
      capacities: f.capacity.rows.map((row) => ({...row, ...row.capacity})), points: f.trace.trace?.points ?? [], instruments: f.instruments,
    };
  }
}"""


def apart(ours, theirs, where=""):
    """Yield where two results differ, in what both have; a name that only one side has is no difference."""
    if isinstance(ours, dict):
        for name in sorted(set(ours) & set(theirs)):
            yield from apart(ours[name], theirs[name], f"{where}.{name}")
    elif isinstance(ours, list):
        if len(ours) != len(theirs):
            yield f"{where}: {len(ours)} and {len(theirs)}"
        for k, (one, other) in enumerate(zip(ours, theirs, strict=False)):
            yield from apart(one, other, f"{where}[{k}]")
    elif isinstance(ours, float) and isinstance(theirs, int | float):
        if abs(ours - theirs) > 1e-9 * max(1.0, abs(ours)):
            yield f"{where}: {ours} and {theirs}"
    elif isinstance(ours, int | bool | type(None)) and ours != theirs:
        yield f"{where}: {ours} and {theirs}"


@pytest.mark.parametrize("folder", SAMPLES, ids=lambda folder: folder.name)
def test_the_phone_computes_what_the_figures_command_prints(held, folder, tmp_path):
    printed = command(["figures", "--json", folder / "job.json"], tmp_path / "figures.log")
    for run in json.loads(printed)["runs"]:
        theirs = held.app(ON_THE_PHONE, run["run_id"])
        ours = {name: run[name] for name in theirs if name not in ("points", "capacities", "rise")}
        ours["points"] = run["trace"]["points"] if run["trace"] else []
        theirs["points"] = [{**p, **p["ellipse"]} for p in theirs["points"]]
        ours["rise"] = {k: v for k, v in run["rise"].items() if k in ("value_m", "sd_m", "low_m", "high_m")}
        names = (
            "from_m",
            "to_m",
            "gradient_low",
            "gradient",
            "gradient_high",
            "low_m3_s",
            "mean_m3_s",
            "high_m3_s",
        )
        ours["capacities"] = [{k: row[k] for k in names} for row in run["capacities"]]
        assert list(apart(ours, theirs)) == []
        assert len(ours["levels"]) > 10


def test_the_numbers_are_there_with_the_server_dead(make_phone, tmp_path):
    server = ServerProcess(tmp_path / "dead")
    command(["import", "--create", "--data", server.folder, *(s / "job.json" for s in SAMPLES)], server.log)
    server.start()
    phone = make_phone(server.url).open("/")
    phone.app(FOLLOW)
    phone.wait_for_worker()
    server.kill()
    for run in RUNS:
        phone.goto(f"{run.at}/falls")
        check_screens(phone, run)


def test_every_screen_of_numbers_passes_axe_by_day_and_by_night_and_fits_320_pixels(held):
    faults = {}
    for night in (False, True):
        held.app("async (app, night) => app.store.setSetting('night', night)", night)
        held.goto("/")
        for run in RUNS:
            for screen in SCREENS:
                show(held, run.at + screen, {})
                if found := faults_of(held.page, colours_only=night):
                    faults[f"{run.ref}{screen} {night}"] = found
    held.app("async (app) => app.store.setSetting('night', false)")
    held.goto("/")
    held.page.set_viewport_size({"width": 320, "height": 640})
    for run in RUNS:
        for screen in SCREENS:
            show(held, run.at + screen, {})
            if held.page.evaluate("() => document.documentElement.scrollWidth") > 320:
                faults[f"{run.ref}{screen} 320"] = "too wide"
            if cut := held.page.evaluate(CUT):
                faults[f"{run.ref}{screen} 320 cut"] = cut
    held.page.set_viewport_size(VIEWPORT)
    assert faults == {}, json.dumps(faults, indent=1)


def test_the_log_leads_to_the_three_screens_and_back(held):
    run = RUNS[0]
    for name, ending in (("Falls", "/falls"), ("Trace", "/trace"), ("Capacity", "/capacity")):
        show(held, run.at, {})
        held.page.get_by_role("link", name=name, exact=True).click()
        held.page.wait_for_url(f"**{run.at}{ending}")
        held.page.get_by_role("link", name="Back").click()
        held.page.wait_for_url(f"**{run.at}")


def test_a_flow_typed_in_runs_as_python_says(held):
    run = next(r for r in RUNS if r.ref == "F2")
    show(held, f"{run.at}/capacity", {})
    held.page.get_by_label("Flow", exact=True).fill("5")
    (flow,) = stretch_flows(run.capacity["rows"], 0.005, 0.7, 1.0)
    shown = plain(held.page.inner_text("[data-figure=flow]"))
    assert f"{decimal_text(1000 * flow['depth_m'], 0)} mm" in shown
    assert f"{decimal_text(flow['velocity_m_s'], 2)} m/s" in shown
    assert f"{decimal_text(flow['shear_pa'], 2)} Pa" in shown
    assert "reaches 0.70 m/s" in shown
    held.page.get_by_label("Flow", exact=True).fill("500")
    assert "More than this stretch can carry" in held.page.inner_text("[data-figure=stretch]")
    held.page.get_by_label("Flow", exact=True).fill("many")
    held.page.get_by_text("Flow must be a number in l/s.").wait_for()
    held.page.get_by_label("Flow", exact=True).fill("")
    held.page.locator("[data-figure=flow]").wait_for(state="detached")

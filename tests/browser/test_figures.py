"""The numbers on the phone: the same as Python computes, said in the same words, with the server dead."""

import datetime
import json
import re
import subprocess
import sys
from dataclasses import asdict
from types import SimpleNamespace

import pytest
from phone import VIEWPORT, Watched
from server_process import ROOT, ServerProcess
from test_screens import SAMPLES, faults_of, sampled_server, show  # noqa: F401

from webapp import tables
from webapp.north_model import declination
from webapp.survey.decimals import decimal_text, signed_text
from webapp.survey.ellipse import search_radius_m
from webapp.survey.instruments import instruments_of
from webapp.survey.length_table import length_table
from webapp.survey.levels import level_profile
from webapp.survey.run_capacity import run_capacity
from webapp.survey.run_model import run_model
from webapp.survey.run_places import far_end
from webapp.survey.run_trace import run_trace
from webapp.survey.run_water import run_water
from webapp.survey.stretch_flow import stretch_flows
from webapp.survey.trace import walk_this_way
from webapp.survey.wording import (
    at_least_text,
    bearing_text,
    degrees_text,
    metres,
    one_in_text,
    percent_text,
    walk_text,
)

SCREENS = ("", "/falls", "/trace", "/capacity")
FOLLOW = """async (app) => {
  await app.sync.run();
  for (const job of await app.sync.others()) await app.store.follow(job.job_id);
  await app.sync.run();
}"""
CUT = """() => [...document.querySelectorAll('.table-card, .figure-card, .gauge, .walk, .figure-line')]
  .filter((e) => e.scrollWidth > e.clientWidth + 1).map((e) => e.className)"""
NEW_JOB = """async (app, job) => {
  const ids = {job: app.newId(), run: app.newId(), node: app.newId()};
  const of = (fields) => JSON.parse(JSON.stringify(fields).replaceAll('$run', ids.run).replaceAll('$node', ids.node));
  const made = [{kind: 'job', record_id: ids.job, fields: {title: 'Numbers'}},
    {kind: 'node', record_id: ids.node, fields: of(job.node ?? {node_ref: 'N1'})},
    {kind: 'run', record_id: ids.run, fields: of({run_ref: 'R1', start_node_id: '$node', ...job.run})}];
  for (const [kind, list] of Object.entries(job.of ?? {}))
    for (const fields of list) made.push({kind, record_id: app.newId(), fields: of({run_id: '$run', ...fields})});
  await app.store.addEntries(ids.job, made);
  return ids;
}"""


def plain(text):
    """Text of the page with ordinary spaces."""
    return re.sub(r"\s+", " ", text).strip()


def samples():
    """Every run of the sample jobs as Python computes it."""
    found = []
    for folder in SAMPLES:
        job = json.loads((folder / "job.json").read_text(encoding="utf-8"))
        records = sorted((r for r in job["records"] if not r.get("removed")), key=lambda r: r["id"])
        found += [computed(job["job_id"], records, r) for r in records if r["kind"] == "run"]
    return found


def computed(job_id, records, run):
    """Every figure of one run, by the server's own functions."""

    def of(kind, mine=True):
        own = [r for r in records if r["kind"] == kind]
        return [r for r in own if r["fields"].get("run_id") == run["id"]] if mine else own

    job = next(r["fields"] for r in records if r["kind"] == "job")
    tools = instruments_of(of("check", False), run["id"])
    model = run_model(run["fields"], of("reading"), of("level_tie"), of("stretch"), of("node", False), tools)
    profile = level_profile(model.readings, model.ties, model.setup)
    rough = tables.load("roughness")["rows"]
    capacity = run_capacity(run["fields"], of("stretch"), of("observation"), rough, profile, tools)
    codes = tables.load("observation_codes")["rows"]
    trace = run_trace(
        run["fields"], of("node", False), of("reading"), of("observation"), codes, tools,
        job.get("declination_deg"), job.get("grid_convergence_deg"),
    )  # fmt: skip
    water = run_water(run["fields"], of("observation"), profile, capacity["rows"], tools)
    return SimpleNamespace(
        at=f"/jobs/{job_id}/runs/{run['id']}", ref=run["fields"]["run_ref"], profile=profile, capacity=capacity,
        lengths=length_table(profile), trace=trace, end=far_end(trace), water=water,
    )  # fmt: skip


RUNS = samples()


def fall_words(row):
    """A fall as the screens say it."""
    if row.fall_m is None:
        return at_least_text(
            None if row.high_fall_m is None else 0 - row.high_fall_m,
            None if row.low_fall_m is None else 0 - row.low_fall_m,
        )
    return f"{'rises' if row.fall_m < 0 else 'falls'} {metres(abs(row.fall_m), row.sd_m)}"


def expected_row(row):
    """One line of the table of falls."""
    where = f"{decimal_text(row.from_m, 2)} to {decimal_text(row.to_m, 2)}"
    if row.deg is None:
        return [where, "—", f"{fall_words(row)} {row.known}"]
    gradient = f"{one_in_text(row.deg)} {percent_text(row.deg)}, {degrees_text(row.deg)}"
    fall, spread = fall_words(row).split(", ")
    return [where, gradient, f"{fall} {spread}, {row.known}"]


def litres(q):
    value = 1000 * q
    return decimal_text(value, 0 if value >= 99.95 else 1 if value >= 9.995 else 2)


def capacity_words(band):
    if band["mean_m3_s"] is not None:
        return f"{litres(band['mean_m3_s'])} l/s ({band['known']})"
    return f"{litres(band['low_m3_s'])} to {litres(band['high_m3_s'])} l/s ({band['known']})"


def rows_on_page(page):
    return page.evaluate(
        """() => [...document.querySelectorAll('table.lengths tbody tr')].map((row) => [...row.cells].map((cell) =>
             [...cell.children].map((e) => e.textContent.trim()).join(' ').replace(/\\s+/g, ' ')))"""
    )


def check_screens(one, run):
    """Compare every number of one run on its screens with Python's."""
    page = one.page
    show(one, f"{run.at}/falls", {})
    assert rows_on_page(page) == [expected_row(row) for row in run.lengths]
    said = plain(page.inner_text("main"))
    for back in run.water["backfalls"]:
        assert (
            f"Backfall from {decimal_text(back['from_m'], 2)} to {decimal_text(back['to_m'], 2)} m: rises"
            in said
        )
        assert metres(back["rise_m"], back["sd_m"]) in said
    for sag in run.water["sags"]:
        assert f"{decimal_text(1000 * sag['volume_m3'], 0)} litres (computed)" in said
        assert metres(sag["depth_m"], sag["sd_m"]) in said
    show(one, f"{run.at}/capacity", {})
    shown = [plain(text) for text in page.locator("[data-figure=stretch] .big-figure").all_inner_texts()]
    assert shown == [capacity_words(row["capacity"]) for row in run.capacity["rows"]]
    assert "Indication for a competent engineer" in page.inner_text("main")
    show(one, f"{run.at}/trace", {})
    if run.end is None:
        assert "No trace yet" in page.inner_text("main")
    else:
        words = walk_text(run.end["distance_m"], run.end["bearing_deg"], run.end["radius_m"])
        assert plain(page.inner_text(".walk-figure")) == words
    show(one, run.at, {})
    gauge = plain(page.inner_text("[data-figure=gradient] dd"))
    assert gauge.startswith(one_in_text(run.lengths[-1].deg))
    if run.profile.rise_m is not None:
        fall = plain(page.inner_text("[data-figure=fall] dd"))
        way = "rises" if run.profile.rise_m > 0 else "falls"
        assert (
            fall
            == f"{way} {metres(abs(run.profile.rise_m), run.profile.rise_sd_m).replace(',', '')} (computed)"
        )
    assert page.locator(".sketch svg path.sketch-band").count() >= 1
    if any(s.known == "bounded" for s in run.profile.stations):
        assert page.locator('.sketch path[fill="url(#hatch)"]').count() >= 1


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
  const { runFigures } = await import('/static/js/screens/run_figures.js');
  for (const { job_id } of await app.store.jobs()) {
    const view = await app.store.job(job_id);
    const run = view.record('run', runId);
    if (!run) continue;
    const f = runFigures(app, view, run);
    return {
      levels: f.profile.stations, lengths: f.lengths, sags: f.water.sags, backfalls: f.water.backfalls, water: f.water.checks,
      rise: f.wholeRise, gaps: f.profile.gaps, far_check: f.extent.far_check, surveyed_m: f.extent.surveyed_m,
      capacities: f.capacity.rows.map((row) => ({...row, ...row.capacity})), points: f.trace.trace?.points ?? [], instruments: f.tools,
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
def test_the_phone_computes_what_the_figures_command_prints(held, folder):
    command = [sys.executable, "-m", "webapp.cli", "figures", "--json", str(folder / "job.json")]
    done = subprocess.run(command, check=True, cwd=ROOT, capture_output=True, text=True, encoding="utf-8")
    for run in json.loads(done.stdout)["runs"]:
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
    command = [sys.executable, "-m", "webapp.cli", "import", "--data", str(server.folder)]
    subprocess.run(
        [*command, *(str(s / "job.json") for s in SAMPLES)], check=True, cwd=ROOT, capture_output=True
    )
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
                if found := faults_of(held.page):
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
    run = next(r for r in RUNS if r.ref == "F1")
    show(held, f"{run.at}/capacity", {})
    held.page.get_by_label("Flow", exact=True).fill("5")
    (flow,) = stretch_flows(run.capacity["rows"], 0.005, 0.7, 1.0)
    said = plain(held.page.inner_text("[data-figure=flow]"))
    assert f"{decimal_text(1000 * flow['depth_m'], 0)} mm" in said
    assert f"{decimal_text(flow['velocity_m_s'], 2)} m/s" in said
    assert f"{decimal_text(flow['shear_pa'], 2)} Pa" in said
    assert "reaches 0.70 m/s" in said
    held.page.get_by_label("Flow", exact=True).fill("500")
    assert "More than this stretch can carry" in held.page.inner_text("[data-figure=stretch]")
    held.page.get_by_label("Flow", exact=True).fill("many")
    held.page.get_by_text("Flow must be a number in l/s.").wait_for()
    held.page.get_by_label("Flow", exact=True).fill("")
    held.page.locator("[data-figure=flow]").wait_for(state="detached")


@pytest.fixture
def fresh(visitor, shared_server):
    """A phone without the samples; ``make(job)`` puts one run on it and returns its address."""
    one = visitor(shared_server.url)
    one.goto("/")

    def make(job):
        ids = one.app(NEW_JOB, job)
        return f"/jobs/{ids['job']}/runs/{ids['run']}", ids

    one.make = make
    return one


def falling(*places, sense="falling"):
    return [{"counter_m": m, "inclination": {"size": 80, "unit": "one_in", "sense": sense}} for m in places]


def text_of(one, path):
    show(one, path, {})
    return plain(one.page.inner_text("main"))


@pytest.mark.parametrize(
    "job",
    [
        {},
        {"of": {"reading": falling(0)}},
        {"of": {"reading": falling(5, 5)}},
        {"of": {"reading": [{"counter_m": 3}]}},
        {"of": {"reading": falling(0, 10), "stretch": [{"from_counter_m": 0, "to_counter_m": 0}]}},
        {"run": {"end_counter_m": 0}, "of": {"level_tie": [{"counter_m": -1, "invert_level_m": 3}]}},
    ],
)
def test_a_run_with_next_to_nothing_says_so_and_breaks_nothing(fresh, job):
    at, _ = fresh.make(job)
    for screen in SCREENS:
        said = text_of(fresh, at + screen)
        assert "Something went wrong" not in said
        assert not re.search(r"NaN|undefined|null|\{\w+\}|Infinity", said)


def test_what_is_assumed_is_said_with_the_check_that_would_replace_it(fresh):
    at, _ = fresh.make({"of": {"reading": falling(0, 10)}})
    said = text_of(fresh, at)
    assert "Assumed, for want of a check: counter ± 0.5 %, zero of the inclinometer ± 0.20°" in said
    fresh.page.get_by_role("link", name="zero of the inclinometer", exact=False).click()
    fresh.page.wait_for_url(re.compile(r"type=inclinometer_reversed$"))


def test_a_level_at_the_far_end_is_said_to_settle_it(fresh):
    at, _ = fresh.make({"of": {"reading": falling(0, 10, 20, 30)}})
    model = run_model(
        {}, [{"id": f"{i:02}", "fields": f} for i, f in enumerate(falling(0, 10, 20, 30))], [], [], [], instruments_of([], "r")
    )  # fmt: skip
    sd = level_profile(model.readings, model.ties, model.setup).stations[-1].sd_m
    now = metres(sd, sd).split(", sd ")[1]
    own = 0.01 * 2**0.5  # without a tie one level settles nothing: a level at each end is meant
    after = sd * own / (sd * sd + own * own) ** 0.5
    words = f"would settle the fall: sd {now} to sd {metres(after, after).split(', sd ')[1]}."
    assert f"A level at each end, taken to 0.010 m (assumed), {words}" in text_of(fresh, at)


def test_a_tie_that_contradicts_by_a_metre_is_named(fresh):
    ties = [
        {"counter_m": m, "invert_level_m": z, "sd_m": 0.01}
        for m, z in ((0, 10), (15, 10.8125), (20, 9.75), (30, 9.625))
    ]
    at, _ = fresh.make({"of": {"reading": falling(*range(0, 31, 3)), "level_tie": ties}})
    said = text_of(fresh, at)
    assert "Level tie at 15.00 m does not fit" in said
    assert "Most suspicious: the level tie at 15.00 m. It is" in said


def test_the_counter_at_the_far_node_is_flagged_and_never_corrected_in_silence(fresh):
    run = {"end_counter_m": 40, "end_reason": "node_reached", "expected_length_m": 38}
    at, _ = fresh.make({"run": run, "of": {"reading": falling(0, 10, 40)}})
    said = text_of(fresh, f"{at}/falls")
    assert "Chainage 40.00 m, expected 38.00 m: 2.00 m apart (+5.3 %), more than the 0.30 m allowed." in said
    assert "multiplied by 0.9500. This is not applied" in said
    assert rows_on_page(fresh.page)[-1][0] == "10.00 to 40.00"


PLACE = {"lat_deg": 52.0, "lon_deg": -1.5, "accuracy_m": 4.9}


def traced(north="true", **more):
    bearing = {"bearing_deg": 90.0, "north": north, "sd_deg": 2}
    return {
        "node": {"node_ref": "N1", "position": PLACE},
        "run": {"start_bearing": bearing, "end_counter_m": 40, **more},
    }


def test_the_way_follows_the_phone(fresh):
    at, ids = fresh.make(traced())
    records = [{"id": ids["node"], "fields": traced()["node"]}]
    run = {"start_node_id": ids["node"], **traced()["run"]}
    trace = run_trace(
        run, records, [], [], tables.load("observation_codes")["rows"], instruments_of([], "r"), None, None
    )
    end = far_end(trace)
    reach = trace["trace"]["points"][-1]["ellipse"]["semi_major_m"]
    show(fresh, f"{at}/trace", {})
    assert plain(fresh.page.inner_text(".walk-figure")) == walk_text(
        end["distance_m"], end["bearing_deg"], end["radius_m"]
    )
    fresh.context.grant_permissions(["geolocation"])
    for lat, lon in ((51.9998, -1.5003), (52.0001, -1.4999)):
        fresh.context.set_geolocation({"latitude": lat, "longitude": lon, "accuracy": 7})
        button = fresh.page.get_by_role("button", name="Use this phone’s position")
        if button.count():
            button.click()
        line = walk_this_way(lat, lon, end["lat_deg"], end["lon_deg"])
        words = walk_text(line.distance_m, line.azimuth_from_deg, search_radius_m(reach, 7))
        fresh.page.wait_for_function(
            "(words) => document.querySelector('.walk-figure').textContent.replace(/\\s/g, ' ') === words",
            arg=words,
        )
    fresh.page.get_by_role("button", name="Stop following").click()
    fresh.page.get_by_text("from N1").wait_for()


def test_what_a_trace_lacks_is_one_tap_away(fresh):
    at, ids = fresh.make({"run": {"end_counter_m": 40}})
    for name, goal in (
        ("Position of the start node", f"/nodes/{ids['node']}"),
        ("Bearing at the start", "/edit"),
    ):
        show(fresh, f"{at}/trace", {})
        fresh.page.get_by_role("link", name=name, exact=False).click()
        fresh.page.wait_for_url(f"**{goal}")


def test_the_declination_comes_from_the_server_or_says_that_it_did_not(fresh):
    at, ids = fresh.make(traced("magnetic"))
    show(fresh, f"{at}/trace", {})
    assert "as a compass shows it; the declination is not known" in fresh.page.inner_text(".walk")
    fresh.page.route("**/api/declination?**", lambda route: route.abort())
    fresh.page.get_by_role("button", name="Ask the server for the declination").click()
    fresh.page.get_by_text("The server was not reached.").wait_for()
    fresh.page.unroute("**/api/declination?**")
    fresh.page.get_by_role("button", name="Ask the server for the declination").click()
    fresh.page.get_by_text("Bearing from true north. On a compass: 090°.").wait_for()
    today = datetime.date.fromisoformat(fresh.app("async (app) => app.newIsoStamp().slice(0, 10)"))
    model = declination(PLACE["lat_deg"], PLACE["lon_deg"], today).declination_deg
    assert f"at {bearing_text(90 + model)}," in plain(fresh.page.inner_text(".walk-figure"))
    assert f"Declination {signed_text(model, 2)}°" in fresh.page.inner_text("main")
    assert (
        fresh.app("async (app, id) => (await app.store.job(id)).job.fields.declination_known", ids["job"])
        == "model"
    )


def test_a_far_end_found_ties_the_trace(fresh):
    at, ids = fresh.make(traced(end_reason="node_reached"))
    far = fresh.app(
        """async (app, [job, run]) => {
          const id = app.newId();
          await app.store.addEntries(job, [
            {kind: 'node', record_id: id, fields: {node_ref: 'N2', position: {lat_deg: 52.0003, lon_deg: -1.4994, accuracy_m: 3}}},
            {kind: 'run', record_id: run, fields: {finish_node_id: id}}]);
          return id;
        }""",
        [ids["job"], ids["run"]],
    )
    assert far
    said = text_of(fresh, f"{at}/trace")
    assert "The far node has a position of its own. The trace misses it by" in said
    assert "check bends, bearing and both positions" in said


def test_an_edit_recomputes_once_and_only_what_it_touches(fresh):
    _, ids = fresh.make({"of": {"reading": falling(0, 10, 20)}})
    same = fresh.app(
        """async (app, [job, run]) => {
          const { runFigures } = await import('/static/js/screens/run_figures.js');
          const view = await app.store.job(job);
          const get = () => runFigures(app, view, view.record('run', run));
          const before = get().profile;
          const again = get().profile === before;
          const reading = view.records('reading')[1];
          await app.store.save(job, 'reading', reading.id, {inclination: {size: 40, unit: 'one_in', sense: 'falling'}});
          const after = get().profile;
          return {again, changed: after !== before, fell: after.rise_m < before.rise_m, kept: get().profile === after};
        }""",
        [ids["job"], ids["run"]],
    )
    assert same == {"again": True, "changed": True, "fell": True, "kept": True}


def test_plain_figures_of_python_can_be_compared():
    """The comparison itself is not empty: the samples have lengths, a bounded one, a sag and a trace."""
    assert sum(len(run.lengths) for run in RUNS) > 50
    assert any(row.fall_m is None for run in RUNS for row in run.lengths)
    assert any(run.water["sags"] for run in RUNS)
    assert any(run.end for run in RUNS)
    assert asdict(RUNS[0].lengths[0])["known"] == "computed"

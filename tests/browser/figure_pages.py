"""What the screens of numbers must show, as Python computes and says it; and runs made for one test."""

import json
import re
from functools import partial
from types import SimpleNamespace

import pytest
from run_made import figures_of
from test_screens import SAMPLES, faults_of, sampled_server, show  # noqa: F401

from webapp import tables
from webapp.figures.run_records import RunRecords
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.levels.falls import length_table
from webapp.survey.levels.gap_inclinations import settled_inclinations
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import run_model
from webapp.survey.levels.run_water import run_water
from webapp.survey.numbers.decimals import decimal_text
from webapp.survey.plan.run_places import far_end
from webapp.survey.plan.run_trace import TraceFacts, run_trace
from webapp.survey.plan.trace_basis import basis_of
from webapp.survey.wording import figures, quantities

WORDS = tables.messages()
code_words = partial(figures.code_reason, WORDS)
at_least_text = partial(quantities.at_least_text, WORDS)
degrees_text = partial(quantities.degrees_text, WORDS)
metres = partial(quantities.metres, WORDS)
one_in_text = partial(quantities.one_in_text, WORDS)
percent_text = partial(quantities.percent_text, WORDS)
bearing_text = partial(quantities.bearing_text, WORDS)
walk_text = partial(quantities.walk_text, WORDS)
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
    instruments = instruments_of(of("check", False), run["id"])
    model = run_model(
        run["fields"], of("reading"), of("level_tie"), of("stretch"), of("node", False), instruments
    )
    profile = level_profile(model.readings, model.ties, model.setup)
    kinds = ("reading", "level_tie", "stretch", "observation")
    own = RunRecords(of("node", False), of("check", False), *(of(kind) for kind in kinds))
    capacity = figures_of(run["id"], run["fields"], job, own).capacity
    codes = tables.load("observation_codes")["rows"]
    closed = figures_of(run["id"], run["fields"], job, own).stretches
    trace = run_trace(
        TraceFacts(
            run["fields"], of("node", False), of("reading"), of("observation"), codes, instruments,
            job.get("declination_deg"), job.get("grid_convergence_deg"),
            settled_inclinations(model.reading_ids, profile.gaps),
            basis_of(job, closed, tables.load("joint_deflections")["rows"]),
        )
    )  # fmt: skip
    water = run_water(run["fields"], of("observation"), profile, capacity["rows"], instruments)
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
    fall, spread = fall_words(row).removesuffix(")").split(" (")
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
    page_text = plain(page.inner_text("main"))
    for back in run.water["backfalls"]:
        assert (
            f"Backfall from {decimal_text(back['from_m'], 2)} to {decimal_text(back['to_m'], 2)} m: rises"
            in page_text
        )
        assert metres(back["rise_m"], back["sd_m"]) in page_text
    for sag in run.water["sags"]:
        assert f"{decimal_text(1000 * sag['volume_m3'], 0)} litres (computed)" in page_text
        assert metres(sag["depth_m"], sag["sd_m"]) in page_text
    show(one, f"{run.at}/capacity", {})
    shown = [plain(text) for text in page.locator("[data-figure=stretch] .big-figure").all_inner_texts()]
    rows = run.capacity["rows"]
    assert shown == [capacity_words(row["capacity"]) for row in rows if row["capacity"]]
    page_text = plain(page.inner_text("main"))
    assert all(code_words(row["left_out"]) in page_text for row in rows if row["left_out"])
    known = [n for row in rows for n in row["narrowings"] if n["left_pct"] is not None]
    assert page_text.count("of the clean capacity") >= len(known)
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
        size, spread = metres(abs(run.profile.rise_m), run.profile.rise_sd_m).removesuffix(")").split(" (")
        assert fall == f"{way} {size} {spread} (computed)"
    assert page.locator(".sketch svg path.sketch-band").count() >= 1
    if any(s.known == "bounded" for s in run.profile.stations):
        assert page.locator('.sketch path[fill="url(#hatch)"]').count() >= 1


@pytest.fixture
def fresh(resident):
    """A phone; ``make(job)`` puts one run on it and returns its address."""

    def make(job):
        ids = resident.app(NEW_JOB, job)
        return f"/jobs/{ids['job']}/runs/{ids['run']}", ids

    resident.make = make
    return resident


def falling(*places, sense="falling"):
    return [{"counter_m": m, "inclination": {"size": 80, "unit": "one_in", "sense": sense}} for m in places]


def text_of(one, path):
    show(one, path, {})
    return plain(one.page.inner_text("main"))

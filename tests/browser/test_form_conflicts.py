"""Forms while the same record changes elsewhere: nothing is replaced that was not seen."""

import re

import steps
from run_log import records

ARRIVES = """async (app, [job, kind, id, name, value]) => {
  const standing = (await app.store.job(job)).record(kind, id).standing[name] ?? [];
  const entry = {job_id: job, writer: `another-phone-${name}`, number: 1, device_id: 'another', record_id: id, kind,
    fields: {[name]: value}, seen: {[name]: standing}, recorded_at: '2026-11-25T10:00:00+00:00'};
  await app.store.take(job, [entry], {});
}"""
CONFLICTS = """async (app, job) => (await app.store.job(job)).conflicts().map((c) => [c.field, c.values.map((v) => v[1]).sort()])"""
READING = """async (app, {job, run}) => app.store.save(job, 'reading', null,
  {run_id: run, counter_m: 12, inclination: {size: 1, unit: 'pct', sense: 'falling', typed: '1'}})"""
OBSERVATION = """async (app, {job, run}) => app.store.save(job, 'observation', null, {run_id: run, counter_m: 12, code: 'BBA'})"""


def open_a_reading_that_changes(one):
    """Open the form of a reading at 12 m, and let 13 m come from another phone."""
    reading = one.app(READING, one.ids)
    one.goto(f"{one.ids['at']}/readings/{reading}")
    steps.field(one.page, "Counter reading").wait_for()
    one.app(ARRIVES, [one.ids["job"], "reading", reading, "counter_m", 13])


def test_a_change_that_arrives_while_a_form_is_open_is_not_replaced_unseen(with_job):
    ids = with_job.ids
    open_a_reading_that_changes(with_job)
    steps.field(with_job.page, "Counter reading").fill("14")
    steps.button(with_job.page, "Save reading").click()
    with_job.page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    assert with_job.app(CONFLICTS, ids["job"]) == [["counter_m", [13, 14]]]

    with_job.goto(f"/jobs/{ids['job']}/edit")
    with_job.app(ARRIVES, [ids["job"], "job", ids["job"], "title", "Theirs"])
    with_job.page.get_by_label("Job title").fill("Ours")
    steps.button(with_job.page, "Save job").click()
    with_job.page.wait_for_url(re.compile(r"/jobs/[0-9a-f-]{36}$"))
    assert ["title", ["Ours", "Theirs"]] in with_job.app(CONFLICTS, ids["job"])


def test_a_draft_of_an_older_state_changes_only_what_was_typed(with_job):
    ids = with_job.ids
    observation = with_job.app(OBSERVATION, ids)
    at = f"{ids['at']}/observations/{observation}"
    with_job.goto(at)
    with_job.page.get_by_label("Remark").fill("typed before")
    with_job.wait_until(
        "async (at) => Boolean((await (await import('/static/js/main.js')).app.store.draft(at))?.raw.remark)",
        at,
    )
    with_job.goto(ids["at"])
    with_job.app(ARRIVES, [ids["job"], "observation", observation, "counter_m", 13])
    with_job.goto(at)
    with_job.page.get_by_text(re.compile("^Draft restored")).first.wait_for()
    steps.button(with_job.page, "Save observation").click()
    with_job.page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    (found,) = records(with_job, "observation")
    assert (found["counter_m"], found["remark"]) == (13, "typed before")
    assert with_job.app(CONFLICTS, ids["job"]) == []


def test_a_removal_has_seen_only_what_its_form_showed(with_job):
    ids = with_job.ids
    open_a_reading_that_changes(with_job)
    steps.button(with_job.page, "Remove").click()
    with_job.page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    assert with_job.app(CONFLICTS, ids["job"]) == [["removed", [False, True]]]
    assert [r["counter_m"] for r in records(with_job, "reading")] == [13]

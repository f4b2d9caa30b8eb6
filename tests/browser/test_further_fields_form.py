"""A field that is only a line in the schema of observations: the form and the log show it, the draft keeps it."""

import re

import pytest
import steps

RUN = """async (app) => {
  const job = app.newId();
  await app.store.save(job, 'job', null, {title: 'Dell Lane'});
  const run = await app.store.save(job, 'run', null, {run_ref: 'R1', direction: 'with_flow'});
  const id = await app.store.save(job, 'observation', null,
    {run_id: run, counter_m: 2.5, code: 'BAF', characterisation_1: 'A'});
  return {job, id, at: `/jobs/${job}/runs/${run}`};
}"""
# As /fields.json describes a field that the schema of observations has and no form places.
FIELDS = """async (app) => void app.fields.kinds.observation.fields.push(
  {name: 'trial_gap_mm', label: 'Trial gap', type: 'number', unit: 'mm', minimum: 0, maximum: 500, whole: false,
   further: true},
  {name: 'trial_seen_by', label: 'Seen by', type: 'choice', further: true,
   choices: [{value: 'camera', label: 'Camera'}, {value: 'mirror', label: 'Mirror'}]})"""


@pytest.fixture
def surveyor(newcomer):
    newcomer.ids = newcomer.app(RUN)
    newcomer.app(FIELDS)
    return newcomer


def fields(one):
    return one.app(
        "async (app, [job, id]) => (await app.store.job(job)).record('observation', id).fields",
        [one.ids["job"], one.ids["id"]],
    )


def go(one, path):
    one.app("async (app, path) => app.go(path)", path)


def test_form_log_and_draft_have_the_field(surveyor):
    page, at = surveyor.page, surveyor.ids["at"]
    go(surveyor, f"{at}/observations/{surveyor.ids['id']}")
    gap = page.get_by_role("textbox", name=re.compile("^Trial gap"))
    gap.fill("900")
    steps.link_or_button(page, "Save observation").click()
    page.get_by_text("Trial gap must lie between 0 and 500 mm.").first.wait_for()
    assert "trial_gap_mm" not in fields(surveyor)
    gap.fill("12")
    page.get_by_role("radio", name="Mirror").or_(page.get_by_role("button", name="Mirror")).first.click()
    surveyor.wait_until(
        "async (path) => JSON.stringify(await (await import('/static/js/main.js')).app.store.draft(path) ?? '')"
        ".includes('12')",
        f"{at}/observations/{surveyor.ids['id']}",
    )
    go(surveyor, at)
    go(surveyor, f"{at}/observations/{surveyor.ids['id']}")
    page.get_by_text("Draft restored").first.wait_for()
    assert gap.input_value() == "12"
    steps.link_or_button(page, "Save observation").click()
    page.get_by_text(re.compile(r"Trial gap: 12\smm · Seen by: Mirror")).first.wait_for()
    assert (fields(surveyor)["trial_gap_mm"], fields(surveyor)["trial_seen_by"]) == (12, "mirror")

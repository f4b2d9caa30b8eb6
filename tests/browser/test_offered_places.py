"""No form of a run offers a counter behind the camera; a reading takes an offer only by a tap."""

import re

import pytest
import steps
from test_observation_touches import RECORDS, RUN

LATER = """async (app, [job, run]) => {
  const add = (kind, fields) => ({kind, record_id: app.newId(), fields: {run_id: run, ...fields}});
  await app.store.addEntries(job, [add('stretch', {from_counter_m: 18, shape: 'circular', height_mm: 225})]);
  await app.store.addEntries(job, [add('observation', {counter_m: 0.6, code: 'BCD', characterisation_1: 'A'})]);
}"""


@pytest.fixture
def log(resident):
    """A run: a reading at 12 m, a change of pipe at 18 m, and the start node recorded last, at 0.60 m."""
    resident.ids = resident.app(RUN)
    resident.app(LATER, [resident.ids["job"], resident.ids["run"]])
    return resident


FORMS = {
    "observations/new": "Counter reading",
    "change": "Counter reading",
    "ties/new": "Counter reading",
    "remarks/new": "Counter reading",
    "stretches/new": "From, counter reading",
    "edit?part=end": "Counter where it ended",
}


@pytest.mark.parametrize("path", [*FORMS, "photo"])
def test_every_form_offers_the_farthest(log, path):
    at = log.ids["at"]
    run = at.rsplit("/", 1)[1]
    log.goto(f"/jobs/{log.ids['job']}/photos/new?run={run}" if path == "photo" else f"{at}/{path}")
    window = log.page.get_by_label(FORMS.get(path, "Counter reading"), exact=False).first
    window.wait_for()
    assert window.input_value() == "18"
    shown = log.page.inner_text("main").replace("\u00a0", " ")
    assert "Farthest so far. Recorded last: 0.60 m" in shown or "Farthest (last 0.60 m)" in shown


def test_a_reading_shows_the_offer_and_is_never_saved_with_it_unread(log):
    log.goto(f"{log.ids['at']}/readings/new")
    window = steps.field(log.page, "Counter reading")
    assert (window.input_value(), window.get_attribute("placeholder")) == ("", "18")
    steps.button(log.page, "Falling").click()
    steps.field(log.page, "Inclination").fill("1")
    steps.button(log.page, "Save reading").click()
    log.page.get_by_text("Counter reading is needed").first.wait_for()
    steps.button(log.page, "Take 18.00 m").click()
    assert window.input_value() == "18"
    steps.button(log.page, "Save reading").click()
    log.page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    assert max(one["counter_m"] for one in log.app(RECORDS, [log.ids["job"], "reading"])) == 18


def test_what_stands_where_it_cannot_be_is_said_on_the_log_and_before_leaving(log):
    log.app(
        """async (app, [job, run]) => {
          const view = await app.store.job(job);
          const start = view.records('observation').find((one) => one.fields.code === 'BCD');
          await app.store.save(job, 'observation', start.id, {counter_m: 16.5});
          await app.store.save(job, 'run', run, {end_counter_m: 19, end_reason: 'obstruction'});
          await app.store.addEntries(job, [{kind: 'level_tie', record_id: app.newId(),
            fields: {run_id: run, counter_m: 25, invert_level_m: 3.2}}]);
        }""",
        [log.ids["job"], log.ids["run"]],
    )
    log.goto(log.ids["at"])
    log.page.get_by_text("The start node stands at 16.5 m").first.wait_for()
    log.page.get_by_text("25 m, beyond the 19 m where the run ended").first.wait_for()
    log.goto(f"/jobs/{log.ids['job']}/leave")
    log.page.get_by_text("The start node stands at 16.50 m by the counter").first.wait_for()
    log.page.get_by_text("A level tie stands at 25.00 m by the counter").first.wait_for()

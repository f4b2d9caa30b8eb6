"""An instrument check ends in a sentence at once, on the log too, and serves today's other jobs by a tap."""

import re

import steps

TWO_JOBS = """async (app) => {
  const [one, other, run] = [app.newId(), app.newId(), app.newId()];
  const check = (fields) => ({kind: 'check', record_id: app.newId(), fields});
  const turned = (size, sense) => ({size, unit: 'deg', sense, typed: String(size)});
  await app.store.addEntries(one, [{kind: 'job', record_id: one, fields: {title: 'Morning'}},
    check({check_type: 'counter_tape', counter_from_m: 0, counter_to_m: 20.1, taped_length_m: 20, instrument: 'Crawler 7'}),
    check({check_type: 'inclinometer_reversed', reading_forward: turned(1.1, 'rising'), reading_reversed: turned(0.9, 'falling'),
      instrument: 'Crawler 7', run_id: run}),
    check({check_type: 'gas_meter', answer: 'yes'})]);
  await app.store.addEntries(other, [{kind: 'job', record_id: other, fields: {title: 'Afternoon'}},
    {kind: 'run', record_id: run, fields: {run_ref: 'R1', direction: 'with_flow', counter_zero_m: 0}},
    ...[0, 4, 8].map((m) => ({kind: 'reading', record_id: app.newId(),
      fields: {run_id: run, counter_m: m, inclination: turned(1, 'falling')}}))]);
  return {one, other, run};
}"""
CHECKS = "async (app, job) => (await app.store.job(job)).records('check').map((one) => one.fields)"


def test_a_check_says_what_it_comes_to_while_it_is_typed(newcomer):
    ids = newcomer.app(TWO_JOBS)
    newcomer.goto(f"/jobs/{ids['other']}/checks/new?type=counter_tape")
    page = newcomer.page
    page.get_by_label("Taped length", exact=False).first.fill("20")
    page.get_by_label("Counter at the start of the tape").fill("0")
    assert "Counter reads" not in page.inner_text("main")
    page.get_by_label("Counter at the end of the tape").fill("21")
    page.get_by_text("Counter reads 5.0 % long, beyond the usual.").first.wait_for()
    page.get_by_label("Counter at the end of the tape").fill("20.1")
    page.get_by_text("Counter reads 0.5 % long, within the usual.").first.wait_for()
    steps.button(page, "Save check").click()
    page.wait_for_url(re.compile(r"/checks$"))
    page.get_by_text("Distances are shortened by 0.5 %.").first.wait_for()
    newcomer.goto(f"/jobs/{ids['other']}/runs/{ids['run']}")
    log = page.locator(".log").locator("xpath=..")
    log.get_by_text("Counter reads 0.5 % long, within the usual.").wait_for()
    newcomer.goto(f"/jobs/{ids['other']}/runs/{ids['run']}/falls")
    page.locator("[data-figure=verdict]").wait_for()


def test_checks_made_today_serve_another_job_a_tap_each(newcomer):
    ids = newcomer.app(TWO_JOBS)
    newcomer.goto(f"/jobs/{ids['other']}/checks")
    page = newcomer.page
    page.get_by_text("Made today for other jobs").first.wait_for()
    assert "Gas meter" not in page.locator("section", has_text="Made today for other jobs").first.inner_text()
    steps.button(page, "Same instrument: Counter against a taped length").click()
    steps.button(page, "Same instrument: Inclinometer on a surface, then turned round").click()
    page.get_by_text("both within the usual").first.wait_for()
    assert page.get_by_role("button", name=re.compile("^Same instrument")).count() == 0
    made = newcomer.app(CHECKS, ids["other"])
    assert [one["first_made_for"] for one in made] == ["Morning", "Morning"]
    assert all(one["first_made_at"] and "run_id" not in one for one in made)
    assert len(newcomer.app(CHECKS, ids["one"])) == 3  # the other job keeps its own


def test_the_form_of_a_check_offers_today_s_too(newcomer):
    ids = newcomer.app(TWO_JOBS)
    newcomer.goto(f"/jobs/{ids['other']}/checks/new?type=counter_tape")
    steps.button(newcomer.page, "Same instrument: Counter against a taped length").click()
    newcomer.page.wait_for_url(re.compile(r"/checks$"))
    newcomer.page.get_by_text("First made for Morning").first.wait_for()
    assert [one["check_type"] for one in newcomer.app(CHECKS, ids["other"])] == ["counter_tape"]

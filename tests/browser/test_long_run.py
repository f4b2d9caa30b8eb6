"""A run of thousands of readings: the log opens, shows the latest, and the earlier ones at a tap."""

COUNT = 3000
FILL = """async (app, count) => {
  const job = app.newId(), run = app.newId();
  const made = [{kind: 'job', record_id: job, fields: {title: 'Long'}},
    {kind: 'run', record_id: run, fields: {run_ref: 'L1', direction: 'with_flow'}}];
  for (let i = 0; i < count; i += 1) made.push({kind: 'reading', record_id: app.newId(), fields: {run_id: run,
    counter_m: i / 2, inclination: {size: 0.5 + (i % 7) / 10, unit: 'deg', sense: 'falling', typed: ''}}});
  await app.store.addEntries(job, made);
  return `/jobs/${job}/runs/${run}`;
}"""


def test_the_log_of_a_long_run_shows_the_latest_rows_and_the_rest_at_a_tap(newcomer):
    page = newcomer.page
    at = newcomer.app(FILL, COUNT)
    newcomer.app("async (app, path) => app.go(path)", at)
    earlier = page.get_by_role("button", name=f"Show the {COUNT - 300:,} rows before these")
    earlier.wait_for()
    assert page.locator("a.log-row").count() == 300
    assert "1499.50" in page.locator("a.log-row").last.inner_text()
    earlier.click()
    page.wait_for_function(f"() => document.querySelectorAll('a.log-row').length === {COUNT}")
    assert page.locator("a.log-row").first.inner_text().startswith("0.00")

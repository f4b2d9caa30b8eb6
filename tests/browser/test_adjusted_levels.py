"""On the phone a tie shows both levels: what was measured and what the readings make of it."""

TIED = """async (app) => {
  const [job, run] = [app.newId(), app.newId()];
  const of = (kind, fields) => ({kind, record_id: app.newId(), fields: {run_id: run, ...fields}});
  const read = (m) => of('reading', {counter_m: m, inclination: {size: 1, unit: 'deg', sense: 'falling', typed: '1'}});
  const tie = (m, level) => of('level_tie', {counter_m: m, invert_level_m: level, sd_m: 0.01, method: 'levelled'});
  await app.store.addEntries(job, [{kind: 'job', record_id: job, fields: {title: 'Ties'}},
    {kind: 'run', record_id: run, fields: {run_ref: 'T1', direction: 'with_flow', counter_zero_m: 0, end_counter_m: 20, end_reason: 'water'}},
    ...[0, 4, 10, 20].map(read), tie(0, 1.47), tie(20, 0.7)]);
  return {at: `/jobs/${job}/runs/${run}`};
}"""


def test_the_log_and_the_falls_show_both(resident):
    ids = resident.app(TIED)
    resident.goto(ids["at"])
    row = resident.page.locator(".log-row.level_tie").first
    row.wait_for()
    assert "Level tie 1.470 m measured" in row.inner_text()
    assert "adjusted to the readings 1.464 m" in row.inner_text().replace("\u00a0", " ")
    resident.goto(f"{ids['at']}/falls")
    resident.page.get_by_text("measured 1.470", exact=False).first.wait_for()
    shown = resident.page.inner_text("main").replace("\u00a0", " ")
    assert "measured 1.470 m (sd 0.010 m), its sd measured; adjusted to 1.464 m (sd 0.010 m)" in shown

"""The screens of a job that is kept by pages: the same words in the end, and nothing claimed of what was not counted."""

JOB, RUN = "01890000-0000-7000-8000-000000000001", "019abcde-0000-7000-8001-000000009001"
MADE = """async (app, job) => {
  const uuid = (n) => `019abcde-0000-7000-8001-${String(n).padStart(12, '0')}`;
  const runs = Array.from({ length: 14 }, (_, n) => n);
  await app.store.addEntries(job, [
    { kind: 'job', record_id: job, fields: { title: 'Dell Lane' } },
    { kind: 'node', record_id: uuid(8001), fields: { node_ref: 'A' } },
    ...runs.map((n) => ({ kind: 'run', record_id: uuid(9000 + n), fields: { run_ref: `R${n}`, start_node_id: uuid(8001), direction: 'with_flow' } })),
    ...runs.flatMap((run) => Array.from({ length: 30 }, (_, n) => ({ kind: 'reading', record_id: uuid(run * 100 + n),
      fields: { run_id: uuid(9000 + run), counter_m: n / 2, inclination: { size: 0.6, unit: 'deg', sense: 'falling' } } }))),
    ...runs.map((run) => ({ kind: 'observation', record_id: uuid(7000 + run), fields: { run_id: uuid(9000 + run), counter_m: 3, code: 'BAB' } })),
  ]);
  await app.store.setServerVector(job, await app.store.vector(job)); // all of it is on the server
}"""
KEEP = """async (app, job) => {
  const { module } = await import('/static/js/main.js');
  const { PageKeeper } = module('store/page_keeper.js');
  return new PageKeeper(app.store).keep(await app.store.job(job));
}"""
WORDS = "() => document.getElementById('main').innerText.replace(/\\s+/g, ' ')"
# Work that can wait does so until the test lets it go.
HELD = """
  window.held = [];
  window.requestIdleCallback = (go) => (window.held ? window.held.push(go) : setTimeout(go));
  window.letGo = () => { const all = window.held; window.held = null; for (const go of all) go(); };
"""


def out_of_reach(visitor, server):
    """A phone with a job of which the server has all, and no signal."""
    phone = visitor(server.url)
    phone.context.route("**/api/**", lambda route: route.abort())
    phone.allowed.append("net::ERR_FAILED")
    phone.goto("/")
    phone.app(MADE, JOB)
    return phone


def test_the_screens_of_a_large_job_say_the_same_in_the_end(visitor, shared_server):
    phone = out_of_reach(visitor, shared_server)
    paths = [f"/jobs/{JOB}", f"/jobs/{JOB}/runs/{RUN}", f"/jobs/{JOB}/nodes", "/"]
    whole = {}
    for path in paths:
        phone.goto(path)
        whole[path] = phone.page.evaluate(WORDS)
    assert "14 things to fix" not in whole[paths[0]] and "30 readings" in whole[paths[0]]
    assert phone.app(KEEP, JOB)
    phone.context.add_init_script(HELD)
    for path in paths:
        phone.goto(path)
        pages = "async (app, job) => (await app.store.job(job)).pages?.left().length ?? 0"
        closed = phone.app(pages, JOB)
        assert closed > 0, path
        first = phone.page.evaluate(WORDS)
        if path == paths[0]:
            assert "Still counting what is missing" in first and "R13" in first
            assert first.count("30 readings") < 14, "runs out of view wait"
            phone.page.get_by_role("link", name="R13").scroll_into_view_if_needed()
            phone.page.get_by_role("link", name="R13").get_by_text("30 readings").wait_for()
        if path == paths[1]:
            assert "Before you leave: still counting" in first
        phone.page.evaluate("letGo()")
        phone.wait_until(f"async () => ({WORDS})() === {whole[path]!r}")
    phone.page.goto("about:blank")


def test_a_reading_is_saved_in_a_large_job_before_it_is_counted(visitor, shared_server):
    phone = out_of_reach(visitor, shared_server)
    assert phone.app(KEEP, JOB)
    phone.context.add_init_script(HELD)
    phone.goto(f"/jobs/{JOB}/runs/{RUN}")
    left = "async (app, job) => (await app.store.job(job)).pages?.left().length ?? 0"
    closed = phone.app(left, JOB)
    phone.app(
        "async (app, [job, run_id]) => app.store.save(job, 'reading', null, { run_id, counter_m: 99 })",
        [JOB, RUN],
    )
    phone.page.get_by_text("99.00").first.wait_for()
    assert phone.app(left, JOB) == closed > 0, "a save opens no page"

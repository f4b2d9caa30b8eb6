"""A phone on the log of a run of a new job."""

import pytest
from phone import VIEWPORT, Watched

RUN = """async (app) => {
  const job = app.newId();
  await app.store.save(job, 'job', null, {title: 'Dell Lane'});
  const node = await app.store.save(job, 'node', null, {node_ref: 'MH1', node_type: 'manhole'});
  const run = await app.store.save(job, 'run', null, {run_ref: 'R1', start_node_id: node, direction: 'with_flow'});
  return {job, run, at: `/jobs/${job}/runs/${run}`};
}"""


@pytest.fixture(scope="module")
def one_phone(one_browser, shared_server):
    one = Watched(shared_server.url)
    one.watch(one_browser.new_context(viewport=VIEWPORT, has_touch=True, service_workers="block"))
    one.goto("/")
    yield one
    one.close()
    one.check()


@pytest.fixture
def surveyor(one_phone):
    """A phone on the log of a run of a new job."""
    one_phone.ids = one_phone.app(RUN)
    one_phone.goto(one_phone.ids["at"])
    return one_phone


def records(one, kind):
    return one.app(
        "async (app, [job, kind]) => (await app.store.job(job)).records(kind).map((r) => r.fields)",
        [one.ids["job"], kind],
    )

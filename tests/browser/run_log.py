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
def with_job(one_phone):
    """A phone with a run of a new job, left where the test before was: the test goes to an address first."""
    one_phone.ids = one_phone.app(RUN)
    return one_phone


@pytest.fixture
def surveyor(with_job):
    """A phone on the log of a run of a new job."""
    with_job.goto(with_job.ids["at"])
    return with_job


def records(one, kind):
    return one.app(
        "async (app, [job, kind]) => (await app.store.job(job)).records(kind).map((r) => r.fields)",
        [one.ids["job"], kind],
    )

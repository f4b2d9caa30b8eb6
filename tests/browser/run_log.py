"""A phone on the log of a run of a new job."""

import pytest

RUN = """async (app) => {
  const job = app.newId();
  await app.store.save(job, 'job', null, {title: 'Dell Lane'});
  const node = await app.store.save(job, 'node', null, {node_ref: 'MH1', node_type: 'manhole'});
  const run = await app.store.save(job, 'run', null, {run_ref: 'R1', start_node_id: node, direction: 'with_flow'});
  return {job, run, at: `/jobs/${job}/runs/${run}`};
}"""


@pytest.fixture
def with_job(resident):
    """A phone with a run of a new job, left where the test before was: the test goes to an address first."""
    resident.ids = resident.app(RUN)
    return resident


@pytest.fixture
def surveyor(with_job):
    """A phone on the log of a run of a new job."""
    with_job.goto(with_job.ids["at"])
    return with_job


@pytest.fixture
def surveyor_alone(newcomer):
    """The same where no test before has left anything: for what is told of the phone as a whole."""
    newcomer.ids = newcomer.app(RUN)
    newcomer.goto(newcomer.ids["at"])
    return newcomer


def records(one, kind):
    return one.app(
        "async (app, [job, kind]) => (await app.store.job(job)).records(kind).map((r) => r.fields)",
        [one.ids["job"], kind],
    )

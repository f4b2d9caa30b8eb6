async (app) => {
  const jobs = {};
  for (const line of await app.store.jobs()) {
    const view = await app.store.job(line.job_id);
    const kinds = ['job', 'node', 'run', 'stretch', 'reading', 'observation', 'level_tie', 'check', 'photo', 'remark'];
    jobs[line.job_id] = Object.fromEntries(kinds.map((kind) => [kind, view.records(kind)]));
  }
  const { counts } = await app.store.outbox();
  return JSON.parse(JSON.stringify({ jobs, counts, lines: await app.store.jobs(), drafts: await app.store.drafts('/') }));
}

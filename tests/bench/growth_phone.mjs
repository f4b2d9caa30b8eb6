// Every figure of a run as the phone computes it, for tests/bench/growth.py: {tables, job} in, seconds by figure out.
import { readFileSync } from 'node:fs';

const { figuresOf } = await import(new URL('../../static/js/screens/parts/figures_of.js', import.meta.url));
const FIGURES = ['profile', 'lengths', 'settled', 'items', 'visibility', 'hazards', 'capacity', 'water', 'grading', 'suggested', 'trace', 'end', 'placed'];

function seconds(act) {
  const before = process.cpuUsage();
  act();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6;
}

/** A job as the store shows it to a screen. */
function viewOf(job) {
  const byKind = new Map();
  for (const one of job.records) (byKind.get(one.kind) ?? byKind.set(one.kind, []).get(one.kind)).push({ conflicts: {}, ...one });
  return { jobId: job.job_id, job: byKind.get('job')[0], records: (kind) => byKind.get(kind) ?? [], ofRun: (kind) => byKind.get(kind) ?? [], record: (kind, id) => byKind.get(kind)?.find((one) => one.id === id) };
}

const { tables, job } = JSON.parse(readFileSync(0, 'utf-8'));
const found = {};
for (let turn = 0; turn < 3; turn += 1) { // the first is slower while the engine learns the code
  const view = viewOf(job);
  let figures;
  const took = { compose: seconds(() => { figures = figuresOf({ tables }, view, view.records('run')[0]); }) };
  for (const name of FIGURES) took[name] = seconds(() => { void figures[name]; });
  for (const name of Object.keys(took)) found[name] = Math.min(found[name] ?? Infinity, took[name]);
  found.refused = figures.refused;
}
process.stdout.write(JSON.stringify(found));

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Fold } from '../../static/js/records/fold.js';
import { JobView } from '../../static/js/store/job_view.js';

/** Numbers that look random and are always the same. */
function dice(seed) {
  let state = seed;
  return (most) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state % most;
  };
}

function entryOf(roll, number) {
  const kind = ['reading', 'remark', 'photo'][roll(3)];
  const fields = [
    { run_id: `run ${roll(3)}` },
    { remark: `${roll(5)}` },
    { removed: roll(2) === 0 },
    { run_id: `run ${roll(3)}`, remark: 'x' }
  ][roll(4)];
  const shown = Array.from({ length: roll(4) }, () => `writer:${1 + roll(number)}`);
  const seen = Object.fromEntries([...Object.keys(fields), '*'].map((name) => [name, shown]));
  return {
    job_id: 'j',
    writer: 'writer',
    number,
    device_id: 'd',
    record_id: `r${roll(8)}`,
    kind,
    fields,
    seen,
    recorded_at: 'x'
  };
}

const ids = (records) => records.map((one) => one.id);

test('whatever comes, kinds, runs, removals and conflicts are those of all records together', () => {
  for (let seed = 1; seed < 60; seed += 1) {
    const [roll, view, entries] = [dice(seed), new JobView('j'), []];
    for (let number = 1; number < 60; number += 1) {
      const entry = entryOf(roll, number);
      entries.push(entry);
      view.add(entry);
      if (roll(3)) continue;
      const all = new Fold(entries).records();
      for (const one of all) assert.deepEqual(view.record(one.kind, one.id), one);
      for (const kind of ['reading', 'remark', 'photo']) {
        const mine = all.filter((one) => one.kind === kind);
        const standing = mine.filter((one) => !one.removed);
        assert.deepEqual(ids(view.records(kind)), ids(standing));
        assert.deepEqual(ids(view.removed(kind)), ids(mine.filter((one) => one.removed)));
        for (const run of ['run 0', 'run 1', 'run 2', 'none'])
          assert.deepEqual(
            ids(view.ofRun(kind, run)),
            ids(standing.filter((one) => one.fields.run_id === run))
          );
      }
      const rivals = all
        .filter((one) => !one.removed)
        .flatMap((one) => Object.keys(one.conflicts).map((name) => `${one.kind} ${one.id} ${name}`));
      assert.deepEqual(
        view
          .conflicts()
          .map((one) => `${one.kind} ${one.id} ${one.field}`)
          .sort(),
        rivals.sort()
      );
    }
  }
});

test('a list that was given does not change, and nobody changes the one that is kept', () => {
  const view = new JobView('j');
  const roll = dice(3);
  for (let number = 1; number < 20; number += 1)
    view.add({
      ...entryOf(roll, number),
      fields: { remark: 'x' },
      kind: 'remark',
      record_id: `r${number + 10}`
    });
  const before = view.records('remark');
  before.reverse();
  assert.deepEqual(ids(view.records('remark')), ids(before).reverse());
  view.add({ ...entryOf(roll, 20), fields: { remark: 'x' }, kind: 'remark', record_id: 'r0' });
  assert.deepEqual(
    [before.length, view.records('remark').length, view.records('remark')[0].id],
    [19, 20, 'r0']
  );
});

test('of a job in which one entry tells of each record, only the records that are asked for are folded', (t) => {
  const folded = t.mock.method(Fold.prototype, 'add');
  const view = new JobView('j');
  const base = { job_id: 'j', writer: 'writer', device_id: 'd', kind: 'reading', recorded_at: 'x' };
  for (let n = 0; n < 1000; n += 1)
    view.add({ ...base, number: n + 1, record_id: `r${n}`, fields: { run_id: `run ${n % 100}` } });
  assert.equal(view.countBeyond({}), 1000);
  assert.deepEqual(view.conflicts(), []);
  assert.equal(folded.mock.callCount(), 0);
  assert.equal(view.ofRun('reading', 'run 7').length, 10);
  assert.equal(folded.mock.callCount(), 10);
});

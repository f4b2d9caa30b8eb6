import assert from 'node:assert/strict';
import { test } from 'node:test';
import { canonical, compareIds, Fold } from '../../static/js/records/fold.js';
import { JobView } from '../../static/js/store/job_view.js';
import { Seen } from '../../static/js/store/seen.js';
import { sameVector, vectorDigest, vectorLines } from '../../static/js/records/vectors.js';

const JOB = '01890000-0000-7000-8000-000000000001';

/** @param {JobView} view */
function writer(view, name) {
  let number = 0;
  return (kind, record_id, fields) => {
    number += 1;
    const seen = new Seen(view).of({ kind, record_id, fields }, `${name}:${number}`);
    const entry = {
      job_id: JOB,
      writer: name,
      number,
      device_id: 'd',
      record_id,
      kind,
      fields,
      seen,
      recorded_at: '2026'
    };
    view.add(entry);
    return entry;
  };
}

test('ids are ordered by number, then writer', () => {
  assert.deepEqual(['b:2', 'a:10', 'a:2'].sort(compareIds), ['a:2', 'b:2', 'a:10']);
});

test('canonical text ignores the order of keys', () => {
  assert.equal(canonical({ b: [1, { y: null, x: 'é' }], a: 12.0 }), '{"a":12,"b":[1,{"x":"é","y":null}]}');
});

test('a later edit replaces what it has seen', () => {
  const view = new JobView(JOB);
  const write = writer(view, 'writer-a');
  write('run', 'r', { run_ref: 'A' });
  write('run', 'r', { run_ref: 'B' });
  assert.equal(view.record('run', 'r').fields.run_ref, 'B');
  assert.deepEqual(view.conflicts(), []);
});

test('changes of one batch see those before them', () => {
  const view = new JobView(JOB);
  const seen = new Seen(view);
  assert.deepEqual(seen.of({ kind: 'run', record_id: 'r', fields: { run_ref: 'A' } }, 'w:1'), {});
  assert.deepEqual(seen.of({ kind: 'run', record_id: 'r', fields: { run_ref: 'B' } }, 'w:2'), {
    run_ref: ['w:1']
  });
  assert.deepEqual(seen.of({ kind: 'run', record_id: 'r', fields: { removed: true } }, 'w:3'), {
    '*': ['w:2']
  });
});

test('two edits that have not seen each other conflict, and a third settles it', () => {
  const [one, two] = [new JobView(JOB), new JobView(JOB)];
  const a = writer(one, 'writer-a')('run', 'r', { run_ref: 'A' });
  const b = writer(two, 'writer-b')('run', 'r', { run_ref: 'B' });
  one.add(b);
  two.add(a);
  assert.equal(one.conflicts().length, 1);
  assert.deepEqual(one.record('run', 'r'), two.record('run', 'r'));
  const settled = writer(two, 'writer-c')('run', 'r', { run_ref: 'A' });
  assert.deepEqual(settled.seen.run_ref, ['writer-a:1', 'writer-b:1']);
  assert.deepEqual(two.conflicts(), []);
});

test('a removal that had not seen a change is a conflict; one that had is not', () => {
  const [one, two] = [new JobView(JOB), new JobView(JOB)];
  const write = writer(one, 'writer-a');
  two.add(write('run', 'r', { run_ref: 'A' }));
  const removal = write('run', 'r', { removed: true });
  assert.equal(one.record('run', 'r').removed, true);
  writer(two, 'writer-b')('run', 'r', { run_ref: 'B' });
  two.add(removal);
  assert.equal(two.record('run', 'r').removed, false);
  assert.ok(two.record('run', 'r').conflicts.removed);
  writer(two, 'writer-c')('run', 'r', { removed: true });
  assert.equal(two.record('run', 'r').removed, true);
});

test('an entry set aside is held, and stands outside the records', () => {
  const view = new JobView(JOB);
  view.aside.set('writer-a:1', { code: 'entry_refused', reasons: {} });
  const write = writer(view, 'writer-a');
  write('run', 'r', { run_ref: 'A' });
  assert.deepEqual(view.records('run'), []);
  assert.deepEqual(view.vector(), { 'writer-a': 1 });
  write('run', 'r2', { run_ref: 'B' });
  assert.equal(view.records('run').length, 1);
});

test('what somebody lacks, counted and listed', () => {
  const view = new JobView(JOB);
  const write = writer(view, 'writer-a');
  for (let i = 0; i < 5; i += 1) write('run', `r${i}`, { run_ref: String(i) });
  assert.equal(view.countBeyond({ 'writer-a': 3 }), 2);
  assert.deepEqual(
    view.entriesBeyond({ 'writer-a': 3 }).map((e) => e.number),
    [4, 5]
  );
  assert.deepEqual(
    view.entriesBeyond({}, 2).map((e) => e.number),
    [1, 2]
  );
  assert.equal(view.countBeyond({ 'writer-a': 9 }), 0);
});

test('only what differs counts as changed; null and never set are the same', () => {
  const view = new JobView(JOB);
  writer(view, 'writer-a')('run', 'r', { run_ref: 'A', clock: { hour_from: 1, hour_to: 2 } });
  const same = { run_ref: 'A', clock: { hour_to: 2, hour_from: 1 }, remark: null, end_reason: undefined };
  assert.deepEqual(view.changed('run', 'r', same), {});
  assert.deepEqual(view.changed('run', 'r', { run_ref: null }), { run_ref: null });
});

test('the fold of a fold is the same whatever the order', () => {
  const view = new JobView(JOB);
  const write = writer(view, 'writer-a');
  const entries = ['A', 'B', 'C'].map((v) => write('run', 'r', { run_ref: v }));
  assert.deepEqual(new Fold([...entries].reverse()).records(), new Fold([...entries, ...entries]).records());
});

test('digest of a vector: known value', async () => {
  const have = { bbbbbbbb: 3, Aaaaaaaa: 12 };
  assert.equal(vectorLines(have), 'Aaaaaaaa:12\nbbbbbbbb:3');
  // printf 'Aaaaaaaa:12\nbbbbbbbb:3' | sha256sum | cut -c-32
  assert.equal(await vectorDigest(have), '5cc6f9f4e65ec885b3645c72b5161709');
  assert.ok(sameVector({ a: 1 }, { a: 1 }));
  assert.ok(!sameVector({ a: 1 }, { a: 1, b: 1 }));
});

// A job by pages is the same job: answers of a view that begins with pages against one that read all entries.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { CODE, frameOf, reasonsOf } from '../../static/js/records/erasure.js';
import { beginWith, takeIn } from '../../static/js/store/entry_rows.js';
import { JobView } from '../../static/js/store/job_view.js';
import { makePages } from '../../static/js/store/make_pages.js';
import { pagesOf } from '../../static/js/store/pages.js';

const JOB = '019abcde-0000-7000-8000-000000000000';
const KINDS = ['job', 'run', 'node', 'reading', 'observation', 'photo', 'remark'];
const RUNS = ['run 0', 'run 1', 'run 2'];

/** Numbers that look random and are always the same. */
function dice(seed) {
  let state = Math.imul(seed, 2654435761) >>> 0;
  return (most) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state >>> 8) % most;
  };
}

/** Ids that differ now in one word, now in all. */
function uuid(n) {
  const word = (Math.imul(n, 2654435761) >>> 0).toString(16).padStart(8, '0');
  const [first, last] = [[word, '019abcde'][n % 2], String(n).padStart(12, '0')];
  return `${first}-${n % 3 ? '0000' : word.slice(4)}-7000-8001-${n % 5 ? last : `ffff${word}`}`;
}

/** A history by several writers: plain, edited, contested, removed, moved to another run, of an odd shape. */
function historyOf(roll, length) {
  const heads = new Map();
  return Array.from({ length }, () => {
    const writer = `writer-${roll(5)}`;
    const number = (heads.get(writer) ?? 0) + 1;
    heads.set(writer, number);
    const kind = KINDS[1 + roll(KINDS.length - 1)];
    const fields = [
      { run_id: RUNS[roll(3)], counter_m: roll(100) / 10 },
      { remark: `\ud800 “ü” ${roll(5)}`, run_id: RUNS[roll(3)] },
      { removed: roll(3) > 0 },
      { run_id: RUNS[roll(3)] },
      { inclination: { size: roll(9), unit: 'deg', sense: 'falling' }, run_id: null },
      { caption: null }
    ][roll(12) < 7 ? roll(2) : roll(6)];
    const at = () => `writer-${roll(5)}:${1 + roll(8)}`;
    const entry = {
      job_id: JOB,
      writer,
      number,
      device_id: `phone ${roll(3)}`,
      record_id: roll(20) ? uuid(roll(length)) : `odd ${roll(3)}`,
      kind,
      fields,
      recorded_at: `2026-11-30T00:00:0${roll(3)}.000+00:00`
    };
    if (roll(3) === 0)
      entry.seen = Object.fromEntries([...Object.keys(fields), '*'].map((name) => [name, [at(), at()]]));
    if (roll(40) === 0) entry.later_word = 'of a version to come';
    return entry;
  });
}

/** What the disk may say beside the entries: some set aside, some erased, hidden or gone. */
function besideOf(roll, entries) {
  const at = '2026-11-30T00:00:00+00:00';
  const act = (id, state) => ({
    id,
    job_id: JOB,
    what: 'entry',
    spans: {},
    photos: [],
    places: {},
    reason: 'r',
    by: 'o',
    at,
    until: at,
    state,
    changed_at: at,
    proof: ''
  });
  const acts = roll(2) ? [act('a1', 'quarantined'), act('a2', 'expunged')] : [];
  const aside = [];
  const kept = entries.map((entry) => {
    const key = { job_id: JOB, writer: entry.writer, number: entry.number };
    const own = acts.length && roll(12) === 0 ? acts[roll(2)] : undefined;
    if (own) {
      own.spans[entry.writer] = [...(own.spans[entry.writer] ?? []), [entry.number, entry.number]];
      aside.push({ ...key, ...reasonsOf(own), dismissed: true });
      return own.state === 'expunged' ? frameOf(entry, own) : entry;
    }
    if (roll(15) === 0) aside.push({ ...key, code: 'entry_refused', reasons: {}, dismissed: roll(2) === 0 });
    return entry;
  });
  return { entries: kept, aside, acts, life: 'x' };
}

const inOrder = (entries) =>
  [...entries].sort((a, b) => (a.writer === b.writer ? a.number - b.number : a.writer < b.writer ? -1 : 1));

/** As one that reads the disk: all of it. */
function wholeView(disk) {
  const view = new JobView(JOB);
  takeIn(view, { ...disk, entries: inOrder(disk.entries) });
  return view;
}

function rowsOf(view, release = 'r1') {
  const rows = [];
  const work = makePages(view, release);
  let step = work.next();
  for (; !step.done; step = work.next())
    if (step.value) rows.push({ job_id: JOB, name: 'n', at: rows.length + 1, bytes: step.value });
  return step.value && structuredClone([{ job_id: JOB, name: 'n', at: 0, ...step.value }, ...rows]);
}

/** As one that finds pages, and reads what came after them. */
function pagedView(disk, rows, have) {
  const view = new JobView(JOB);
  beginWith(view, pagesOf(rows, JOB, 'r1'));
  takeIn(view, {
    ...disk,
    entries: inOrder(disk.entries.filter((one) => one.number > (have[one.writer] ?? 0)))
  });
  return view;
}

const plain = (value) => JSON.parse(JSON.stringify(value));

/** Every question that a screen or the exchange asks, each by a name. */
function questions(entries) {
  const asked = [
    ['vector', (view) => view.vector()],
    [
      'conflicts',
      (view) =>
        view
          .conflicts()
          .map((one) => JSON.stringify(one))
          .sort()
    ],
    ['all', (view) => inOrder(view.entriesBeyond({}))],
    ['beyond', (view) => inOrder(view.entriesBeyond({ 'writer-1': 3, 'writer-2': 9 }))],
    ['counted', (view) => view.countBeyond({ 'writer-1': 2 })],
    ['handed over', (view) => inOrder(view.handedOver())],
    ['holes', (view) => view.holes().sort()],
    ['erased', (view) => RUNS.map((run) => view.erasedIn(run))]
  ];
  for (const kind of KINDS) {
    asked.push(
      [`records ${kind}`, (view) => view.records(kind)],
      [`removed ${kind}`, (view) => view.removed(kind)]
    );
    for (const run of [...RUNS, 'no run', undefined])
      asked.push([`${kind} of ${run}`, (view) => view.ofRun(kind, run)]);
  }
  for (const { kind, record_id: id, writer, number } of entries.slice(0, 30)) {
    asked.push([`record ${kind} ${id}`, (view) => view.record(kind, id)]);
    asked.push([`happened to ${kind} ${id}`, (view) => view.entriesOf(kind, id)]);
    asked.push([`entry ${writer}:${number}`, (view) => view.entry(`${writer}:${number}`)]);
    asked.push([
      `changed ${kind} ${id}`,
      (view) => view.changed(kind, id, { caption: 'x', run_id: 'run 1' })
    ]);
  }
  return asked;
}

function shuffled(roll, list) {
  const out = [...list];
  for (let at = out.length - 1; at > 0; at -= 1) {
    const other = roll(at + 1);
    [out[at], out[other]] = [out[other], out[at]];
  }
  return out;
}

function compare(seed, spoil = (rows) => rows) {
  const roll = dice(seed);
  const history = historyOf(roll, 20 + roll(120));
  const disk = besideOf(roll, history);
  const upto = roll(3) ? history.length : 1 + roll(history.length);
  const early = disk.entries.slice(0, upto);
  const names = new Set(early.map((one) => `${one.writer}:${one.number}`));
  // Of what was set aside later than the pages were made nothing is believed: both know the same marks here.
  const aside = disk.aside.filter((one) => names.has(`${one.writer}:${one.number}`));
  const rows = spoil(rowsOf(wholeView({ ...disk, aside, entries: early })));
  assert.ok(rows, `seed ${seed}: no pages`);
  const have = wholeView({ ...disk, entries: early, aside }).vector();
  const [one, other] = [wholeView(disk), pagedView(disk, rows, have)];
  for (const [name, ask] of shuffled(roll, questions(history)))
    assert.deepEqual(plain(ask(other) ?? null), plain(ask(one) ?? null), `seed ${seed}: ${name}`);
}

test('whatever is asked first, a job by pages answers as the job read whole', () => {
  for (let seed = 1; seed <= 400; seed += 1) compare(seed);
});

test('what a page lacks would be seen', () => {
  const spoil = (rows) => {
    const text = new TextDecoder()
      .decode(rows[1].bytes)
      .replaceAll('"caption":null', '"captiom":null')
      .replaceAll('"counter_m":1', '"counter_m":2');
    rows[1].bytes = new TextEncoder().encode(text);
    return rows;
  };
  const believed = (rows) => pagesOf(rows, JOB, 'r1') !== undefined;
  const disk = besideOf(dice(3), historyOf(dice(3), 100));
  const rows = rowsOf(wholeView(disk));
  assert.ok(believed(rows));
  assert.ok(!believed(spoil(structuredClone(rows))), 'bytes that were changed');
});

/** A job with enough of everything, and its pages. */
function example() {
  const disk = besideOf(dice(7), historyOf(dice(7), 150));
  return { disk, rows: rowsOf(wholeView(disk)) };
}

test('pages that are torn, of another app, of another job, or of another vector are not believed', () => {
  const { rows } = example();
  const changed = (change) => {
    const mine = structuredClone(rows);
    return pagesOf(change(mine) ?? mine, JOB, 'r1');
  };
  const about = (change) => (mine) => {
    const told = JSON.parse(mine[0].about);
    change(told);
    mine[0].about = JSON.stringify(told);
  };
  assert.ok(changed(() => undefined));
  const wrong = {
    'no head': (mine) => mine.slice(1),
    'no part': (mine) => mine.slice(0, -1),
    nothing: () => [],
    'a part cut short': (mine) => {
      mine[1].bytes = mine[1].bytes.slice(0, -1);
    },
    'one byte': (mine) => {
      mine[1].bytes[mine[1].bytes.length >> 1] ^= 1;
    },
    'an id': (mine) => {
      mine[0].ids[5] ^= 1;
    },
    'no ids': (mine) => {
      mine[0].ids = undefined;
    },
    'a newer vector': about((told) => {
      told.counts[0] += 1;
    }),
    'an older vector': about((told) => {
      told.counts[0] -= 1;
    }),
    'another head': (mine) => {
      mine[0].about = '{}';
    },
    'not JSON': (mine) => {
      mine[0].about = mine[0].about.slice(1);
    }
  };
  for (const [name, change] of Object.entries(wrong)) assert.equal(changed(change), undefined, name);
  assert.equal(pagesOf(rows, JOB, 'r2'), undefined, 'of another app');
  assert.equal(pagesOf(rows, uuid(1), 'r1'), undefined, 'of another job');
});

test('what was erased, set aside or put away since is known to be so', () => {
  const { disk, rows } = example();
  const pages = pagesOf(rows, JOB, 'r1');
  assert.ok(disk.acts.length > 0 && pages.knows(disk.acts));
  assert.ok(
    !pages.knows(disk.acts.slice(1)) && !pages.knows([{ ...disk.acts[0], state: 'undone' }, disk.acts[1]])
  );
  assert.deepEqual(
    pages.about.marks.map(([id, code]) => `${id} ${code}`).sort(),
    disk.aside.map((one) => `${one.writer}:${one.number} ${one.code}`).sort()
  );
  assert.ok(pages.about.marks.some(([, code]) => code === CODE));
});

test('only what is asked for is opened', () => {
  const entry = (n, fields) => ({
    job_id: JOB,
    writer: 'w',
    number: n,
    device_id: 'd',
    record_id: uuid(n),
    kind: 'reading',
    fields,
    recorded_at: 'x'
  });
  const entries = Array.from({ length: 90 }, (_, n) => entry(n + 1, { run_id: RUNS[n % 3], counter_m: n }));
  const disk = { entries, aside: [], acts: [], life: '' };
  const view = pagedView(disk, rowsOf(wholeView(disk)), { w: 90 });
  assert.equal(view.history.size, 0);
  assert.equal(view.ofRun('reading', 'run 1').length, 30);
  assert.equal(view.history.size, 30, 'one run');
  assert.deepEqual(
    view.changed('reading', uuid(500), { counter_m: 1 }),
    { counter_m: 1 },
    'one that is new opens none'
  );
  assert.deepEqual(view.record('reading', uuid(1)).fields.counter_m, 0);
  assert.equal(view.history.size, 60);
  assert.equal(view.records('reading').length, 90);
  assert.equal(view.pages, undefined, 'all are open');
});

test('what comes while they are made is left to what is read beside them', () => {
  const { disk } = example();
  const view = wholeView({ ...disk, entries: disk.entries.slice(0, 120) });
  const have = view.vector();
  const rows = [];
  const work = makePages(view, 'r1');
  let step = work.next();
  for (const late of disk.entries.slice(120)) view.add(late);
  for (; !step.done; step = work.next())
    if (step.value) rows.push({ job_id: JOB, name: 'n', at: rows.length + 1, bytes: step.value });
  const all = structuredClone([{ job_id: JOB, name: 'n', at: 0, ...step.value }, ...rows]);
  assert.deepEqual(
    Object.fromEntries(
      pagesOf(all, JOB, 'r1').about.writers.map((w, at) => [w, pagesOf(all, JOB, 'r1').about.counts[at]])
    ),
    have
  );
  const [one, other] = [wholeView(disk), pagedView(disk, all, have)];
  for (const [name, ask] of questions(disk.entries))
    assert.deepEqual(plain(ask(other) ?? null), plain(ask(one) ?? null), name);
});

test('a view that is made anew meanwhile gives no pages', () => {
  const view = wholeView(example().disk);
  const work = makePages(view, 'r1');
  work.next();
  view.reset();
  let step = work.next();
  while (!step.done) step = work.next();
  assert.equal(step.value, undefined);
});

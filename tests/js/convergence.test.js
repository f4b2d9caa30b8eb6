import assert from 'node:assert/strict';
import { test } from 'node:test';
import { SyncError } from '../../static/js/sync/transport.js';
import { FakePhone, FakeServer } from './fake_world.js';

const RUNS = 100;
const STEPS = 80;
const JOBS = ['job-a', 'job-b'];

/** A small seeded generator. */
function seeded(seed) {
  let state = seed * 2654435761 + 1;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

async function play(seed, { reopenKeepsItsName = false, stampsComeAndGo = false } = {}) {
  const random = seeded(seed);
  const pick = (list) => list[Math.floor(random() * list.length)];
  const world = { server: new FakeServer() };
  const phones = ['one', 'two', 'three'].map((name) => new FakePhone(name));
  for (const phone of phones) for (const job of JOBS) phone.view(job);
  const written = [];
  let backup = world.server.backup();
  const fault = () => pick(['none', 'none', 'none', 'lost_request', 'lost_answer', 'twice']);
  for (let step = 0; step < STEPS; step += 1) {
    const [what, phone] = [random(), pick(phones)];
    if (stampsComeAndGo) world.server.stamps = random() < 0.6; // another version is started in its place
    if (what < 0.5) {
      const fields =
        random() < 0.1
          ? { bad: true, text: 'x' }
          : random() < 0.12
            ? { removed: random() < 0.7 }
            : { [pick(['text', 'caption'])]: Math.floor(random() * 1000) };
      written.push(phone.write(pick(JOBS), 'remark', pick(['r1', 'r2', 'r3']), fields));
    } else if (what < 0.85) {
      phone.batch.size = pick([1, 3, 1000]);
      await phone.sync(world, fault).catch((error) => {
        if (!(error instanceof SyncError) || error.code !== 'offline') throw error;
      });
    } else if (what < 0.89) backup = world.server.backup();
    else if (what < 0.92) world.server = backup.backup();
    else if (what < 0.95 && phones.length < 5) phones.push(phone.clone(`copy${phones.length}`));
    else if (!reopenKeepsItsName) phone.reopen();
    else phone.numbers = new Map();
  }
  for (let round = 0; round < 3; round += 1) for (const phone of phones) await phone.sync(world);
  return { world, phones, written };
}

const recordsOf = (view) => JSON.stringify(view.fold.records());

for (const stampsComeAndGo of [false, true]) {
  const how = stampsComeAndGo ? ', with versions of the server that know stamps and that do not' : '';
  test(`whatever happens on the way, all end with the same records and nothing is lost${how}`, async () => {
    for (let seed = 1; seed <= RUNS; seed += 1) await ends(seed, { stampsComeAndGo });
  });
}

async function ends(seed, how) {
  const { world, phones, written } = await play(seed, how);
  for (const job of JOBS) {
    const there = world.server.view(job);
    for (const phone of phones) {
      assert.equal(recordsOf(phone.view(job)), recordsOf(there), `seed ${seed}, ${phone.name}, ${job}`);
      assert.deepEqual(
        [...phone.view(job).aside.keys()].sort(),
        [...there.aside.keys()].sort(),
        `seed ${seed}`
      );
    }
  }
  for (const entry of written) {
    const held = world.server.view(entry.job_id).entry(`${entry.writer}:${entry.number}`);
    assert.deepEqual(held, entry, `seed ${seed}: lost or changed`);
  }
}

test('an exchange of nothing is one request without entries', async () => {
  const { world, phones } = await play(4);
  const requests = [];
  const { server } = world;
  await phones[0].sync({
    server: {
      exchange: (request) => {
        requests.push(request);
        return server.exchange(request);
      }
    }
  });
  assert.equal(requests.length, 1);
  assert.deepEqual(requests[0].entries, []);
  for (const { since, have } of Object.values(requests[0].jobs)) {
    assert.ok(since);
    assert.deepEqual(have, {});
  }
});

test('only what differs is told, both ways, whatever the number of writers', async () => {
  const world = { server: new FakeServer() };
  const [one, two] = [new FakePhone('one'), new FakePhone('two')];
  for (const phone of [one, two]) phone.view('job-a');
  for (let n = 0; n < 50; n += 1) {
    one.reopen();
    one.write('job-a', 'remark', `r${n}`, { text: 'x' });
  }
  for (const phone of [one, two]) await phone.sync(world);
  one.reopen();
  one.write('job-a', 'remark', 'r1', { text: 'y' });
  for (const [phone, told] of [
    [one, { 'one-52': 1 }],
    [two, {}]
  ]) {
    const [seen, server] = [[], world.server];
    const exchange = (request) => {
      seen.push([request.jobs['job-a'], server.exchange(request)]);
      return seen.at(-1)[1];
    };
    await phone.sync({ server: { exchange } });
    assert.deepEqual(seen.length, 1);
    assert.deepEqual(seen[0][0].have, told);
    assert.deepEqual(seen[0][1].jobs['job-a'].have, { 'one-52': 1 });
  }
  assert.equal(two.view('job-a').record('remark', 'r1').fields.text, 'y');
});

test('a phone that goes on under its old name is caught: this is why each opening takes a new one', async () => {
  let broken = 0;
  for (let seed = 1; seed <= 40; seed += 1) {
    try {
      const { world, written } = await play(seed, { reopenKeepsItsName: true });
      const lost = written.some(
        (entry) =>
          JSON.stringify(world.server.view(entry.job_id).entry(`${entry.writer}:${entry.number}`)) !==
          JSON.stringify(entry)
      );
      if (lost) broken += 1;
    } catch {
      broken += 1;
    }
  }
  assert.ok(broken > 10, `only ${broken} of 40 runs showed it`);
});

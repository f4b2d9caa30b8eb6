// The request that is made ready while the one before it is on its way.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { exchangeEntries } from '../../static/js/sync/exchange.js';
import { FakePhone, FakeServer } from './fake_world.js';

/** A link that notes what it was given; `during(n)` happens while request `n` (from 0) is on its way. */
function link({ during = () => {}, most = Infinity, prepare = async () => {} } = {}) {
  const server = new FakeServer();
  const prepared = new Set();
  const sent = [];
  return {
    server,
    sent,
    async prepare(request) {
      prepared.add(request);
      await prepare();
    },
    async exchange(request) {
      sent.push({ first: request.entries[0]?.number, count: request.entries.length, ready: prepared.has(request) });
      await during(sent.length - 1);
      const taken = request.entries.slice(0, most);
      const answer = server.exchange(structuredClone({ ...request, entries: taken }));
      answer.fates.push(...request.entries.slice(most).map((entry) => [`${entry.writer}:${entry.number}`, 'not_taken', 'number_gap']));
      return answer;
    },
  };
}

function phoneWith(count) {
  const phone = new FakePhone('busy');
  for (let n = 0; n < count; n += 1) phone.write('job', 'remark', `r${n}`, { text: `${n}` });
  return phone;
}

async function sync(phone, transport) {
  const counts = { sent: 0, received: 0, setAside: 0, bytes: 0 };
  await exchangeEntries({ store: phone, transport, batch: phone.batch, counts, report: () => {} });
  assert.deepEqual(transport.server.view('job').entriesBeyond({}), phone.view('job').entriesBeyond({}));
  return counts;
}

test('what follows is ready when the answer comes, and is sent as it is', async () => {
  const transport = link();
  assert.equal((await sync(phoneWith(6500), transport)).sent, 6500);
  assert.deepEqual(transport.sent, [
    { first: 1, count: 1000, ready: false }, { first: 1001, count: 5000, ready: true }, { first: 6001, count: 500, ready: true },
  ]);
});

test('what was saved meanwhile is sent too: the request is made anew', async () => {
  const phone = phoneWith(3000);
  const later = (n) => n === 0 && setTimeout(() => phone.write('job', 'remark', 'late', { text: 'late' }));
  const transport = link({ during: async (n) => { later(n); await new Promise((go) => setTimeout(go, 20)); } });
  assert.equal((await sync(phone, transport)).sent, 3001);
  assert.deepEqual(transport.sent[1], { first: 1001, count: 2001, ready: false });
});

test('a server that took less than it was sent gets what it lacks, not what was ready', async () => {
  const transport = link({ most: 700 });
  assert.equal((await sync(phoneWith(4000), transport)).sent, 4000);
  assert.deepEqual(transport.sent[1], { first: 701, count: 3300, ready: false });
});

test('that it could not be made ready holds up nothing', async () => {
  const transport = link({ prepare: async () => { throw new Error('no memory'); } });
  assert.equal((await sync(phoneWith(3000), transport)).sent, 3000);
});

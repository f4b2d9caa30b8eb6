import assert from 'node:assert/strict';
import { test } from 'node:test';
import { exchangeEntries } from '../../static/js/sync/exchange.js';
import { FakePhone, FakeServer } from './fake_world.js';
import './english.js';
import { errorWords } from '../../static/js/ui/error_words.js';

/** A server that takes no job of some, and nothing under some writers. `answered`: it speaks of the job. */
function strict({
  jobs = [],
  writers = [],
  refusal = 'access_job',
  why = 'writer_foreign',
  answered = false
}) {
  const server = new FakeServer();
  const requests = [];
  return {
    server,
    requests,
    async exchange(request) {
      requests.push(structuredClone(request));
      const own = {};
      for (const [jobId, state] of Object.entries(request.jobs))
        if (answered || !jobs.includes(jobId)) own[jobId] = state;
      const may = (entry) => !jobs.includes(entry.job_id) && !writers.includes(entry.writer);
      const answer = server.exchange({ ...request, jobs: own, entries: request.entries.filter(may) });
      const kept = [...answer.fates];
      answer.fates = request.entries.map((entry) => {
        if (may(entry)) return kept.shift();
        const code = jobs.includes(entry.job_id) ? refusal : why;
        return [`${entry.writer}:${entry.number}`, 'not_taken', code];
      });
      for (const jobId of Object.keys(request.jobs))
        if (!answered && jobs.includes(jobId)) answer.jobs[jobId] = { refused: refusal };
      return answer;
    }
  };
}

async function sync(phone, transport) {
  const counts = { sent: 0, received: 0, setAside: 0 };
  const held = await exchangeEntries({
    store: phone,
    transport,
    batch: phone.batch,
    counts,
    report: () => {}
  });
  return { held, counts };
}

for (const refusal of ['access_job', 'data_damaged']) {
  test(`a job that is refused with ${refusal} holds up no other, is said, and stays on the phone`, async () => {
    const phone = new FakePhone('limited');
    for (let n = 0; n < 40; n += 1)
      for (const job of ['mine', 'theirs']) phone.write(job, 'remark', `r${n}`, { text: `${n}` });
    const transport = strict({ jobs: ['theirs'], refusal });
    const { held, counts } = await sync(phone, transport);
    assert.equal(held?.code, refusal);
    assert.equal(held?.retry, false);
    assert.match(errorWords(held), /stays on this phone/);
    assert.equal(counts.sent, 40);
    assert.equal(transport.server.view('mine').countBeyond({}), 40);
    assert.equal((await phone.entriesBeyond({}, 'theirs', 100)).length, 40);
    assert.deepEqual(await phone.serverVector('theirs'), {});
    assert.ok(transport.requests.length <= 4, `${transport.requests.length} requests`);
  });
}

test('entries under a writer of another phone are held back, the others go', async () => {
  const other = new FakePhone('other');
  for (let n = 0; n < 5; n += 1) other.write('job', 'remark', `o${n}`, { text: 'x' });
  const phone = new FakePhone('carrier');
  await phone.take('job', await other.entriesBeyond({}, 'job', 9), {});
  phone.write('job', 'remark', 'own', { text: 'y' });
  const transport = strict({ writers: ['other-1'] });
  const { held } = await sync(phone, transport);
  assert.equal(held?.code, 'writer_foreign');
  assert.deepEqual(transport.server.view('job').vector(), { 'carrier-1': 1 });
  assert.equal((await phone.entriesBeyond({}, 'job', 9)).length, 6);
  // Once the office has taken them, nothing is held back any more.
  const open = { exchange: async (request) => transport.server.exchange(request) };
  assert.equal((await sync(phone, open)).held, undefined);
  assert.deepEqual(transport.server.view('job').vector(), { 'carrier-1': 1, 'other-1': 5 });
});

for (const why of ['too_many_rejected', 'held_back_full']) {
  test(`what the server does not store for ${why} stays on the phone, which says so`, async () => {
    const phone = new FakePhone('carrier');
    for (let n = 0; n < 5; n += 1) phone.write('job', 'remark', `r${n}`, { text: 'x' });
    const transport = strict({ writers: ['carrier-1'], why });
    const { held } = await sync(phone, transport);
    assert.equal(held?.code, why);
    assert.equal(held?.retry, false);
    assert.match(errorWords(held), /They stay on this phone/);
    assert.equal((await phone.entriesBeyond({}, 'job', 9)).length, 5);
    assert.ok(transport.requests.length <= 3, `${transport.requests.length} requests`);
  });

  test(`a job that is full for ${why} holds up no other job of the same writer`, async () => {
    const phone = new FakePhone('carrier');
    for (const job of ['full', 'other'])
      for (let n = 0; n < 5; n += 1) phone.write(job, 'remark', `${job}${n}`, { text: 'x' });
    const transport = strict({ jobs: ['full'], refusal: why, answered: true });
    const { held } = await sync(phone, transport);
    assert.equal(held?.code, why);
    assert.equal(transport.server.view('other').countBeyond({}), 5);
    assert.equal((await phone.entriesBeyond({}, 'full', 9)).length, 5);
  });
}

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { otherJobs } from '../../static/js/sync/heard.js';
import { FakePhone, FakeServer } from './fake_world.js';

const COUNT = 23;

for (const most of [1, 5, 22, 23]) {
  test(`a phone with ${COUNT} jobs syncs them with a server that takes ${most} at once`, async () => {
    const world = { server: new FakeServer() };
    world.server.maxJobs = most;
    const [one, two] = [new FakePhone('one'), new FakePhone('two')];
    for (let n = 0; n < COUNT; n += 1) {
      for (const phone of [one, two]) phone.view(`job-${n}`);
      one.write(`job-${n}`, 'remark', 'r1', { text: `t${n}` });
    }
    await one.sync(world);
    await two.sync(world);
    for (let n = 0; n < COUNT; n += 1) {
      assert.equal(two.view(`job-${n}`).record('remark', 'r1').fields.text, `t${n}`);
      assert.deepEqual(await one.serverVector(`job-${n}`), await one.vector(`job-${n}`));
    }
  });
}

test('what the server says of one part does not undo what it said of another', async () => {
  const world = { server: new FakeServer() };
  world.server.maxJobs = 3;
  const wanted = { 'job-0': 'a', 'job-4': 'b', 'job-6': 'c' };
  const exchange = world.server.exchange.bind(world.server);
  world.server.exchange = (request) => {
    const answer = exchange(request);
    const all = Array.from({ length: 8 }, (_, n) => `job-${n}`);
    answer.photos_wanted = Object.keys(request.jobs).flatMap((job) => wanted[job] ?? []);
    answer.others = all
      .filter((job) => !(job in request.jobs))
      .map((job_id) => ({ job_id, title: '', site: '' }));
    return answer;
  };
  const phone = new FakePhone('one');
  for (let n = 0; n < 7; n += 1) phone.view(`job-${n}`);
  await phone.sync(world);
  assert.deepEqual([...(await phone.wantedPhotos())], ['a', 'b', 'c']);
  assert.deepEqual(
    (await otherJobs(phone)).map((one) => one.job_id),
    ['job-7']
  );
});

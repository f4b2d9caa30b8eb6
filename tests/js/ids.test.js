import assert from 'node:assert/strict';
import { test } from 'node:test';
import { isoStamp, makeIds, randomName } from '../../static/js/store/ids.js';

const UUID7 = /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;

test('ids are UUIDs of version 7 and carry the time', () => {
  const id = makeIds(() => new Date(Date.UTC(2026, 10, 25)))();
  assert.match(id, UUID7);
  assert.equal(parseInt(id.replace('-', '').slice(0, 12), 16), Date.UTC(2026, 10, 25));
});

test('ids grow within one millisecond, and when the clock jumps back to 1970 or before', () => {
  const times = [1e12, ...Array(6000).fill(1e12), 0, -5, 1e12 - 1, 0, 1e12 + 5000];
  let at = 0;
  const newId = makeIds(() => new Date(times[at++]));
  const ids = times.map(() => newId());
  assert.deepEqual(ids, [...ids].sort());
  assert.equal(new Set(ids).size, ids.length);
  for (const id of ids) assert.match(id, UUID7);
});

test('a phone that starts in 1970 still makes good ids', () => {
  assert.match(makeIds(() => new Date(0))(), UUID7);
});

test('names are of the characters that a writer may have', () => {
  assert.match(randomName(22), /^[A-Za-z0-9_-]{22}$/);
  assert.notEqual(randomName(22), randomName(22));
});

test('a stamp is local time with its offset', () => {
  const date = new Date(Date.UTC(2026, 6, 1, 23, 30, 5, 7));
  date.getTimezoneOffset = () => -330;
  assert.equal(isoStamp(date), '2026-07-02T05:00:05.007+05:30');
  date.getTimezoneOffset = () => 210;
  assert.equal(isoStamp(date), '2026-07-01T20:00:05.007-03:30');
});

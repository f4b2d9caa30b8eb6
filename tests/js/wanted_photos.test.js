import assert from 'node:assert/strict';
import { test } from 'node:test';
import { digestWith } from '../../static/js/records/wants.js';
import { changeWanted, noteSent, readWanted, writeWanted } from '../../static/js/store/wanted_photos.js';

const listDigest = (list) => digestWith('0'.repeat(16), list);
const hash = (n) => n.toString(16).padStart(16, '0').padEnd(64, 'e');
const stampOf = (place, list) => `${place}-0123456789abcdef-0.${listDigest(list)}`;

function shelf() {
  const rows = new Map();
  let written = 0;
  const put = async (key, value) => {
    written += JSON.stringify(value).length;
    rows.set(key, structuredClone(value));
  };
  return {
    rows,
    get: async (key) => rows.get(key),
    put,
    putAll: async (all) => {
      for (const [key, value] of all) await put(key, value);
    },
    took: () => written
  };
}

test('a digest is its own inverse, and no order matters', () => {
  const all = Array.from({ length: 50 }, (_, n) => hash(n * 0x9e3779b1));
  assert.equal(listDigest(all), listDigest([...all].reverse()));
  assert.equal(digestWith(listDigest(all), all.slice(20)), listDigest(all.slice(0, 20)));
  assert.equal(listDigest(['ffffffff00000001'.padEnd(64, '0')]), 'ffffffff00000001');
  assert.equal(listDigest(['no hash']), '0'.repeat(16));
});

test('whatever changes come, the list is as a whole one would be, here and after reading it again', async () => {
  const notes = shelf();
  let list = Array.from({ length: 1000 }, (_, n) => hash(n));
  let kept = await writeWanted(notes, list, stampOf(0, list));
  for (let turn = 1; turn < 600; turn += 1) {
    const [more, gone] = [hash(5000 + turn), list[(turn * 7) % list.length]];
    list = [...list.filter((one) => one !== gone), more];
    const stamp = stampOf(turn, list);
    // Some are told though nothing changed of them, as the server may.
    kept = await changeWanted(notes, kept, {
      wanted: [more, list[0]],
      unwanted: [gone, hash(9)],
      stamp
    }).then(async (after) => {
      if (list.includes(hash(9))) {
        list = list.filter((one) => one !== hash(9));
        assert.equal(after.stamp, '', 'a list without that digest has no stamp');
        return writeWanted(notes, list, stampOf(turn, list));
      }
      return after;
    });
    assert.deepEqual([...kept.list].sort(), [...list].sort());
    const read = await readWanted(notes);
    assert.deepEqual([...read.left].sort(), [...list].sort());
    assert.equal(read.stamp, kept.stamp);
  }
});

test('one more of 10,000 is a small note, and so is one that was sent', async () => {
  const notes = shelf();
  const list = Array.from({ length: 10_000 }, (_, n) => hash(n));
  let kept = await writeWanted(notes, list, stampOf(1, list));
  const before = notes.took();
  const more = hash(20_000);
  kept = await changeWanted(notes, kept, {
    wanted: [more],
    unwanted: [],
    stamp: stampOf(2, [...list, more])
  });
  kept = await noteSent(notes, kept, [list[3]]);
  assert.ok(notes.took() - before < 1000);
  assert.equal(kept.list.size, 10_001);
  assert.ok(!kept.left.has(list[3]) && (await readWanted(notes)).left.size === 10_000);
  const heard = await changeWanted(notes, kept, {
    wanted: [],
    unwanted: [list[3]],
    stamp: stampOf(
      3,
      [...list, more].filter((one) => one !== list[3])
    )
  });
  assert.ok(heard.stamp && heard.left.size === 10_000 && heard.sent.size === 0);
});

test('what an earlier version of the app wrote since is not mixed with changes to another list', async () => {
  const notes = shelf();
  const list = [hash(1), hash(2)];
  const kept = await writeWanted(notes, list, stampOf(1, list));
  await changeWanted(notes, kept, { wanted: [hash(3)], unwanted: [], stamp: stampOf(2, [...list, hash(3)]) });
  notes.rows.set('wanted_photos', [hash(7)]);
  notes.rows.set('wanted_stamp', '0123456789abcdef');
  const read = await readWanted(notes);
  assert.deepEqual([[...read.left], read.stamp], [[hash(7)], '0123456789abcdef']);
});

test('a list without a stamp is written whole when something was sent', async () => {
  const notes = shelf();
  const kept = await writeWanted(notes, [hash(1), hash(2)], '');
  await noteSent(notes, kept, [hash(1)]);
  assert.deepEqual([...(await readWanted(notes)).left], [hash(2)]);
  assert.deepEqual(notes.rows.get('wanted_photos'), [hash(2)]);
});

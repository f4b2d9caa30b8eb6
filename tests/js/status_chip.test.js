import { test } from 'node:test';
import assert from 'node:assert/strict';
import './english.js';
import { shortReason, statusReason, statusWords } from '../../static/js/ui/status_chip.js';

const NO = {
  state: 'failed',
  photos_unsent: 0,
  last_code: 'access_revoked',
  last_message: 'The office has ended its access.'
};

test('the chip says a refusal once, and why in the words for those who listen', () => {
  assert.equal(statusWords({ ...NO, unsent: 0 }), 'Could not send');
  assert.equal(shortReason({ ...NO, unsent: 0 }), '');
  assert.equal(statusReason({ ...NO, unsent: 0 }), 'Could not send: The office has ended its access.');
});

test('what waits is counted, and below it stands that the server said no or was not there', () => {
  assert.deepEqual(
    [statusWords({ ...NO, unsent: 2 }), shortReason({ ...NO, unsent: 2 })],
    ['2 to send', 'could not send']
  );
  const away = { state: 'unsent', unsent: 1, photos_unsent: 1, last_code: 'offline' };
  assert.deepEqual([statusWords(away), shortReason(away)], ['2 to send', 'no server in reach']);
  assert.equal(shortReason({ state: 'all_sent', unsent: 0, photos_unsent: 0 }), '');
});

test('while saves are lost, and nobody has read of it, it never says that all is sent', () => {
  const sent = { state: 'all_sent', unsent: 0, photos_unsent: 0 };
  assert.equal(statusWords(sent), 'All sent');
  for (const state of ['all_sent', 'unsent', 'failed', undefined])
    assert.equal(statusWords({ ...sent, state }, true), 'Saves lost', state);
  assert.equal(shortReason({ ...NO, unsent: 0 }, true), 'could not send');
  assert.equal(statusWords({ ...sent, unsent: 2 }, true), '2 to send');
});

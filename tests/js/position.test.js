import assert from 'node:assert/strict';
import { test } from 'node:test';
import { platformPct } from '../../static/js/pwa/position.js';

test('an Android phone states a radius of 68 in 100, every other is read as 63', () => {
  assert.equal(
    platformPct(
      'Mozilla/5.0 (Linux; Android 15; Pixel 9) AppleWebKit/537.36 Chrome/140 Mobile Safari/537.36'
    ),
    68
  );
  assert.equal(
    platformPct(
      'Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) AppleWebKit/605.1.15 Version/18.0 Mobile/15E148 Safari/604.1'
    ),
    63
  );
  assert.equal(
    platformPct('Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 Chrome/140 Safari/537.36'),
    63
  );
});

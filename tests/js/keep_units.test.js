import { strict as assert } from 'node:assert';
import { test } from 'node:test';
import './english.js';
import { keepUnits } from '../../static/js/ui/format.js';

test('a number stays on the line of its unit, whatever the language calls it', () => {
  const kept = keepUnits('12.5 m, sd 0.01 m, 3 mm, 1 in 76, 80 %, 2.5 m/s, 2 degrees, 61 kB, 4 more');
  assert.equal(
    kept.replaceAll('\u00a0', '_'),
    '12.5_m, sd_0.01_m, 3_mm, 1_in_76, 80_%, 2.5_m/s, 2_degrees, 61_kB, 4 more'
  );
});

/**
 * Where a rising function crosses zero: halving, then Chandrupatla's method. Twin of
 * webapp/survey/numbers/root_finding.py.
 */

const SAME = 4e-16;

/** @param {(x: number) => number} rising @param {number} low @param {number} high @returns {number} */
export function findRoot(rising, low, high) {
  let [newest, other, third] = [low, high, low];
  let [value, otherValue, thirdValue] = [NaN, NaN, NaN];
  let [below, share] = [true, 0.5];
  const inside = (/** @type {number} */ x) => Math.min(newest, other) < x && x < Math.max(newest, other);
  for (let i = 0; i < 400; i += 1) {
    let here = newest + share * (other - newest);
    if (!inside(here)) here = newest + (other - newest) / 2;
    if (!inside(here)) break;
    const found = rising(here);
    if (found === 0) return here;
    if (found < 0 === below) [third, thirdValue] = [newest, value];
    else {
      [third, thirdValue] = [other, otherValue];
      [other, otherValue] = [newest, value];
      below = !below;
    }
    [newest, value] = [here, found];
    const least = (SAME * Math.abs(newest)) / Math.abs(other - newest);
    if (least > 0.5) break;
    share = shareOf(newest, other, third, value, otherValue, thirdValue);
    share = Math.min(Math.max(share, least), 1 - least);
  }
  return newest + (other - newest) / 2;
}

/**
 * @param {number} newest @param {number} other @param {number} third
 * @param {number} value @param {number} opposite @param {number} last
 */
function shareOf(newest, other, third, value, opposite, last) {
  if (!Number.isFinite(value + opposite + last) || last === value || last === opposite) return 0.5;
  const place = (newest - other) / (third - other);
  const height = (value - opposite) / (last - opposite);
  if (height * height >= place || (1 - height) * (1 - height) >= 1 - place) return 0.5;
  const first = (value / (opposite - value)) * (last / (opposite - last));
  const second =
    ((third - newest) / (other - newest)) * (value / (last - value)) * (opposite / (last - opposite));
  return first + second;
}

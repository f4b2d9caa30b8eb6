/** Where a rising function crosses zero. Twin of webapp/survey/roots.py. */

/** @param {(x: number) => number} rising @param {number} low @param {number} high @returns {number} */
export function findRoot(rising, low, high) {
  let [from, to] = [low, high];
  for (let i = 0; i < 400; i += 1) {
    const middle = from + (to - from) / 2;
    if (middle <= from || middle >= to) break;
    if (rising(middle) < 0) from = middle;
    else to = middle;
  }
  return from + (to - from) / 2;
}

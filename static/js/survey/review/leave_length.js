/**
 * Before leaving: what is open of a length surveyed in pieces, and which run could go on from the other end.
 * Twin of webapp/survey/review/leave_length.py.
 */
import { openItem } from './leave_item.js';
import { lengthOfRuns } from '../lengths/length_of_runs.js';
import { lengthCounter } from '../lengths/records.js';
import { lengthGroups } from '../lengths/pipe_length.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('./leave_item.js').OpenItem} OpenItem */
/** @typedef {import('../lengths/length_of_runs.js').WholeLength} WholeLength */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */

const DEFECTS = ['fabric', 'operation'];
const HIDDEN_ENDS = ['buried', 'unknown'];
const MIN_M = 0.005; // less is nothing at two decimals

/** @param {Object<string, Item[]>} records @param {import('./leave_item.js').LeaveTables} tables @returns {WholeLength[]} */
export function wholeLengths(records, tables) {
  const runs = new Map((records.run ?? []).map((run) => [run.id, run.fields]));
  const groups = lengthGroups(records.run ?? []);
  if (groups.length === 0) return [];
  const counted = tables.codes.filter((row) => DEFECTS.includes(row.group)).map((row) => row.code);
  const piece = (/** @type {string} */ runId) => {
    const of = (/** @type {string} */ kind) =>
      (records[kind] ?? []).filter((one) => one.fields.run_id === runId);
    return {
      run_id: runId,
      fields: runs.get(runId) ?? {},
      readings: of('reading'),
      level_ties: of('level_tie'),
      stretches: of('stretch'),
      observations: of('observation')
    };
  };
  return groups.map((ids) => lengthOfRuns(ids.map(piece), records.check ?? [], tables.visibility, counted));
}

/** @param {WholeLength} whole @returns {OpenItem[]} */
export function joinedItems(whole) {
  const first = whole.pieces[0].run.run_id;
  /** @type {OpenItem[]} */
  const found = [];
  if (whole.join.how === 'unknown')
    found.push(openItem('join_unknown', first, 'run', first, 'expected_length_m', {}));
  for (const [from, to] of whole.join.between)
    found.push(openItem('not_surveyed', first, 'run', first, null, { from_m: from, to_m: to }));
  if (whole.perhaps.length)
    found.push(openItem('perhaps_same', first, 'run', first, null, { n: whole.perhaps.length }));
  return found;
}

/**
 * @template {OpenItem} T
 * @param {T[]} items
 * @param {string} runId
 * @param {WholeLength} whole
 * @returns {T[]}
 */
export function stillUnseen(items, runId, whole) {
  const k = whole.pieces.findIndex((piece) => piece.run.run_id === runId);
  const frame = whole.frames[k];
  if (!frame || !whole.visibility) return items.map((one) => ({ ...one }));
  const hidden = whole.visibility.parts.filter((part) => part.sight === 'hidden');
  return items
    .filter((one) => {
      if (one.code !== 'not_seen') return true;
      const ends = [one.values.from_m, one.values.to_m]
        .map((m) => lengthCounter(m, frame))
        .sort((a, b) => a - b);
      return hidden.some(
        (part) => Math.min(ends[1], part.to_counter_m) - Math.max(ends[0], part.from_counter_m) >= MIN_M
      );
    })
    .map((one) => ({ ...one }));
}

/**
 * @param {string} runId
 * @param {RunFields} run
 * @param {NodeRecord[]} nodes
 * @param {number | null} endCounterM
 * @returns {OpenItem[]}
 */
export function otherEndItems(runId, run, nodes, endCounterM) {
  const reason = run.end_reason;
  if (!reason || reason === 'node_reached' || (reason === 'other' && !run.remark)) return [];
  const finish = nodes.find((one) => one.id === (run.finish_node_id ?? null))?.fields;
  if (!finish || HIDDEN_ENDS.includes(/** @type {string} */ (finish.node_type)) || endCounterM === null)
    return [];
  return [openItem('other_end', runId, 'run', runId, null, { end_m: endCounterM })];
}

/**
 * Before leaving: hazards that the next people must be told of, and lengths that could not be seen. Twin of
 * webapp/survey/review/leave_sight.py.
 */
import { continuousItems } from '../coding/continuous.js';
import { hazards } from '../grading/hazards.js';
import { openItem } from './leave_item.js';
import { visibility } from '../coding/visibility.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('./leave_item.js').OpenItem} OpenItem */

/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */

/**
 * @param {string} runId
 * @param {RunFields} run
 * @param {ObservationRecord[]} observations
 * @param {number | null} endCounterM
 * @param {import('./leave_item.js').LeaveTables} tables
 * @returns {OpenItem[]}
 */
export function sightItems(runId, run, observations, endCounterM, tables) {
  const { items } = continuousItems(observations, endCounterM);
  const found = hazards(observations, items, endCounterM, tables.hazards).map((one) => {
    const { label, caution } = tables.hazards[one.row];
    return openItem(one.sure ? 'hazard' : 'hazard_possible', runId, 'observation', one.record_id, null, {
      label,
      caution
    });
  });
  const facts = { run, stretches: [], observations, items, end_counter_m: endCounterM, scale: 1 };
  const account = visibility(facts, tables.visibility);
  for (const part of account.parts) {
    if (part.sight !== 'hidden') continue;
    const [by] = part.record_ids;
    /** @type {[string, string, string | null]} */
    const what = by ? ['observation', by, null] : ['run', runId, 'end_counter_m']; // where two ends stand
    const values = { from_m: part.from_counter_m, to_m: part.to_counter_m };
    found.push(openItem('not_seen', runId, ...what, values));
  }
  if (!account.looked && account.total_m !== null && run.end_reason) {
    found.push(
      openItem('nothing_looked_at', runId, 'observation', null, null, { total_m: account.total_m, code: '' })
    );
  }
  return found;
}

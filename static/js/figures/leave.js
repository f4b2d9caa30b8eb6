/** What is open in a job before leaving (D40). Twin of webapp/figures/leave.py. */
import { usable } from '../survey/composites.js';
import { openItems } from '../survey/review/leave_site.js';

/** Kinds of the records of a run, by what its figures call them. */
export const OF_A_RUN = /** @type {const} */ ({
  reading: 'readings',
  observation: 'observations',
  stretch: 'stretches',
  level_tie: 'level_ties',
  photo: 'photos'
});

/**
 * @param {import('../records/types.js').RecordsByKind} records its `job`, `node`, `check` and `photo` records
 * @param {import('./run_records.js').RunSource[]} runs every run that stands
 * @param {import('../survey/review/leave_site.js').Outside} outside
 * @param {import('../records/tables.js').Tables} tables
 * @returns {import('../survey/review/leave_site.js').RankedItem[]}
 */
export function leaveItems(records, runs, outside, tables) {
  const known = new Set(runs.map((one) => one.run_id));
  /** @type {import('../survey/review/leave_site.js').Records} */
  const each = {
    ...records,
    node: (records.node ?? []).map(usable),
    check: (records.check ?? []).map(usable),
    run: runs.map((one) => ({ id: one.run_id, fields: one.run })),
    ...Object.fromEntries(
      Object.entries(OF_A_RUN).map(([kind, name]) => [kind, runs.flatMap((one) => one.records[name])])
    )
  };
  each.photo.push(...(records.photo ?? []).filter((one) => !known.has(String(one.fields.run_id))));
  return openItems(each, outside, {
    leave_site: tables.leave_site,
    codes: tables.observation_codes.rows,
    safety: tables.safety_sheet.rows,
    visibility: tables.visibility,
    hazards: tables.hazards.rows
  });
}

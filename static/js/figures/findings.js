/** What is unlikely in the records of one run. Twin of webapp/figures/findings.py. */
import { partFindings } from '../survey/instruments/counter_resets.js';
import { checkedLimitDeg } from '../survey/instruments/instruments.js';
import { runFindings } from '../survey/review/plausibility.js';

/**
 * @param {import('./run_records.js').RunSource} source
 * @param {import('../records/tables.js').ObservationCode[]} codes rows of the table
 * @returns {import('../survey/review/plausibility.js').RecordFinding[]}
 */
export function findingsOf({ run, parts, instruments, records, unusable }, codes) {
  const { readings, observations, level_ties: ties, stretches, remarks } = records;
  const others = [...ties, ...stretches, ...remarks];
  const { cable_length_m } = instruments;
  const facts = {
    run,
    readings,
    observations,
    others,
    cable_length_m,
    limit_deg: checkedLimitDeg(instruments)
  };
  // a clock position that is there, though it cannot be used, is not missing
  const missing = unusable.map((one) => `${one.record_id} ${one.field}_missing`);
  const unlikely = runFindings(facts, codes).filter(
    (one) => !missing.includes(`${one.record_id} ${one.code}`)
  );
  return [...unlikely, ...partFindings(parts, ties, stretches), ...unusable];
}

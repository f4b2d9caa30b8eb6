/**
 * Before leaving the site: what a job lacks, and whether it can be mended later. Twin of
 * webapp/survey/review/leave_site.py.
 */
import { instrumentsOf } from '../instruments/instruments.js';
import { itemRow, openItem } from './leave_item.js';
import { lengthItems } from './leave_lengths.js';
import { counterItems, unsettledRises } from './leave_levels.js';
import { joinedItems, otherEndItems, stillUnseen, wholeLengths } from './leave_length.js';
import { endItems, photoItems, seenItems } from './leave_run.js';
import { sightItems } from './leave_sight.js';
import { endedRun } from '../coding/run_end.js';
import { runExtent } from '../plan/run_extent.js';

/** @typedef {import('../instruments/instruments.js').Item} Item */
/** @typedef {import('./leave_item.js').OpenItem} OpenItem */
/** @typedef {import('./leave_item.js').RankedItem} RankedItem */
/** @typedef {import('./leave_item.js').LeaveTables} LeaveTables */
/** @typedef {import('./leave_item.js').LeaveRules} LeaveRules */
/** @typedef {Object<string, Item[]>} Records */
/** @typedef {{kind: string, id: string, field: string}} OpenConflict */
/**
 * What is open of a job beside its records.
 * @typedef {{conflicts?: OpenConflict[], set_aside?: number, unsent_entries?: number, unsent_photos?:
 *   number}} Outside
 */
/** @type {Array<['set_aside' | 'unsent_entries' | 'unsent_photos', string]>} */
const OF_OUTSIDE = [
  ['set_aside', 'entries_set_aside'],
  ['unsent_entries', 'entries_unsent'],
  ['unsent_photos', 'photos_unsent']
];
/** @typedef {import('../lengths/length_of_runs.js').WholeLength} WholeLength */
/** @typedef {import('../../records/types.js').JobFields} JobFields */
/** @typedef {import('../../records/types.js').NodeRecord} NodeRecord */
/** @typedef {import('../../records/types.js').RunFields} RunFields */

const SEVERITIES = ['hazard', 'site', 'desk'];
const OF_A_RUN = ['reading', 'observation', 'stretch', 'level_tie', 'photo'];
const HIDDEN_ENDS = ['buried', 'unknown'];

/** @param {Records} records @param {Outside} outside @param {LeaveTables} tables @returns {RankedItem[]} */
export function openItems(records, outside, tables) {
  const table = tables.leave_site;
  const rules = leaveRules(records.job?.[0]?.fields ?? {}, table);
  const runs = records.run ?? [];
  const places = new Map(runs.map((run, at) => [run.id, at]));
  const found = jobItems(records, outside, tables.safety, rules);
  const byRun = Object.fromEntries(OF_A_RUN.map((kind) => [kind, grouped(records[kind] ?? [])]));
  const lengths = new Map(
    wholeLengths(records, tables).flatMap((one) => one.pieces.map((piece) => [piece.run.run_id, one]))
  );
  for (const run of runs) {
    const parts = Object.fromEntries(OF_A_RUN.map((kind) => [kind, byRun[kind].get(run.id) ?? []]));
    const marked = parts.reading.some((one) => one.fields.counter_reset) ? { counted_on: true } : {};
    found.push(
      ...runItems(run, parts, records, tables, rules, lengths.get(run.id) ?? null).map((one) => ({
        ...one,
        ...marked
      }))
    );
  }
  const order = new Map(table.rows.map((row, at) => [row.code, at]));
  const ranked = found.map((one) => ({ ...one, severity: itemRow(table.rows, one.code).severity }));
  const rank = (/** @type {RankedItem} */ one) => [
    SEVERITIES.indexOf(one.severity),
    places.get(one.run_id ?? '') ?? -1,
    Number(order.get(one.code))
  ];
  return ranked.sort((a, b) => {
    const [mine, theirs] = [rank(a), rank(b)];
    return mine[0] - theirs[0] || mine[1] - theirs[1] || mine[2] - theirs[2];
  });
}

/** @param {JobFields} job @param {LeaveTables['leave_site']} table @returns {LeaveRules} */
export function leaveRules(job, table) {
  const values = Object.fromEntries(table.limits.map((row) => [row.name, row.value]));
  const limits = /** @type {LeaveRules['photo']} */ (values);
  const own = job.longest_gap_m ?? null;
  return {
    ...table.codes,
    photo_codes: table.photo_codes,
    photo: limits,
    longest_gap_m: own === null ? (limits.longest_gap_m ?? null) : own,
    longest_gap_known: own === null ? 'assumed' : 'set',
    least_length_m: limits.least_length_m ?? null
  };
}

/** @param {Item[]} items @returns {Map<string, Item[]>} by the run they name */
function grouped(items) {
  /** @type {Map<string, Item[]>} */
  const found = new Map();
  for (const one of items) {
    const runId = one.fields.run_id ?? '';
    const mine = found.get(runId);
    if (mine) mine.push(one);
    else found.set(runId, [one]);
  }
  return found;
}

/**
 * @param {Records} records
 * @param {Outside} outside
 * @param {LeaveTables['safety']} safety
 * @param {LeaveRules} rules
 * @returns {OpenItem[]}
 */
function jobItems(records, outside, safety, rules) {
  const answers = new Set(
    (records.check ?? []).filter((one) => one.fields.answer).map((one) => one.fields.question_id)
  );
  const unanswered = safety.filter((row) => !answers.has(row.id)).length;
  /** @type {OpenItem[]} */
  const found = [];
  if (unanswered)
    found.push(
      openItem('safety_unanswered', null, 'check', null, null, { n: unanswered, total: safety.length })
    );
  found.push(...checkItems(records));
  const known = new Set((records.run ?? []).map((run) => run.id));
  found.push(
    ...photoItems(
      null,
      (records.photo ?? []).filter((one) => !known.has(one.fields.run_id ?? '')),
      rules
    )
  );
  const order = (/** @type {OpenConflict} */ one) => `${one.kind} ${one.id} ${one.field}`;
  const conflicts = [...(outside.conflicts ?? [])].sort((a, b) => (order(a) < order(b) ? -1 : 1));
  for (const { kind, id, field } of conflicts)
    found.push(openItem('conflict_open', null, kind, id, field, {}));
  for (const [name, code] of OF_OUTSIDE) {
    const n = outside[name];
    if (n) found.push(openItem(code, null, 'job', null, null, { n }));
  }
  return found;
}

/**
 * Counter and inclinometer not checked: once for the job where it is so for every run.
 * @param {Records} records
 * @returns {OpenItem[]}
 */
function checkItems(records) {
  const runs = records.run ?? [];
  const read = new Set((records.reading ?? []).map((one) => one.fields.run_id));
  const instruments = runs.map((run) => ({ id: run.id, ...instrumentsOf(records.check ?? [], run.id) }));
  const levelled = instruments.filter((one) => read.has(one.id));
  const idsOf = (/** @type {Array<{id: string}>} */ some) => some.map((one) => one.id);
  /** @type {Array<[string, string[], number]>} */
  const checks = [
    ['tape_check_missing', idsOf(instruments.filter((one) => one.scale_known === 'assumed')), runs.length],
    ['zero_check_missing', idsOf(levelled.filter((one) => one.zero_known === 'assumed')), levelled.length]
  ];
  return checks.flatMap(([code, lacking, count]) =>
    (lacking.length && lacking.length === count ? [null] : lacking).map((id) =>
      openItem(code, id, 'check', null, null, {})
    )
  );
}

/**
 * @param {Item} run
 * @param {Records} parts
 * @param {Records} records
 * @param {LeaveTables} tables
 * @param {LeaveRules} rules
 * @param {WholeLength | null} whole
 * @returns {OpenItem[]}
 */
function runItems({ id, fields: recorded }, parts, records, tables, rules, whole) {
  const nodes = records.node ?? [];
  const instruments = instrumentsOf(records.check ?? [], id);
  const fields = endedRun(recorded, parts.observation);
  const endM = runExtent(fields, parts.reading, parts.observation, instruments).end_counter_m;
  const seen = sightItems(id, fields, parts.observation, endM, tables);
  const rises = unsettledRises(id, fields, parts, nodes, instruments);
  const far = [
    ...otherEndItems(id, fields, nodes, fields.end_counter_m ?? null),
    ...placeItems(id, fields, nodes)
  ];
  const [ownRises, ownFar] = whole ? ofLength(id, whole, nodes, instruments, rises, far) : [rises, far];
  return [
    ...(whole ? stillUnseen(seen, id, whole) : seen),
    ...endItems(id, fields, parts.observation, rules),
    ...lengthItems(id, fields, parts, rules),
    ...ownRises,
    ...counterItems(id, fields, parts.reading, parts.observation, instruments),
    ...seenItems(id, fields, parts, tables.codes, rules),
    ...ownFar
  ];
}

/**
 * The rises that no level settles, and what its far end lacks: of a length once, with its first run.
 * @param {string} runId
 * @param {WholeLength} whole
 * @param {NodeRecord[]} nodes
 * @param {import('../instruments/instruments.js').Instruments} instruments
 * @param {OpenItem[]} rises
 * @param {OpenItem[]} far
 * @returns {[OpenItem[], OpenItem[]]}
 */
function ofLength(runId, whole, nodes, instruments, rises, far) {
  const isFirst = whole.pieces[0].run.run_id === runId;
  const joined = isFirst ? joinedItems(whole) : [];
  if (!whole.pieces.some((piece) => piece.turned)) {
    const reach = whole.pieces.map((piece) => piece.extent.surveyed_m ?? 0);
    const farthest = whole.pieces[reach.indexOf(Math.max(...reach))].run.run_id;
    return [rises, [...joined, ...(runId === farthest ? far : [])]];
  }
  if (whole.join.length_m === null) return [rises, joined];
  const parts = { reading: whole.readings, level_tie: whole.level_ties, stretch: whole.stretches };
  return [isFirst ? unsettledRises(runId, whole.run, parts, nodes, instruments) : [], joined];
}

/** Where the run starts, and which way it sets off: needed where nobody knows where it ends.
 * @param {string} runId @param {RunFields} run @param {NodeRecord[]} nodes @returns {OpenItem[]} */
function placeItems(runId, run, nodes) {
  const byId = new Map(nodes.map((node) => [node.id, node.fields]));
  const [start, finish] = [
    byId.get(/** @type {string} */ (run.start_node_id)),
    byId.get(/** @type {string} */ (run.finish_node_id))
  ];
  const short = Boolean(run.end_reason) && run.end_reason !== 'node_reached';
  const hidden =
    !finish ||
    (!finish.position && (short || HIDDEN_ENDS.includes(/** @type {string} */ (finish.node_type))));
  /** @type {OpenItem[]} */
  const found = [];
  if (hidden && start && !start.position) {
    found.push(
      openItem(
        'start_position_missing',
        runId,
        'node',
        /** @type {string} */ (run.start_node_id),
        'position',
        {}
      )
    );
  }
  if (hidden && (run.start_bearing?.bearing_deg ?? null) === null) {
    found.push(openItem('start_bearing_missing', runId, 'run', runId, 'start_bearing', {}));
  }
  return found;
}

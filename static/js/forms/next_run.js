/** A new run that goes on where another ended: from the other end, or from the same end on another day. */
/** @typedef {import('../records/types.js').RunFields} RunFields */
/** @typedef {import('../records/types.js').StretchFields} StretchFields */
/** @typedef {'other' | 'same'} End */

/** @type {Object<string, import('../records/types.js').Direction>} */
const TURNED = { with_flow: 'against_flow', against_flow: 'with_flow' };
/** @type {Array<keyof RunFields>} */
const CARRIED = [
  'expected_length_m',
  'chainage_datum',
  'water_carried',
  'protection_zone',
  'groundwater',
  'soil'
];
/** @type {Array<keyof StretchFields>} */
const PIPE = ['shape', 'height_mm', 'width_mm', 'material', 'lining', 'pipe_unit_length_m', 'roughness_mm'];

/**
 * Fields of the new run.
 * @param {import('../records/types.js').RunRecord} run
 * @param {End} end
 * @returns {RunFields}
 */
export function nextFields(run, end) {
  const { fields } = run;
  const nodes = [fields.start_node_id, fields.finish_node_id];
  const [start, finish] = end === 'other' ? nodes.reverse() : nodes;
  const direction = end === 'other' ? (TURNED[fields.direction ?? ''] ?? fields.direction) : fields.direction;
  const carried = [
    ...CARRIED,
    .../** @type {typeof CARRIED} */ (end === 'same' ? ['start_bearing'] : [])
  ].map((name) => [name, fields[name]]);
  return Object.fromEntries(
    Object.entries({
      start_node_id: start,
      finish_node_id: finish,
      direction,
      continues_run_id: run.id,
      ...Object.fromEntries(carried)
    }).filter(([, value]) => value !== undefined && value !== null)
  );
}

/**
 * The pipe as it was where the run ended, taken over to the beginning of the new one and said to be so.
 * @param {import('../records/types.js').StretchRecord[]} stretches of the run that ended
 * @param {string} runId the new one
 * @param {number} counterM where it begins
 * @param {string} remark
 * @returns {StretchFields | null}
 */
export function nextPipe(stretches, runId, counterM, remark) {
  const last = [...stretches]
    .sort((a, b) => (a.fields.from_counter_m ?? 0) - (b.fields.from_counter_m ?? 0))
    .at(-1)?.fields;
  if (!last) return null;
  const pipe = Object.fromEntries(
    PIPE.filter((name) => (last[name] ?? null) !== null).map((name) => [name, last[name]])
  );
  const known = last.size_known === 'measured' ? 'assumed' : last.size_known;
  return { run_id: runId, from_counter_m: counterM, ...pipe, ...(known && { size_known: known }), remark };
}

/**
 * Whether a run ended before its finish node.
 * @param {RunFields} fields
 * @returns {boolean}
 */
export function endedShort(fields) {
  return Boolean(fields.end_reason) && fields.end_reason !== 'node_reached';
}

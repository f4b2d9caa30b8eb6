/**
 * What goes on along the pipe: start, changes and finish put together. Twin of
 * webapp/survey/coding/continuous.py.
 */

/** @typedef {import('../../records/types.js').ObservationFields} ObservationFields */
/** @typedef {import('../../records/types.js').ObservationRecord} ObservationRecord */
/**
 * @typedef {{id: string, fields: ObservationFields, code: string, at_m: number, number: number, role:
 *   string, index: number}} Mark
 */
/**
 * @typedef {{marks: Mark[], changes: Mark[], from_counter_m: number, to_counter_m: number | null, open:
 *   boolean}} Draft
 */
/**
 * @typedef {{code: string, record_id: string, field: string, values: Object<string, string | number>}}
 *   ContinuousFault
 */
/**
 * @typedef {{from_counter_m: number, to_counter_m: number | null, record_id: string, fields:
 *   ObservationFields}} ContinuousPart
 */
/**
 * @typedef {{number: number, code: string, start_id: string, finish_id: string | null, change_ids: string[],
 *   from_counter_m: number, to_counter_m: number | null, parts: ContinuousPart[], open: boolean}}
 *   ContinuousItem
 * @typedef {{items: ContinuousItem[], faults: ContinuousFault[]}} ContinuousItems
 */

/**
 * @param {ObservationRecord[]} observations of one run, in the order in which they were made
 * @param {number | null} endCounterM
 * @returns {ContinuousItems}
 */
export function continuousItems(observations, endCounterM) {
  const { marks, faults } = marksOf(observations);
  const { items, spare } = paired(marks, faults);
  const unstarted = otherCodes(items, spare, faults);
  for (const item of items) if (item.open) faults.push(fault('continuous_not_finished', item.marks[0]));
  for (const finish of unstarted) faults.push(fault('continuous_not_started', finish));
  putChanges(marks, items, faults);
  items.sort((a, b) => a.from_counter_m - b.from_counter_m || a.marks[0].index - b.marks[0].index);
  overlaps(items, endCounterM, faults);
  beyondEnd(items, endCounterM, faults);
  return { items: items.map(plainItem), faults };
}

/** The first number beyond those in use. @param {ObservationRecord[]} observations @returns {number} */
export function nextNumber(observations) {
  return 1 + observations.reduce((most, one) => Math.max(most, one.fields.continuous?.number ?? 0), 0);
}

/** @param {ObservationRecord[]} observations @returns {{marks: Mark[], faults: ContinuousFault[]}} */
function marksOf(observations) {
  /** @type {Mark[]} */
  const found = [];
  /** @type {ContinuousFault[]} */
  const faults = [];
  observations.forEach(({ id, fields }, index) => {
    if (!fields.continuous) return;
    const { number, role } = fields.continuous;
    const atM = fields.counter_m ?? null;
    const mark = { id, fields, code: fields.code || '', at_m: Number(atM), number, role, index };
    if (atM === null) faults.push(fault('continuous_without_place', mark));
    else found.push(mark);
  });
  return { marks: found.sort((a, b) => a.at_m - b.at_m || a.index - b.index), faults };
}

/** @param {{number: number, code: string}} mark */
const keyOf = (mark) => `${mark.number}/${mark.code}`;

/** Adds to the list under a key. @template K, T @param {Map<K, T[]>} lists @param {K} key @param {T} one */
function put(lists, key, one) {
  const list = lists.get(key);
  if (list) list.push(one);
  else lists.set(key, [one]);
}

/** Items from the starts, each with its finish if there is one; the finishes that are left.
 * @param {Mark[]} marks @param {ContinuousFault[]} faults @returns {{items: Draft[], spare: Mark[]}} */
function paired(marks, faults) {
  /** @type {Map<string, Mark[]>} */
  const starts = new Map();
  /** @type {Map<string, Mark[]>} */
  const finishes = new Map();
  for (const mark of marks)
    if (mark.role !== 'change') put(mark.role === 'start' ? starts : finishes, keyOf(mark), mark);
  /** @type {Draft[]} */
  const items = [];
  for (const [key, mine] of starts) {
    for (const again of mine.slice(1)) faults.push(fault('continuous_started_twice', again));
    const ends = finishes.get(key) ?? [];
    finishes.delete(key); // what is left comes after the others, as in the twin
    /** @type {Draft[]} */
    const openItems = [];
    /** @type {Mark[]} */
    const before = [];
    let at = 0;
    for (const start of mine) {
      while (at < ends.length && ends[at].at_m < start.at_m) before.push(ends[at++]);
      const item = {
        marks: [start],
        changes: [],
        from_counter_m: start.at_m,
        to_counter_m: null,
        open: true
      };
      items.push(item);
      if (at < ends.length) close(item, ends[at++]);
      else openItems.push(item);
    }
    const left = [...before, ...ends.slice(at)];
    openItems.slice(0, left.length).forEach((item, i) => {
      close(item, left[i]);
      faults.push(
        fault('continuous_finish_before_start', left[i], 'continuous', { start_m: item.from_counter_m })
      );
    });
    finishes.set(key, left.slice(openItems.length));
  }
  return { items, spare: [...finishes.values()].flat() };
}

/** @param {Draft} item @param {Mark} finish */
function close(item, finish) {
  item.open = false;
  item.marks.push(finish);
  if (finish.at_m >= item.from_counter_m) item.to_counter_m = finish.at_m;
}

/**
 * A finish of another code under the same number closes what is open, and that is told. Returns the finishes
 * still left.
 * @param {Draft[]} items
 * @param {Mark[]} spare
 * @param {ContinuousFault[]} faults
 * @returns {Mark[]}
 */
function otherCodes(items, spare, faults) {
  return spare.filter((finish) => {
    const fitting = items.find(
      (item) => item.open && item.marks[0].number === finish.number && item.from_counter_m <= finish.at_m
    );
    if (!fitting) return true;
    close(fitting, finish);
    faults.push(fault('continuous_codes_differ', finish, 'continuous', { started: fitting.marks[0].code }));
    return false;
  });
}

/** @param {Mark[]} marks @param {Draft[]} items @param {ContinuousFault[]} faults */
function putChanges(marks, items, faults) {
  /** @type {Map<string, Draft[]>} */
  const byKey = new Map();
  for (const item of items) put(byKey, keyOf(item.marks[0]), item);
  for (const mark of marks) {
    if (mark.role !== 'change') continue;
    const around = (byKey.get(keyOf(mark)) ?? []).filter((item) => holds(item, mark.at_m));
    if (around.length) around[around.length - 1].changes.push(mark);
    else faults.push(fault('continuous_change_outside', mark));
  }
}

/** @param {Draft} item @param {number} atM @returns {boolean} */
function holds(item, atM) {
  return item.from_counter_m <= atM && (item.to_counter_m === null || atM <= item.to_counter_m);
}

/** Tells of each item that begins while one like it still runs; of those, the one that reaches furthest.
 * @param {Draft[]} items @param {number | null} endCounterM @param {ContinuousFault[]} faults */
function overlaps(items, endCounterM, faults) {
  /** @type {Map<string, {reach: number, other: Draft}>} */
  const furthest = new Map();
  for (const item of items) {
    const { code, fields } = item.marks[0];
    const like = JSON.stringify([
      code,
      fields.characterisation_1 || '',
      fields.clock?.hour_from || 0,
      fields.clock?.hour_to || 0
    ]);
    const endM = endOf(item, endCounterM);
    const { reach, other } = furthest.get(like) ?? { reach: -Infinity, other: item };
    if (item.from_counter_m < reach) {
      const values = { other: other.marks[0].number, since_m: other.from_counter_m };
      faults.push(fault('continuous_overlap', item.marks[0], 'continuous', values));
    }
    if (endM > reach) furthest.set(like, { reach: endM, other: item });
  }
}

/** @param {Draft} item @param {number | null} endCounterM @returns {number} */
function endOf(item, endCounterM) {
  if (item.to_counter_m !== null) return item.to_counter_m;
  if (!item.open) return item.from_counter_m; // the finish lies before the start: no length is known
  return endCounterM ?? Infinity;
}

/** @param {Draft[]} items @param {number | null} endCounterM @param {ContinuousFault[]} faults */
function beyondEnd(items, endCounterM, faults) {
  if (endCounterM === null) return;
  for (const item of items) {
    for (const mark of [...item.marks, ...item.changes]) {
      if (mark.at_m <= endCounterM) continue;
      faults.push(
        fault('continuous_beyond_end', mark, 'counter_m', {
          counter_m: mark.at_m,
          end_counter_m: endCounterM
        })
      );
    }
  }
}

/** @param {Draft} item @returns {ContinuousItem} */
function plainItem(item) {
  const [start, finish] = item.marks;
  return {
    number: start.number,
    code: start.code,
    start_id: start.id,
    finish_id: finish?.id ?? null,
    change_ids: item.changes.map((mark) => mark.id),
    from_counter_m: item.from_counter_m,
    to_counter_m: item.to_counter_m,
    parts: partsOf(item),
    open: item.open
  };
}

/**
 * The lengths between the marks; one of no length only where the item itself has none.
 * @param {Draft} item
 * @returns {ContinuousPart[]}
 */
function partsOf(item) {
  const ends = [...item.changes.map((mark) => mark.at_m), item.to_counter_m];
  const parts = [item.marks[0], ...item.changes].map((mark, i) => ({
    from_counter_m: mark.at_m,
    to_counter_m: ends[i],
    record_id: mark.id,
    fields: mark.fields
  }));
  const long = parts.filter((part) => part.to_counter_m !== part.from_counter_m);
  return long.length ? long : parts.slice(-1);
}

/**
 * @param {string} name
 * @param {Mark} mark
 * @param {string} [field]
 * @param {ContinuousFault['values']} [values]
 * @returns {ContinuousFault}
 */
function fault(name, mark, field = 'continuous', values = {}) {
  return {
    code: name,
    record_id: mark.id,
    field,
    values: { code: mark.code, number: mark.number, ...values }
  };
}

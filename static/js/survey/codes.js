/** Observation codes: finding one by plain words, what it may carry. Twin of webapp/survey/codes.py. */

/** @typedef {Object<string, any>} Row */
/** @typedef {{code: string, field: string, values: Object<string, any>}} CodeFinding */

const ENDINGS = ['ing', 'ed', 'es', 's'];

/** @param {Row[]} rows @param {string} code @returns {Row | null} */
export function findCode(rows, code) {
  return rows.find((row) => row.code === code) ?? null;
}

/** @param {Row[]} rows @param {string} text @param {number} limit @returns {Row[]} */
export function searchCodes(rows, text, limit) {
  const wanted = words(text);
  if (wanted.length === 0) return rows.slice(0, limit);
  const typed = text.trim().toUpperCase();
  return rows
    .map((row, place) => ({ row, place, score: scoreOf(row, wanted, typed) }))
    .filter((one) => one.score > 0)
    .sort((a, b) => b.score - a.score || a.place - b.place)
    .slice(0, limit)
    .map((one) => one.row);
}

/** @param {Row[]} rows @param {Object<string, any>} observation @returns {CodeFinding[]} */
export function checkObservation(rows, observation) {
  const { code } = observation;
  if (!code) return [];
  const row = findCode(rows, code);
  if (row === null) return [finding('code_unknown', 'code', { code })];
  /** @type {CodeFinding[]} */
  const found = [];
  for (const field of ['characterisation_1', 'characterisation_2']) {
    found.push(...checkCharacterisation(row, field, observation[field]));
  }
  for (const field of ['quantification_1', 'quantification_2']) {
    found.push(...checkQuantification(row, field, observation[field]));
  }
  found.push(...checkClock(row, observation.clock));
  if (observation.continuous && !row.continuous) found.push(finding('continuous_not_taken', 'continuous', { code }));
  return found;
}

/** @param {Object<string, any>} observation @returns {string} */
export function compactCode(observation) {
  return ['code', 'characterisation_1', 'characterisation_2'].map((f) => observation[f]).filter(Boolean).join(' ');
}

/** @param {string} code @param {string} field @param {Object<string, any>} values @returns {CodeFinding} */
function finding(code, field, values) {
  return { code, field, values };
}

/** @param {string} text @returns {string[]} */
function words(text) {
  return (text.toLowerCase().match(/[a-z0-9]+/g) ?? []).map(stem);
}

/** @param {string} word @returns {string} */
function stem(word) {
  for (const ending of ENDINGS) {
    if (word.endsWith(ending) && word.length - ending.length >= 3) return word.slice(0, -ending.length);
  }
  return word;
}

/** @param {Row} row @param {string[]} wanted @param {string} typed @returns {number} */
function scoreOf(row, wanted, typed) {
  if (row.code === typed) return 1000;
  let score = typed.length >= 2 && row.code.startsWith(typed) ? 100 : 0;
  const labels = [1, 2].flatMap((f) => row[`characterisation_${f}`].map((/** @type {Row} */ c) => c.label)).join(' ');
  /** @type {Array<[string[], number]>} */
  const fields = [[words(row.title), 4], [words(row.search_words), 3], [words(labels), 2], [words(row.help), 1]];
  for (const word of wanted) {
    let best = 0;
    for (const [list, weight] of fields) {
      if (list.includes(word)) best = Math.max(best, weight);
      else if (word.length >= 3 && list.some((w) => w.startsWith(word))) best = Math.max(best, weight / 2);
    }
    score += best;
  }
  return score;
}

/** @param {Row} row @param {string} field @param {any} value @returns {CodeFinding[]} */
function checkCharacterisation(row, field, value) {
  const label = field.replace('_', ' ');
  const choices = row[field].map((/** @type {Row} */ c) => c.value);
  if (value === null || value === undefined || value === '') {
    if (choices.length && field === 'characterisation_1') {
      return [finding('characterisation_missing', field, { code: row.code, label })];
    }
    return [];
  }
  if (!choices.includes(value)) return [finding('characterisation_unknown', field, { code: row.code, label, value })];
  return [];
}

/** @param {Row} row @param {string} field @param {any} value @returns {CodeFinding[]} */
function checkQuantification(row, field, value) {
  if (value === null || value === undefined) return [];
  if (row[field] === null) {
    return [finding('quantification_not_taken', field, { code: row.code, label: field.replace('_', ' ') })];
  }
  if (row[field].unit === '%' && value > 100) return [finding('quantification_beyond_whole', field, { value })];
  return [];
}

/** @param {Row} row @param {any} clock @returns {CodeFinding[]} */
function checkClock(row, clock) {
  const allowed = row.clock_references;
  if (!clock) return allowed ? [finding('clock_missing', 'clock', { code: row.code })] : [];
  if (allowed === 0) return [finding('clock_not_taken', 'clock', { code: row.code })];
  if (allowed === 1 && clock.hour_to !== null && clock.hour_to !== undefined) {
    return [finding('clock_too_many', 'clock', { code: row.code })];
  }
  return [];
}

/** Finding a code by plain words, slips of spelling included. Twin of webapp/survey/coding/code_search.py. */

/** @typedef {import('../../records/tables.js').ObservationCodes} Table */
/** @typedef {import('../../records/tables.js').ObservationCode} ObservationCode */
/** @typedef {ObservationCode | import('../../records/tables.js').PipeChange} Row */
/** @typedef {{row: Row, weights: Map<string, number>, phrases: string[][]}} Item */
/**
 * @typedef {{items: Item[], worth: Map<string, number>, byLetter: Map<string, string[]>, same: Map<string,
 *   string[]>, stop: Set<string>}} CodeIndex
 */

const ENDINGS = ['ings', 'ing', 'edly', 'ed', 'ies', 'es', 's', 'y', 'e'];
const [TITLE, WORDS, LABELS, HELP] = [4, 3, 2, 1];
const [SAME, BEGINS, NEAR, NEARER_STILL] = [0.8, 0.6, 0.45, 0.65];
/** @type {WeakMap<object, CodeIndex>} indexes of the tables seen, so that a key press only searches */
const made = new WeakMap();

/** @param {Table} table @returns {CodeIndex} */
export function buildIndex(table) {
  const { search } = table;
  const stop = new Set(search?.stop_words);
  const items = [...table.rows, ...(table.changes ?? [])].map((row) => itemOf(row, stop));
  /** @type {Map<string, number>} */
  const worth = new Map();
  for (const item of items)
    for (const term of item.weights.keys()) worth.set(term, (worth.get(term) ?? 0) + 1);
  for (const [term, count] of worth) worth.set(term, Math.sqrt(items.length / count));
  /** @type {Map<string, string[]>} */
  const byLetter = new Map();
  for (const term of worth.keys()) push(byLetter, term[0], term);
  /** @type {Map<string, string[]>} */
  const same = new Map();
  for (const group of search?.same ?? []) {
    const terms = group.flatMap((word) => tokensOf(word).map(stem));
    for (const term of terms) for (const other of terms) if (other !== term) push(same, term, other);
  }
  return { items, worth, byLetter, same, stop };
}

/**
 * @param {Table} table
 * @param {string} text
 * @param {number} limit
 * @returns {Row[]}
 */
export function searchCodes(table, text, limit) {
  const index = made.get(table) ?? buildIndex(table);
  made.set(table, index);
  return searchIndex(index, text, limit);
}

/** @param {CodeIndex} index @param {string} text @param {number} limit @returns {Row[]} */
export function searchIndex(index, text, limit) {
  const tokens = tokensOf(text);
  const telling = tokens.filter((token) => !index.stop.has(token)).map(stem);
  const wanted = telling.length ? telling : tokens.map(stem);
  if (wanted.length === 0) return index.items.slice(0, limit).map((item) => item.row);
  const meant = wanted.map((term) => candidatesOf(index, term));
  return index.items
    .map((item, place) => ({
      row: item.row,
      place,
      score: Math.floor((scoreOf(index, item, meant) + typedScore(item.row.code ?? '', text)) * 1e6 + 0.5)
    }))
    .filter((one) => one.score > 0)
    .sort((a, b) => b.score - a.score || a.place - b.place)
    .slice(0, limit)
    .map((one) => one.row);
}

/** @param {Map<string, string[]>} map @param {string} key @param {string} value */
function push(map, key, value) {
  const list = map.get(key);
  if (list) list.push(value);
  else map.set(key, [value]);
}

/** @param {Row} row @param {Set<string>} stop @returns {Item} */
function itemOf(row, stop) {
  const { characterisation_1, characterisation_2 } = /** @type {Partial<ObservationCode>} */ (row);
  const labels = [...(characterisation_1 ?? []), ...(characterisation_2 ?? [])]
    .map((one) => one.label)
    .join(' ');
  /** @type {Map<string, number>} */
  const weights = new Map();
  /** @type {Array<[string, number]>} */
  const texts = [
    [row.title, TITLE],
    [row.search_words, WORDS],
    [labels, LABELS],
    [row.help, HELP]
  ];
  for (const [text, weight] of texts) {
    for (const token of tokensOf(text)) {
      const term = stem(token);
      if (!stop.has(token) && !weights.has(term)) weights.set(term, weight);
    }
  }
  const split = [row.title, ...row.search_words.split(',')].map((phrase) =>
    tokensOf(phrase)
      .filter((token) => !stop.has(token))
      .map(stem)
  );
  return { row, weights, phrases: split.filter((phrase) => phrase.length) };
}

/** @param {string} text @returns {string[]} */
function tokensOf(text) {
  const plain = text
    .toLowerCase()
    .normalize('NFD')
    .replace(/[\u0300-\u036f'’]/g, '')
    .replaceAll('#', ' 0 ');
  return (plain.match(/[a-z]+|[0-9]+/g) ?? []).map((token) => (/^[0-9]/.test(token) ? 'number' : token));
}

/** @param {string} word @returns {string} */
function stem(word) {
  const ending = word.endsWith('ss')
    ? ''
    : (ENDINGS.find((one) => word.endsWith(one) && word.length - one.length >= 3) ?? '');
  const cut = word.slice(0, word.length - ending.length);
  const last = cut[cut.length - 1];
  return cut.length > 3 && last === cut[cut.length - 2] && !'aeiouls'.includes(last) ? cut.slice(0, -1) : cut;
}

/**
 * Terms of the table that a word may mean, with how much each counts.
 * @param {CodeIndex} index
 * @param {string} term
 */
function candidatesOf(index, term) {
  /** @type {Map<string, number>} */
  const found = new Map(index.worth.has(term) ? [[term, 1]] : []);
  for (const other of index.same.get(term) ?? [])
    if (index.worth.has(other) && !found.has(other)) found.set(other, SAME);
  for (const other of index.byLetter.get(term[0]) ?? []) {
    if ((begins(term, other) || begins(other, term)) && !found.has(other)) found.set(other, BEGINS);
  }
  if (index.worth.has(term) || term.length < 3) return found;
  for (const other of index.worth.keys()) {
    const far = apart(term, other);
    if (far <= (term.length < 6 ? 1 : 2))
      found.set(other, Math.max(found.get(other) ?? 0, far === 1 ? NEARER_STILL : NEAR));
  }
  return found;
}

/** @param {string} start @param {string} whole */
function begins(start, whole) {
  return start.length >= 3 && start.length < whole.length && whole.startsWith(start);
}

/**
 * Letters left out, put in, exchanged or swapped with the next; 3 where there are more.
 * @param {string} a
 * @param {string} b
 */
function apart(a, b) {
  if (Math.abs(a.length - b.length) > 2 || b.length < 3) return 3;
  /** @type {number[]} */
  let older;
  /** @type {number[]} */
  let before = [];
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i += 1) {
    [older, before, row] = [before, row, [i]];
    for (let j = 1; j <= b.length; j += 1) {
      let best = Math.min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        best = Math.min(best, older[j - 2] + 1);
      row.push(best);
    }
    if (Math.min(...row) > 2) return 3;
  }
  return Math.min(row[b.length], 3);
}

/** @param {CodeIndex} index @param {Item} item @param {Array<Map<string, number>>} meant */
function scoreOf(index, item, meant) {
  let total = 0;
  /** @type {Map<string, number>} */
  const hit = new Map();
  for (const candidates of meant) {
    let best = 0;
    for (const [term, factor] of candidates) {
      const weight = item.weights.get(term);
      if (weight === undefined) continue;
      best = Math.max(best, factor * weight * (index.worth.get(term) ?? 0));
      hit.set(term, Math.max(hit.get(term) ?? 0, factor));
    }
    total += best;
  }
  if (hit.size === 0) return total;
  return total + Math.max(0, ...item.phrases.map((phrase) => whole(index, phrase, hit)));
}

/**
 * What a phrase adds when all its words are there.
 * @param {CodeIndex} index
 * @param {string[]} phrase
 * @param {Map<string, number>} hit
 */
function whole(index, phrase, hit) {
  const least = Math.min(...phrase.map((term) => hit.get(term) ?? 0));
  return least === 0
    ? 0
    : least * phrase.reduce((sum, term) => sum + (index.worth.get(term) ?? 0), 0) * WORDS;
}

/** @param {string} code @param {string} text */
function typedScore(code, text) {
  const typed = text.trim().toUpperCase();
  if (!code || !typed) return 0;
  if (code === typed || typed.startsWith(`${code} `)) return 1000;
  return typed.length >= 2 && code.startsWith(typed) ? 100 : 0;
}

/** Many cases in one call: the code table is read here, not sent with each. */
import { readFileSync } from 'node:fs';
import { checkObservation, findCode } from '../../static/js/survey/coding/codes.js';
import { quantityFor } from '../../static/js/survey/coding/code_quantities.js';
import { composeCode, readCode } from '../../static/js/survey/coding/written_form.js';
import { searchCodes } from '../../static/js/survey/coding/code_search.js';
import { sentence } from '../../static/js/survey/review/plausibility.js';

const read = (/** @type {string} */ name) =>
  JSON.parse(readFileSync(new URL(`../../webapp/tables/${name}.json`, import.meta.url), 'utf8'));
const words = read('messages/en');

/** A table with its words, as the server gives it to a phone. @param {string} name */
const worded = (name) =>
  JSON.parse(JSON.stringify(read(name)), (_, value) => {
    if (typeof value !== 'string' || !value.startsWith('@')) return value;
    const text = words[value.slice(1).replaceAll('[]', '')];
    const lists = text.split('; ').map((/** @type {string} */ one) => one.split(', '));
    return value.endsWith('[][]') ? lists : value.endsWith('[]') ? lists[0] : text;
  });
const table = worded('observation_codes');
const sentences = worded('findings').rows;

/** @param {Array<Object<string, any>>} many */
export function checkMany(many) {
  return many.map((fields) => {
    const found = checkObservation(table.rows, fields);
    const row = typeof fields.code === 'string' ? findCode(table.rows, fields.code) : null;
    const quantities = ['quantification_1', 'quantification_2'].map((name) =>
      row ? quantityFor(row, name, fields.characterisation_1) : null
    );
    return { found, said: found.map((one) => sentence(words, sentences, one)), asked: quantities };
  });
}

/** @param {string[]} texts @param {number} limit */
export function searchMany(texts, limit) {
  return texts.map((text) =>
    searchCodes(table, text, limit).map((row) => row.code ?? `stretch:${row.change}`)
  );
}

/** @param {Array<Object<string, any>>} many @param {string[]} texts */
export function writeAndRead(many, texts) {
  const written = many.map((fields) => composeCode(table.rows, fields));
  return { written, read: [...written, ...texts].map((text) => readCode(table.rows, text)) };
}

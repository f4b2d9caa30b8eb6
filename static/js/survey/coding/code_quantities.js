/**
 * What a code asks for as a quantity: in which unit, and what is usual. Twin of
 * webapp/survey/coding/code_quantities.py.
 */

/** @typedef {Object<string, any>} Row */

/**
 * What a code asks for as a quantity, given its first characterisation: label, unit, note, needed, least,
 * most, usual.
 * @param {Row} row
 * @param {string} field quantification_1 or quantification_2
 * @param {any} characterisation1
 * @returns {Row | null}
 */
export function quantityFor(row, field, characterisation1) {
  const quantity = row[field];
  if (!quantity) return null;
  const kind = typeof characterisation1 === 'string' ? characterisation1 : '';
  const { by_characterisation: by, needed_with: neededWith, ...plain } = quantity;
  plain.needed = Boolean(quantity.needed) || (neededWith ?? []).includes(kind);
  plain.usual = Array.isArray(quantity.usual) ? quantity.usual : (quantity.usual?.[kind] ?? []);
  const found = { ...plain, ...(by?.[kind] ?? {}) };
  return { ...found, unit: unitFor(found.unit, kind) };
}

/**
 * The one unit meant where a table says, for example, "mm for A and B, degrees for C".
 * @param {string} unit
 * @param {string} characterisation1
 * @returns {string}
 */
export function unitFor(unit, characterisation1) {
  for (const [, one, letters] of unit.matchAll(/(\S+) for ([A-Z](?: and [A-Z])*)/g)) {
    if (letters.split(' and ').includes(characterisation1)) return one;
  }
  return unit;
}

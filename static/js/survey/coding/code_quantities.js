/**
 * What a code asks for as a quantity: in which unit, and what is usual. Twin of
 * webapp/survey/coding/code_quantities.py.
 */

/** @typedef {import('../../records/tables.js').ObservationCode} ObservationCode */
/** @typedef {'quantification_1' | 'quantification_2'} SizeField */
/**
 * What a code asks for as a quantity, of one first characterisation; limits in its unit.
 * @typedef {{label: string, unit: string, note: string, needed: boolean, usual: number[], least?: number,
 *   most?: number}} AskedQuantity
 */

/**
 * What a code asks for as a quantity, given its first characterisation: label, unit, note, needed, least,
 * most, usual.
 * @param {ObservationCode} row
 * @param {SizeField} field
 * @param {unknown} characterisation1
 * @returns {AskedQuantity | null}
 */
export function quantityFor(row, field, characterisation1) {
  const quantity = row[field];
  if (!quantity) return null;
  const kind = typeof characterisation1 === 'string' ? characterisation1 : '';
  const { by_characterisation: by, needed_with: neededWith, ...plain } = quantity;
  const needed = Boolean(quantity.needed) || (neededWith ?? []).includes(kind);
  const usual = Array.isArray(quantity.usual) ? quantity.usual : (quantity.usual?.[kind] ?? []);
  const found = { ...plain, needed, usual, ...(by?.[kind] ?? {}) };
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

/**
 * The compact written form of an observation: written, and read back. Twin of
 * webapp/survey/coding/written_form.py, where its grammar stands.
 */
import { quantityFor } from './code_quantities.js';
import { findCode } from './codes.js';
import { decimalText } from '../numbers/decimals.js';

/** @typedef {import('./codes.js').Finding} Finding */
/** @typedef {import('./code_quantities.js').SizeField} SizeField */
/** @typedef {import('../../records/tables.js').ObservationCode} Row */
/** @typedef {import('../../records/types.js').ObservationFields} ObservationFields */
/** @typedef {import('../../records/types.js').Continuous} Continuous */
/** @typedef {{fields: ObservationFields, faults: Finding[]}} ReadCode */

const CODE = /^[A-Z]{1,4}[A-Z0-9]{0,4}$/;
const PLAIN = /^[A-Z][A-Z0-9]{0,7}$/;
const PIECE = /"(?:[^"\\]|\\.)*"|[^ \t\r\n"]+|"/g;
const NUMBER = /^(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)$/;
const GLUED = /^([0-9.,]+)([a-z%°]+)$/;
const WORD = /^[A-Za-z%°]+$/;
/** @type {Object<string, string[]>} */
const SPELLED = { '%': ['%', 'percent'], mm: ['mm'], degrees: ['degrees', 'degree', 'deg', '°'] };
const HOURS = /^([0-9]{1,2})(?:-([0-9]{1,2}))?$/;
const ROLES = ['start', 'change', 'finish'];
const TURNS = ['left', 'right', 'up', 'down', 'left_up', 'left_down', 'right_up', 'right_down'];
const KEYWORDS = ['x', 'at', 'joint', 'not', 'turns', ...ROLES];
const MAX_CHARACTERS = 4000;
const MAX_QUANTITY = 100000; // a quantity, as its field takes it

/** @param {Row[]} rows the code table, for the units @param {ObservationFields} fields @returns {string} */
export function composeCode(rows, fields) {
  const { code, characterisation_1: one, characterisation_2: two, clock, continuous, remark } = fields;
  if (!code) return '';
  const row = findCode(rows, code);
  const parts = [code];
  if (one || two) parts.push(one ? quoted(one) : '-');
  if (two) parts.push(quoted(two));
  for (const [name, lead] of /** @type {Array<[SizeField, string]>} */ ([
    ['quantification_1', ''],
    ['quantification_2', 'x ']
  ])) {
    const value = fields[name];
    if (value === null || value === undefined) continue;
    const units = unitsOf(row, name, one);
    const unit = units.length === 1 && units[0] in SPELLED ? ` ${units[0]}` : '';
    parts.push(`${lead}${numberText(value)}${unit}`);
  }
  if (clock)
    parts.push(
      `at ${clock.hour_from}${clock.hour_to === null || clock.hour_to === undefined ? '' : `-${clock.hour_to}`}`
    );
  if (typeof fields.at_joint === 'boolean') parts.push(fields.at_joint ? 'joint' : 'not at joint');
  if (fields.turns_to) parts.push(`turns ${fields.turns_to.replaceAll('_', '-')}`);
  if (continuous) parts.push(`${continuous.role} ${continuous.number}`);
  return remark ? `${parts.join(' ')}: ${escaped(remark)}` : parts.join(' ');
}

/**
 * @param {Row[]} rows
 * @param {string} text
 * @returns {ReadCode}
 */
export function readCode(rows, text) {
  if ([...text].length > MAX_CHARACTERS)
    return { fields: {}, faults: [fault('written_too_long', 'code', { most: MAX_CHARACTERS })] };
  const { pieces, remark } = piecesOf(text);
  if (!pieces.length || !CODE.test(pieces[0])) {
    return { fields: {}, faults: [fault('written_code_missing', 'code', { part: pieces[0] ?? 'nothing' })] };
  }
  const reading = new Reading(rows, pieces);
  reading.read();
  if (remark) reading.fields.remark = remark;
  return { fields: reading.fields, faults: reading.faults };
}

/** The pieces of one line on their way into fields. */
class Reading {
  /** @param {Row[]} rows @param {string[]} pieces */
  constructor(rows, pieces) {
    this.pieces = pieces;
    this.row = findCode(rows, pieces[0]);
    /** @type {ObservationFields & import('../../records/types.js').FieldsByName} */
    this.fields = { code: pieces[0] };
    /** @type {Finding[]} */
    this.faults = [];
    this.at = 1;
  }

  read() {
    this.letters();
    for (let piece = this.next(); piece !== null; piece = this.next()) {
      if (NUMBER.test(piece)) this.quantity('quantification_1', piece);
      else if (piece === 'x') this.quantity('quantification_2', this.next());
      else if (piece === 'at') this.clock(this.next());
      else if (piece === 'joint') this.set('at_joint', true);
      else if (piece === 'not' && this.pieces[this.at] === 'at' && this.pieces[this.at + 1] === 'joint') {
        this.at += 2;
        this.set('at_joint', false);
      } else if (piece === 'turns') this.turns(this.next());
      else if (ROLES.includes(piece)) this.continuous(/** @type {Continuous['role']} */ (piece), this.next());
      else this.unreadable('code', piece);
    }
  }

  /** @returns {string | null} */
  next() {
    const piece = this.pieces[this.at] ?? null;
    this.at += 1;
    return piece;
  }

  letters() {
    for (const name of ['characterisation_1', 'characterisation_2']) {
      const piece = this.pieces[this.at] ?? '';
      if (piece === '-' && name === 'characterisation_1') this.at += 1;
      else if (PLAIN.test(piece)) {
        this.at += 1;
        this.fields[name] = piece;
      } else if (piece.length > 2 && piece.startsWith('"') && piece.endsWith('"')) {
        this.at += 1;
        this.fields[name] = unescaped(piece.slice(1, -1));
      } else return;
    }
  }

  /** @param {string} name @param {import('../../records/types.js').FieldValue} value */
  set(name, value) {
    if (name in this.fields) this.faults.push(fault('written_twice', name, { part: name.replace('_', ' ') }));
    else this.fields[name] = value;
  }

  /** @param {string} name @param {string | null} piece */
  unreadable(name, piece) {
    this.faults.push(fault('written_unreadable', name, { part: piece || 'the end of the line' }));
  }

  /** @param {SizeField} name @param {string | null} piece */
  quantity(name, piece) {
    if (piece === null || !NUMBER.test(piece)) return this.unreadable(name, piece);
    const value = Number(piece.replace(',', '.'));
    const units = unitsOf(this.row, name, this.fields.characterisation_1);
    const after = this.pieces[this.at] ?? '';
    if (WORD.test(after) && !KEYWORDS.includes(after)) {
      this.at += 1;
      if (!units.some((unit) => (SPELLED[unit] ?? [unit]).includes(after))) {
        this.faults.push(fault('written_unit_unexpected', name, { unit: after, wanted: units }));
        return undefined;
      }
    }
    if (value > MAX_QUANTITY) return this.unreadable(name, piece);
    return this.set(name, value);
  }

  /** @param {string | null} piece */
  clock(piece) {
    const found = HOURS.exec(piece ?? '');
    if (found === null) return this.unreadable('clock', piece);
    const hours = found
      .slice(1)
      .filter((hour) => hour !== undefined)
      .map(Number);
    const wrong = hours.find((hour) => hour < 1 || hour > 12);
    if (wrong !== undefined) {
      this.faults.push(fault('clock_hour_unknown', 'clock', { hour: wrong }));
      return undefined;
    }
    return this.set(
      'clock',
      hours.length === 2 ? { hour_from: hours[0], hour_to: hours[1] } : { hour_from: hours[0] }
    );
  }

  /** @param {string | null} piece */
  turns(piece) {
    const direction = (piece ?? '').replaceAll('-', '_');
    if (!TURNS.includes(direction)) return this.unreadable('turns_to', piece);
    return this.set('turns_to', direction);
  }

  /** @param {Continuous['role']} role @param {string | null} piece */
  continuous(role, piece) {
    if (piece === null || !/^[1-9][0-9]{0,2}$/.test(piece)) return this.unreadable('continuous', piece);
    return this.set('continuous', { role, number: Number(piece) });
  }
}

/** @param {string} code @param {string} field @param {Finding['values']} values @returns {Finding} */
function fault(code, field, values) {
  return { code, field, values };
}

/** The words before the remark, and the remark. @param {string} text */
function piecesOf(text) {
  /** @type {string[]} */
  const pieces = [];
  const put = (/** @type {string} */ piece) => pieces.push(...(GLUED.exec(piece)?.slice(1) ?? [piece]));
  for (const match of text.matchAll(PIECE)) {
    const piece = match[0];
    const end = match.index + piece.length;
    if (piece[0] !== '"' && piece.endsWith(':')) {
      if (piece.length > 1) put(piece.slice(0, -1));
      return { pieces, remark: unescaped(afterSpace(text.slice(end))) };
    }
    if (piece[0] === '"' && text[end] === ':')
      return { pieces: [...pieces, piece], remark: unescaped(afterSpace(text.slice(end + 1))) };
    put(piece);
  }
  return { pieces, remark: '' };
}

/** @param {string} text */
function afterSpace(text) {
  return text.startsWith(' ') ? text.slice(1) : text;
}

/**
 * Units that a quantity may be in; a number of things has none.
 * @param {Row | null} row
 * @param {SizeField} name
 * @param {unknown} kind
 * @returns {string[]}
 */
function unitsOf(row, name, kind) {
  const quantity = row ? quantityFor(row, name, kind) : null;
  const text = quantity ? quantity.unit.replace(/ by type$/, '') : 'count';
  return text === 'count' ? [] : text.split(' or ');
}

/** @param {number} value */
function numberText(value) {
  return decimalText(value, 6).replace(/0+$/, '').replace(/\.$/, '');
}

/** @param {string} text */
function quoted(text) {
  return PLAIN.test(text) ? text : `"${escaped(text).replaceAll('"', '\\"')}"`;
}

/** @param {string} text */
function escaped(text) {
  return text.replaceAll('\\', '\\\\').replaceAll('\n', '\\n').replaceAll('\r', '\\r');
}

/** @param {string} text */
function unescaped(text) {
  return text.replace(/\\([^\n])/g, (_, sign) => (sign === 'n' ? '\n' : sign === 'r' ? '\r' : sign));
}

/**
 * Computes every figure of generated runs on this side; the tables are handed over once. Used by
 * tests/figures/test_figures_parity.py.
 */
import { findingsOf } from '../../static/js/figures/findings.js';
import { leaveItems } from '../../static/js/figures/leave.js';
import { lengthFigures, wholeLength } from '../../static/js/figures/lengths.js';
import { runFigures } from '../../static/js/figures/run_figures.js';

// what goes in, and what is compared by itself
const WITHOUT = ['tables', 'remember', 'placeOf', 'job', 'source', 'first', 'whole'];
let tables = {};

/** @param {any} given */
export function useTables(given) {
  tables = given;
}

/** The getters of an object and of what it extends. @param {any} made @returns {string[]} */
function gettersOf(made) {
  if (made === Object.prototype) return [];
  const own = Object.entries(Object.getOwnPropertyDescriptors(made)).filter(([, one]) => one.get);
  return [...own.map(([name]) => name), ...gettersOf(Object.getPrototypeOf(made))];
}

/** Every getter and every property, whatever it is called.
 * @param {import('../../static/js/figures/run_figures.js').RunFigures | null} figures */
function plain(figures) {
  if (figures === null) return null;
  const getters = gettersOf(Object.getPrototypeOf(figures));
  const found = Object.fromEntries(getters.map((name) => [name, figures[name]]));
  return {
    ...found,
    ...Object.fromEntries(Object.entries(figures).filter(([name]) => !WITHOUT.includes(name))),
    source: figures.source
  };
}

/** @param {any} job @param {Array<{recorded: any, records: any}>} runs one, or those of one length */
export function figureCase(job, runs) {
  const each = runs.map(({ recorded, records }) => runFigures(recorded, records, job, tables));
  const whole = runs.length > 1 ? wholeLength(each, tables) : null;
  const own = runs[0].records;
  const records = {
    job: [{ id: 'j', fields: job }],
    node: own.nodes,
    check: own.checks,
    photo: runs.flatMap((one) => one.records.photos)
  };
  const sources = each.map((one) => one.source);
  return {
    runs: each.map(plain),
    whole,
    length: whole && plain(lengthFigures(whole, each[0], memory())),
    findings: sources.map((one) => findingsOf(one, tables.observation_codes.rows)),
    leave: leaveItems(records, sources, {}, tables)
  };
}

function memory() {
  const kept = new Map();
  return (name, _, work) => {
    if (!kept.has(name)) kept.set(name, work());
    return kept.get(name);
  };
}

/** Every sentence a surveyor reads, by key. The sentences stand in the files beside this one, by area. */
import { COMMON } from './en_common.js';
import { ACCESS } from './en_access.js';
import { JOB } from './en_job.js';
import { RUN } from './en_run.js';
import { FIGURES } from './en_figures.js';
import { CULVERT } from './en_culvert.js';
import { CLOCK } from './en_clock.js';
import { CONDITION } from './en_condition.js';
import { LEAVE } from './en_leave.js';
import { CHANGE, OBSERVATION } from './en_observation.js';
import { COUNTER } from './en_counter.js';
import { FILES } from './en_files.js';
import { KEPT } from './en_kept.js';
import { LENGTH } from './en_length.js';

const SENTENCES = {
  ...COMMON,
  ...ACCESS,
  ...JOB,
  ...RUN,
  ...FIGURES,
  ...CULVERT,
  ...CLOCK,
  ...CONDITION,
  ...LEAVE,
  ...OBSERVATION,
  ...CHANGE,
  ...COUNTER,
  ...FILES,
  ...KEPT,
  ...LENGTH
};

/** @typedef {keyof typeof SENTENCES} TextKey */

/**
 * @param {TextKey} key
 * @param {Object<string, string | number>} [values] put in place of {name}
 * @returns {string}
 */
export function t(key, values) {
  const text = SENTENCES[key];
  if (text === undefined) return key;
  if (!values) return text;
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
}

/** Levels, water and flow of a run in sentences. Twin of webapp/survey/wording/figures.py. */
import { message } from './messages.js';
import {
  degreesText,
  fixedText,
  litresText,
  metres,
  placeText,
  spreadText,
  timesText
} from './quantities.js';

/** @typedef {import('./messages.js').Words} Words */

const VERDICTS = ['agrees', 'deeper', 'shallower'];

/**
 * Why a stretch carries least.
 * @param {Words} words
 * @param {string} code
 * @param {number} flowM3S
 * @returns {string}
 */
export function reasonText(words, code, flowM3S) {
  const key = `survey.flow.without.${code}`;
  return message(words, Object.hasOwn(words, key) ? key : 'survey.flow.without.other', {
    flow: litresText(words, flowM3S)
  });
}

/**
 * Where the water reaches the crown first when the flow grows.
 * @param {Words} words
 * @param {number} chainageM
 * @returns {string}
 */
export function crownText(words, chainageM) {
  return message(words, 'survey.flow.crown', { m: placeText(words, chainageM) });
}

/**
 * At which flow the water at the upper end stands at its cover.
 * @param {Words} words
 * @param {number} flowM3S
 * @param {number} lowM3S
 * @param {number} highM3S
 * @param {string} node
 * @param {number} levelM
 * @returns {string}
 */
export function surchargeText(words, flowM3S, lowM3S, highM3S, node, levelM) {
  const [flow, low, high] = [flowM3S, lowM3S, highM3S].map((one) => litresText(words, one));
  return message(words, 'survey.flow.surcharge', { flow, low, high, node, m: fixedText(words, levelM, 3) });
}

/**
 * What most looks like a slip.
 * @param {Words} words
 * @param {string} kind
 * @param {number} fromM
 * @param {number} toM
 * @param {number} sizeM
 * @param {number} standardised
 * @returns {string}
 */
export function suspectText(words, kind, fromM, toM, sizeM, standardised) {
  return message(words, `survey.levels.suspect_${kind}`, {
    size: metres(words, Math.abs(sizeM), null),
    times: timesText(words, standardised),
    from_m: placeText(words, fromM),
    to_m: placeText(words, toM)
  });
}

/**
 * What the readings say of themselves.
 * @param {Words} words
 * @param {import('../levels/reading_findings.js').LevelFinding} one
 * @returns {string}
 */
export function levelFindingText(words, one) {
  return message(words, `survey.levels.${one.code}`, {
    m: placeText(words, one.m),
    times: fixedText(words, one.times, 1),
    deg: degreesText(words, one.deg)
  });
}

/**
 * That the ties do not fit a reading beyond the range.
 * @param {Words} words
 * @param {number} chainageM
 * @param {number | null} deg
 * @returns {string}
 */
export function gapText(words, chainageM, deg) {
  return message(words, 'survey.levels.gap', {
    m: placeText(words, chainageM),
    deg: degreesText(words, deg)
  });
}

/**
 * What a level at the far end would settle.
 * @param {Words} words
 * @param {number} tieSdM
 * @param {number | null} nowSdM
 * @param {number} thenSdM
 * @param {boolean} bothEnds
 * @returns {string}
 */
export function settleText(words, tieSdM, nowSdM, thenSdM, bothEnds) {
  const values = {
    now: spreadText(words, nowSdM),
    tie: spreadText(words, tieSdM),
    after: spreadText(words, thenSdM)
  };
  const which = bothEnds ? 'both_ends' : 'far_end';
  return message(words, `survey.levels.settle_${which}${nowSdM === null ? '_bounds' : ''}`, values);
}

/** @param {Words} words @param {import('../levels/ponding.js').Backfall} one @returns {string} */
export function backfallText(words, one) {
  const values = {
    from_m: placeText(words, one.from_m),
    to_m: placeText(words, one.to_m),
    size: metres(words, one.rise_m, one.sd_m)
  };
  return message(words, `survey.water.backfall${certainty(one)}`, values);
}

/** @param {Words} words @param {import('../levels/ponding.js').Sag} one @returns {string} */
export function sagText(words, one) {
  const values = {
    from_m: placeText(words, one.from_m),
    to_m: placeText(words, one.to_m),
    low_m: placeText(words, one.low_m),
    size: metres(words, one.depth_m, one.sd_m)
  };
  return message(words, `survey.water.sag${certainty(one)}`, values);
}

/** @param {{sure: boolean, at_least: boolean}} one @returns {string} */
function certainty({ sure, at_least: atLeast }) {
  return atLeast ? '_at_least' : sure ? '' : '_possible';
}

/**
 * @param {Words} words
 * @param {number} chainageM
 * @param {number} observedM
 * @param {number | null} sdM
 * @param {number} computedM
 * @returns {string}
 */
export function seenText(words, chainageM, observedM, sdM, computedM) {
  const seen = metres(words, observedM, sdM);
  return message(words, 'survey.water.seen', {
    seen,
    m: placeText(words, chainageM),
    computed_m: fixedText(words, computedM, 3)
  });
}

/** @param {Words} words @param {string} verdict @returns {string} */
export function waterVerdict(words, verdict) {
  return VERDICTS.includes(verdict) ? message(words, `survey.water.${verdict}`, {}) : '';
}

/**
 * Why something could not be computed, or what stands beside a number.
 * @param {Words} words
 * @param {string} code
 * @returns {string}
 */
export function codeReason(words, code) {
  const key = `survey.reason.${code}`;
  return Object.hasOwn(words, key)
    ? message(words, key, {})
    : message(words, 'survey.not_computed', { code });
}

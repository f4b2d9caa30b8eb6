/** The sentences of survey/wording, in the language of the page. */
import { itemSentence as itemSentenceOf } from '../survey/review/leave_item.js';
import * as checks from '../survey/wording/checks.js';
import * as condition from '../survey/wording/condition.js';
import * as figures from '../survey/wording/figures.js';
import * as nextSteps from '../survey/wording/next_steps.js';
import * as quantities from '../survey/wording/quantities.js';
import * as recorded from '../survey/wording/recorded.js';
import * as sight from '../survey/wording/sight.js';
import { words } from './words.js';

/** @typedef {import('../survey/wording/messages.js').Words} Words */

/**
 * @template {unknown[]} A @template R @param {(words: Words, ...given: A) => R} make
 * @returns {(...given: A) => R}
 */
function inPage(make) {
  return (...given) => make(words, ...given);
}

export const fixedText = inPage(quantities.fixedText);
export const fixedSignedText = inPage(quantities.fixedSignedText);
export const litresText = inPage(quantities.litresText);
export const placeText = inPage(quantities.placeText);
export const metres = inPage(quantities.metres);
export const lengthText = inPage(quantities.lengthText);
export const changeParts = inPage(quantities.changeParts);
export const changeText = inPage(quantities.changeText);
export const atLeastText = inPage(quantities.atLeastText);
export const oneInText = inPage(quantities.oneInText);
export const percentText = inPage(quantities.percentText);
export const degreesText = inPage(quantities.degreesText);
export const knownWord = inPage(quantities.knownWord);
export const unitText = inPage(quantities.unitText);
export const bearingText = inPage(quantities.bearingText);
export const walkText = inPage(quantities.walkText);
export const volumeText = inPage(quantities.volumeText);
export const timesText = inPage(quantities.timesText);

export const inclinationText = inPage(recorded.inclinationText);
export const northWord = inPage(recorded.northWord);
export const sized = inPage(recorded.sized);
export const valueText = inPage(recorded.valueText);

export const codeReason = inPage(figures.codeReason);
export const reasonText = inPage(figures.reasonText);
export const crownText = inPage(figures.crownText);
export const surchargeText = inPage(figures.surchargeText);
export const suspectText = inPage(figures.suspectText);
export const gapText = inPage(figures.gapText);
export const levelFindingText = inPage(figures.levelFindingText);
export const settleText = inPage(figures.settleText);
export const backfallText = inPage(figures.backfallText);
export const sagText = inPage(figures.sagText);
export const seenText = inPage(figures.seenText);
export const waterVerdict = inPage(figures.waterVerdict);

export const seenLine = inPage(sight.seenLine);
export const partLine = inPage(sight.partLine);
export const unseenWhy = inPage(sight.unseenWhy);
export const hazardLine = inPage(sight.hazardLine);
export const joinLines = inPage(sight.joinLines);

export const goalLetter = inPage(condition.goalLetter);
export const goalWord = inPage(condition.goalWord);
export const classWords = inPage(condition.classWords);
export const knownClassWords = inPage(condition.knownClassWords);
export const basisWords = inPage(condition.basisWords);
export const stepWords = inPage(condition.stepWords);
export const missingWords = inPage(condition.missingWords);
export const objectWords = inPage(condition.objectWords);
export const actionWords = inPage(nextSteps.actionWords);
export const chosenWords = inPage(nextSteps.chosenWords);
export const actionReasonWords = inPage(nextSteps.actionReasonWords);
export const forbiddenWords = inPage(nextSteps.forbiddenWords);

export const verdictText = inPage(checks.verdictText);
export const usualText = inPage(checks.usualText);
export const itemSentence = inPage(itemSentenceOf);

/** What the camera could see, hazards to people, how the runs of one length join. Twin of webapp/survey/wording/sight.py. */
import { ERASED } from '../coding/hidden_spans.js';
import { message } from './messages.js';
import { fixedText, placeText } from './quantities.js';

/** @typedef {import('./messages.js').Words} Words */
/** @typedef {import('../coding/visibility.js').Visibility} Visibility */
/** @typedef {import('../coding/visibility.js').VisiblePart} VisiblePart */

export const MIN_M = 0.005; // less is nothing at two decimals

/** @param {Words} words @param {Visibility} account @param {number} defects @returns {string} */
export function seenLine(words, account, defects) {
  if (account.total_m === null) {
    return message(
      words,
      `survey.sight.${account.to_counter_m === null ? 'no_extent' : 'ends_where_it_begins'}`,
      {}
    );
  }
  const values = { total_m: fixedText(words, account.total_m, 2) };
  if (!account.looked) return message(words, 'survey.sight.not_looked', values);
  const [clearM, partM, hiddenM] = [
    Number(account.clear_m),
    Number(account.part_m),
    Number(account.hidden_m)
  ];
  const seenM = clearM + partM;
  if (seenM <= MIN_M) return message(words, 'survey.sight.nothing', values);
  const key = `survey.sight.${hiddenM <= MIN_M ? 'all' : 'some'}${defects ? '' : '_no_defect'}${partM > MIN_M ? '_part' : ''}`;
  return message(words, key, {
    ...values,
    seen_m: fixedText(words, seenM, 2),
    part_m: fixedText(words, partM, 2)
  });
}

/**
 * @param {Words} words
 * @param {VisiblePart} part
 * @param {number} fromM
 * @param {number} toM
 * @param {string} cause
 * @returns {string}
 */
export function partLine(words, part, fromM, toM, cause) {
  const why =
    part.depth_pct === null
      ? cause
      : message(words, 'survey.sight.why_depth', {
          why: cause,
          depth_pct: fixedText(words, part.depth_pct, 0)
        });
  const values = { from_m: placeText(words, fromM), to_m: placeText(words, toM), why };
  const assumed = part.known === 'assumed' ? '_assumed' : '';
  if (part.record_ids.some((id) => id.startsWith(ERASED)))
    return message(words, 'survey.sight.not_known', values);
  if (part.sight === 'hidden') return message(words, `survey.sight.hidden${assumed}`, values);
  if (part.hour_from === null) return message(words, `survey.sight.part${assumed}`, values);
  const [first, last] = [Math.floor(part.hour_from), Math.ceil(Number(part.hour_to))];
  const key = `survey.sight.${last - first >= 12 ? 'part_round' : 'part_hours'}${assumed}`;
  return message(words, key, { ...values, first: String(first), last: String(last) });
}

/**
 * @param {Words} words
 * @param {{sight: string, record_ids: string[]}} part
 * @param {Array<[number, number]>} between
 * @param {number} fromM
 * @param {number} toM
 * @param {boolean} disputed
 * @returns {string}
 */
export function unseenWhy(words, part, between, fromM, toM, disputed) {
  if (part.sight !== 'hidden' || part.record_ids.length) return '';
  const middle = (fromM + toM) / 2;
  if (between.some(([a, b]) => a <= middle && middle <= b))
    return message(words, 'survey.sight.not_surveyed', {});
  return message(words, disputed ? 'survey.sight.end_disputed' : 'survey.sight.not_shown', {});
}

/**
 * @param {Words} words
 * @param {string} label
 * @param {number | null} fromM
 * @param {number | null} toM
 * @param {boolean} sure
 * @returns {string}
 */
export function hazardLine(words, label, fromM, toM, sure) {
  const what = sure ? label : message(words, 'survey.hazard.may_be', { label });
  if (fromM === null) return message(words, 'survey.hazard.no_place', { what });
  if (toM === null) return message(words, 'survey.hazard.from', { what, m: placeText(words, fromM) });
  if (toM === fromM) return message(words, 'survey.hazard.at', { what, m: placeText(words, fromM) });
  return message(words, 'survey.hazard.from_to', {
    what,
    from_m: placeText(words, Math.min(fromM, toM)),
    to_m: placeText(words, Math.max(fromM, toM))
  });
}

/**
 * @param {Words} words
 * @param {import('../lengths/pipe_length.js').LengthJoin} join
 * @param {number} perhaps
 * @returns {string[]}
 */
export function joinLines(words, join, perhaps) {
  const lines = [
    message(words, `survey.length.${join.how}`, {
      m: join.length_m === null ? '' : placeText(words, join.length_m)
    })
  ];
  const add = (/** @type {string} */ key, /** @type {string} */ m) =>
    lines.push(message(words, `survey.length.${key}`, { m }));
  if (join.closing_m !== null) add('closing', fixedText(words, join.closing_m, 2));
  if (join.how === 'expected' && (join.closing_m ?? 0) <= -MIN_M) add('overlap', '');
  if (join.off_m !== null && Math.abs(join.off_m) >= MIN_M)
    add(join.off_m > 0 ? 'longer' : 'shorter', placeText(words, Math.abs(join.off_m)));
  if (join.apart_m >= MIN_M) add('apart', placeText(words, join.apart_m));
  for (const [from, to] of join.between)
    lines.push(
      message(words, 'survey.length.between', { from_m: placeText(words, from), to_m: placeText(words, to) })
    );
  if (join.twice_m >= MIN_M) add('twice', placeText(words, join.twice_m));
  return perhaps ? [...lines, perhapsLine(words, perhaps)] : lines;
}

/** @param {Words} words @param {number} count @returns {string} */
export function perhapsLine(words, count) {
  return message(words, 'survey.length.perhaps', { n: count });
}

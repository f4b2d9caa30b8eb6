/**
 * Under the dial: the hour on the wall of what a camera off the axis shows at another. Offered, never put in
 * by itself.
 */
import { h, refill, uid } from '../ui/elements.js';
import { fixed, general } from '../ui/format.js';
import { button, note } from '../ui/page.js';
import { t } from '../text/words.js';

/** @typedef {import('../survey/coding/run_clock.js').Suggestion} Suggestion */
/** @typedef {{cameraMm: number, sizeMm: number, known: string | null, rows: Suggestion[]}} OffAxis */
/** @typedef {(hours: number[]) => OffAxis | null} Ask */
/** @typedef {'from' | 'to'} Slot */
/** @typedef {{from: number | null, to: number | null}} Hours */

/** @type {Slot[]} */
const SLOTS = ['from', 'to'];
const NONE = { from: null, to: null };

/**
 * Only an hour that somebody chose here is taken as seen by the camera: one that stood in the record, or that
 * was offered here, is an hour on the wall already, and shifting it again would be wrong.
 * @param {{raw: () => Hours, set: (value: Hours) => void}} dial
 * @param {Ask} ask
 * @param {() => void} changed
 */
export function clockHelper(dial, ask, changed) {
  const element = h('div', { class: 'clock-helper stack-s', role: 'status' });
  /** @type {Hours} */
  let last = { ...NONE };
  /** @type {Hours} */
  let seen = { ...NONE };
  /** @type {Hours} */
  let offered = { ...NONE };
  let used = '';

  function show() {
    offered = { ...NONE };
    const notes = SLOTS.map((slot) => {
      const hour = seen[slot];
      const about = hour === null ? null : ask([hour]);
      const row = about?.rows[0];
      if (!about || !row) return null;
      offered[slot] = row.nearest_hour;
      return offer(slot, about, row);
    });
    const status = used && h('p', { class: 'field-help', tabindex: '-1', 'data-key': 'used' }, used);
    refill(element, status, ...notes);
  }

  /** @param {Slot} slot @param {OffAxis} about @param {Suggestion} row */
  function offer(slot, about, row) {
    const id = uid('off-axis');
    const take = () => use(slot, row);
    const key = button(t('clock.use', { use: row.nearest_hour }), {
      onclick: take,
      key: `use-${slot}`,
      describedby: id
    });
    return note('plain', h('p', { id }, sentence(about, row)), key);
  }

  /** @param {Slot} slot @param {Suggestion} row */
  function use(slot, row) {
    dial.set({ ...dial.raw(), [slot]: row.nearest_hour });
    seen[slot] = null;
    last = dial.raw();
    used = t('clock.used', { use: row.nearest_hour, seen: row.hour });
    changed();
    show();
    /** @type {HTMLElement | null} */ (element.querySelector('[data-key=used]'))?.focus({
      preventScroll: true
    });
  }

  return {
    element,
    show,
    seen: () => ({ ...seen }),
    /** Somebody chose an hour on the dial. */
    chosen() {
      const now = dial.raw();
      for (const slot of SLOTS) {
        if (now[slot] !== last[slot]) seen[slot] = now[slot] === offered[slot] ? null : now[slot];
      }
      last = now;
      used = '';
      show();
    },
    /**
     * The dial was filled from what stood.
     * @param {Hours} [asSeen] of a draft: the hours chosen but not shifted
     */
    stood(asSeen) {
      last = dial.raw();
      seen = { ...NONE, ...asSeen };
      used = '';
      show();
    }
  };
}

/** @param {OffAxis} about @param {Suggestion} row @returns {string} */
function sentence(about, row) {
  const how =
    about.known === 'measured' || about.known === 'drawing' || about.known === 'assumed'
      ? about.known
      : 'unsaid';
  return t('clock.off_axis', {
    camera: general(about.cameraMm),
    size: general(about.sizeMm),
    known: t(`clock.size_${how}`),
    seen: row.hour,
    true: onTheDial(row.true_hours),
    away: fixed(row.wall_distance_m, 2)
  });
}

/**
 * With a tenth, as on a dial: past 12 and before 1 it is twelve and something.
 * @param {number} hours 0 up to 12
 */
function onTheDial(hours) {
  const tenths = Math.round(hours * 10) / 10;
  return fixed(tenths < 1 ? tenths + 12 : tenths, 1);
}

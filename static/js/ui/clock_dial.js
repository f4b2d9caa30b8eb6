/** Clock positions: a group of radio buttons first, a drawing of the pipe second. */
import { h, refill, s, uid } from './elements.js';
import { t } from '../text/words.js';

/** @typedef {import('../records/types.js').Clock} Clock */
/** @typedef {{from: number | null, to: number | null}} Hours   as the dial has them */

const HOURS = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12];

/** Spans that come up again and again: one key each. */
function usualSpans() {
  return [
    { words: t('clock.span_invert'), from: 5, to: 7 },
    { words: t('clock.span_crown'), from: 11, to: 1 },
    { words: t('clock.span_round'), from: 12, to: 12 }
  ];
}

/**
 * @param {number} references 1 or 2
 * @param {() => void} changed
 * @param {Clock | null} [last] a clock to offer as that of last time
 */
export function clockDial(references, changed, last = null) {
  const from = hourGroup(t('clock.from'), 'dial', () => {
    draw();
    changed();
  });
  const to =
    references > 1
      ? hourGroup(t('clock.to'), 'hours-flat', () => {
          draw();
          changed();
        })
      : null;
  const face = h('div', { class: 'dial-face', 'aria-hidden': 'true' });
  const words = h('p', { class: 'field-help', role: 'status' });
  from.ring.append(face);
  const clear = h(
    'button',
    {
      type: 'button',
      class: 'button quiet',
      onclick: () => {
        from.set(null);
        to?.set(null);
        draw();
        changed();
      }
    },
    t('clock.clear')
  );
  const spans =
    references > 1
      ? spanKeys(last, (a, b) => {
          from.set(a);
          to?.set(b);
          draw();
          changed();
        })
      : null;
  const element = h('div', { class: 'stack' }, spans, from.element, to?.element ?? null, words, clear);

  function draw() {
    refill(face, drawing(from.get(), to?.get() ?? null));
    words.textContent = inWords(from.get(), to?.get() ?? null);
    clear.hidden = from.get() === null && (to?.get() ?? null) === null;
  }
  draw();
  return {
    element,
    focus: () => from.focus(),
    raw: () => ({ from: from.get(), to: to?.get() ?? null }),
    /** @param {Partial<Clock & Hours> | null | undefined} value a stored clock, or the draft of one */
    set(value) {
      from.set(value?.hour_from ?? value?.from ?? null);
      to?.set(value?.hour_to ?? value?.to ?? null);
      draw();
    },
    /** @returns {{value: Clock | null, error?: string}} */
    read() {
      const [a, b] = [from.get(), to?.get() ?? null];
      if (a === null) return { value: null, error: b === null ? undefined : t('clock.from_needed') };
      return { value: b === null ? { hour_from: a } : { hour_from: a, hour_to: b } };
    }
  };
}

/** @param {Clock | null} last @param {(from: number, to: number | null) => void} pressed */
function spanKeys(last, pressed) {
  const hours = last?.hour_from
    ? {
        words: t('clock.span_last', {
          hours: last.hour_to ? t('clock.hours', { a: last.hour_from, b: last.hour_to }) : last.hour_from
        }),
        from: last.hour_from,
        to: last.hour_to ?? null
      }
    : null;
  return h(
    'div',
    { class: 'spans', role: 'group', 'aria-label': t('clock.spans') },
    ...[...(hours ? [hours] : []), ...usualSpans()].map((span) =>
      h(
        'button',
        {
          type: 'button',
          class: 'usual-value',
          'data-key': `span-${span.words}`,
          onclick: () => pressed(span.from, span.to)
        },
        span.words
      )
    )
  );
}

/** @param {string} label @param {'dial' | 'hours-flat'} shape @param {() => void} changed */
function hourGroup(label, shape, changed) {
  const name = uid('hour');
  /** @type {HTMLInputElement[]} */
  const inputs = [];
  const hours = HOURS.map((hour) => {
    const input = h('input', {
      type: 'radio',
      name,
      value: String(hour),
      'aria-label': String(hour),
      onchange: changed
    });
    inputs.push(input);
    return h(
      'label',
      { class: shape === 'dial' ? `hour hour-${hour}` : 'hour-flat' },
      input,
      h('span', { 'aria-hidden': 'true' }, String(hour))
    );
  });
  const ring = h('div', { class: shape }, ...hours);
  return {
    ring,
    element: h('fieldset', { class: 'field' }, h('legend', null, label), ring),
    focus: () => (inputs.find((one) => one.checked) ?? inputs[11]).focus(),
    get: () => Number(inputs.find((one) => one.checked)?.value ?? 0) || null,
    /** @param {number | null} hour */
    set(hour) {
      for (const input of inputs) input.checked = Number(input.value) === hour;
    }
  };
}

/** @param {number | null} from @param {number | null} to */
function drawing(from, to) {
  const at = (/** @type {number} */ hour, /** @type {number} */ r) => {
    const angle = (hour / 12) * 2 * Math.PI;
    return `${(100 + r * Math.sin(angle)).toFixed(2)} ${(100 - r * Math.cos(angle)).toFixed(2)}`;
  };
  const parts = [
    s('circle', { class: 'dial-pipe', cx: 100, cy: 100, r: 86 }),
    s('text', { class: 'dial-side', x: 100, y: 42 }, t('clock.crown')),
    s('text', { class: 'dial-side', x: 100, y: 168 }, t('clock.invert'))
  ];
  if (from !== null && to === null)
    parts.push(
      s('path', { class: 'dial-arc', d: `M${at(from - 0.12, 86)} A86 86 0 0 1 ${at(from + 0.12, 86)}` })
    );
  if (from !== null && to !== null) {
    const hours = (((to - from) % 12) + 12) % 12 || 12;
    const middle = from + hours / 2;
    parts.push(
      s('path', {
        class: 'dial-arc',
        d: `M${at(from, 86)} A86 86 0 0 1 ${at(middle, 86)} A86 86 0 0 1 ${at(from + hours - (hours === 12 ? 0.01 : 0), 86)}`
      })
    );
  }
  parts.push(
    s(
      'text',
      { class: 'dial-words', x: 100, y: 110 },
      from === null ? t('clock.none') : to === null ? `${from}` : `${from} – ${to}`
    )
  );
  return s('svg', { viewBox: '0 0 200 200' }, ...parts);
}

/** @param {number | null} from @param {number | null} to @returns {string} */
function inWords(from, to) {
  if (from === null) return t('clock.how');
  return to === null ? t('clock.at', { a: from }) : t('clock.from_to', { a: from, b: to });
}

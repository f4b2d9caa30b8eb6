/** Our own drawings, 24 by 24, two strokes thick. */
import { s } from './elements.js';

/** @type {Object<string, string[]>} */
const PATHS = {
  back: ['M15 5 8 12l7 7'],
  on: ['M9 5l7 7-7 7'],
  add: ['M12 5v14M5 12h14'],
  cross: ['M6 6l12 12M18 6 6 18'],
  tick: ['M5 13l4.5 4.5L19 7'],
  reading: ['M3 17.5 21 9', 'M3 21h18', 'M7 15.6V21M12 13.2V21M17 10.9V21'],
  observation: ['M12 4a8 8 0 1 0 0 16 8 8 0 0 0 0-16', 'M12 12V6.5M12 12l4 2.4'],
  photo: ['M4 8h3.5L9 5.5h6L16.5 8H20v11H4z', 'M12 10.5a3 3 0 1 0 0 6 3 3 0 0 0 0-6'],
  more: ['M5 7h14M5 12h14M5 17h14'],
  stretch: ['M4 8h16v8H4z', 'M8 8v8M16 8v8'],
  tie: ['M12 20V9', 'M6 9h12l-6-5z', 'M5 20h14'],
  remark: ['M5 5h14v10h-8l-4 4v-4H5z'],
  end: ['M6 21V4', 'M6 5h11l-2.5 3.5L17 12H6'],
  send: ['M12 19V6', 'M6 11l6-6 6 6'],
  sent: ['M4 12.5l4.5 4.5L20 6.5'],
  wait: ['M12 4.5a7.5 7.5 0 1 0 0 15 7.5 7.5 0 0 0 0-15', 'M12 8.5V12l2.6 1.8'],
  alert: ['M12 4 21 20H3z', 'M12 10v5M12 17.2v.6'],
  undo: ['M9 7 4 11.5 9 16', 'M4.5 11.5H15a5 5 0 0 1 0 10h-2'],
  remove: ['M5 7h14M10 7V4.5h4V7M7 7l1 13h8l1-13', 'M10.5 11v5.5M13.5 11v5.5'],
  search: ['M10.5 4.5a6 6 0 1 0 0 12 6 6 0 0 0 0-12', 'M15 15l5 5'],
  sheet: ['M6 3.5h9l3.5 3.5v13.5H6z', 'M9 11h6M9 15h6'],
  shield: ['M12 3.5 19 6v6c0 4.2-3 7.2-7 8.5-4-1.3-7-4.3-7-8.5V6z'],
  gauge: ['M4 18a8.5 8.5 0 1 1 16 0', 'M12 17l4-6', 'M4 18h16'],
  node: ['M12 5a7 7 0 1 0 0 14 7 7 0 0 0 0-14', 'M12 9.5a2.5 2.5 0 1 0 0 5 2.5 2.5 0 0 0 0-5'],
  run: ['M3 8h18M3 16h18', 'M15.5 9.5 18 12l-2.5 2.5', 'M6 12h11'],
  pack: ['M4 8l8-4 8 4v8l-8 4-8-4z', 'M4 8l8 4 8-4M12 12v8'],
  settings: ['M4 7h9M17 7h3M4 12h3M11 12h9M4 17h9M17 17h3', 'M15 5v4M9 10v4M15 15v4'],
  branch: ['M6 4v16', 'M6 14c7 0 11-2 11-8', 'M14 8l3-3 3 3'],
  download: ['M12 4v12', 'M7 11.5l5 5 5-5', 'M5 20h14'],
  up: ['M4 18 20 6', 'M13 6h7v7'],
  down: ['M4 6l16 12', 'M20 11v7h-7'],
  flat: ['M3 12h18', 'M16 7l5 5-5 5'],
  beyond: ['M4 20 13 4', 'M15 4h5M15 8h5M15 12h5'],
  keyboard: ['M3 7h18v10H3z', 'M7 10.5h.1M11 10.5h.1M15 10.5h.1M8 14h8'],
  backspace: ['M8 6h12v12H8l-5-6z', 'M11.5 9.5l5 5M16.5 9.5l-5 5'],
  place: ['M12 21c-4-4.5-6-7.5-6-10.5a6 6 0 0 1 12 0c0 3-2 6-6 10.5z', 'M12 8.5a2 2 0 1 0 0 4 2 2 0 0 0 0-4'],
  water: ['M3 9c3 3 6 3 9 0s6-3 9 0', 'M3 15c3 3 6 3 9 0s6-3 9 0'],
  walk: ['M12 3 5 21l7-4 7 4z'],
  picture: ['M4 5h16v14H4z', 'M4 16l5-5 4 4 2.5-2.5L20 16']
};

/** @param {string} name @param {string} [extra] @returns {SVGElement} */
export function icon(name, extra = '') {
  return s(
    'svg',
    { viewBox: '0 0 24 24', class: `icon ${extra}`, 'aria-hidden': 'true', focusable: 'false' },
    ...(PATHS[name] ?? []).map((d) => s('path', { d }))
  );
}

/**
 * What the camera shows, drawn by us: 24 by 24, one stroke, a round pipe from the front or a pipe from the
 * side.
 */
import { s } from './elements.js';

const BORE = 'M12 3a9 9 0 1 0 0 18 9 9 0 0 0 0-18';
const BORE_OPEN_ABOVE = 'M16.5 4.2a9 9 0 1 1-9 0';

/** @type {Object<string, string[]>} */
const PATHS = {
  deformed: [
    'M12 7.5c5.6 0 9.5 1.8 9.5 4.5s-3.9 4.5-9.5 4.5S2.5 14.7 2.5 12 6.4 7.5 12 7.5',
    'M12 1v4M10 3.2l2 2 2-2',
    'M12 23v-4M10 20.8l2-2 2 2'
  ],
  crack: [BORE, 'M13.5 3.2 10 8l4.5 3-3.5 4 1.5 2.5'],
  broken: ['M20.7 9.7A9 9 0 1 1 14.3 3.3', 'M13.5 7.5l4 1-1.5 4-3.5-1.5z'],
  brick: [
    'M2.5 5h19v14h-19z',
    'M2.5 12h6M15.5 12h6',
    'M8.5 5v7M15.5 5v7M12 12v7M8.5 12l2 1.5M15.5 12l-2 1.5'
  ],
  mortar: ['M2.5 4.5h8v5h-8zM13.5 4.5h8v5h-8z', 'M2.5 14.5h4v5h-4zM9 14.5h8v5H9zM19.5 14.5h2v5h-2z'],
  surface: ['M3 5h18', 'M3 15.5l2.2-2.5 2.2 3 2.3-4 2.3 4 2.3-3 2.2 3.5 2.2-4 2.3 3', 'M3 20.5h18'],
  intruding: ['M2 9h5.5M16.5 9H22M2 21h20', 'M7.5 2.5V16h9V2.5'],
  connection_fault: ['M2 12h6V3M22 12h-6V3M2 21h20', 'M10.5 13.5l3 3M13.5 13.5l-3 3'],
  seal: [BORE, 'M5 6.5c1 10 13 10 14 0'],
  joint: ['M2 5h9v11H2', 'M22 8.5h-9v11h9'],
  lining: [BORE, 'M12 6.8c1.5 0 1.2 3 2.4 3s2-.8 2.6 1.2a5.3 5.3 0 1 1-5-4.2'],
  repair: ['M2 5.5h20M2 18.5h20', 'M6.5 5.5v13M17.5 5.5v13', 'M12 9v6M9 12h6'],
  weld: ['M2 5h20M2 19h20', 'M12 5l-2 2.3 4 2.3-4 2.4 4 2.3-4 2.4L12 19'],
  porous: [BORE, 'M8 8.5h.1M12 7h.1M16 8.5h.1M9.8 12h.1M14.2 12h.1M8 15.5h.1M12 16.8h.1M16 15.5h.1'],
  ground: [BORE_OPEN_ABOVE, 'M8 5.5 10 8l2-2.2 2 2.2 2-2.5', 'M9 2.2h.1M12 3h.1M15 2.2h.1'],
  cavity: ['M17.4 9.8A7.5 7.5 0 1 1 9 7.2', 'M9 7.2c-2-4.6 4-7 6.2-4.7 3.5-1 6.3 3.3 2.2 7.3'],
  roots: [
    'M3 4h18',
    'M12 4c0 6-4 6.5-5.5 16.5',
    'M11.7 8c.8 5.5 4.8 5.5 5.8 11',
    'M10.5 11.5c1.8 3 1.2 5.5 1.8 9',
    'M9 13c-2.5.3-4 1.5-5 3.5',
    'M14 12c2.5 0 4.5.8 6 2.8'
  ],
  attached: [BORE, 'M5.4 6c3.6 1.2 1 4 2.6 6s-.4 4.5 2 6.5', 'M18.6 6c-3.6 1.2-1 4-2.6 6s.4 4.5-2 6.5'],
  deposit: [BORE, 'M3.6 15c3-2.8 5.4.8 8.4-.6s5.4-1 8.4.6', 'M9 17.8h.1M12.5 18h.1M16 17.5h.1'],
  ground_in: [
    'M3 4h6M15 4h6M3 21h18',
    'M12 4v3',
    'M5.5 21C8 17 10 11 12 11s4 6 6.5 10',
    'M12 15h.1M10.5 18h.1M14 18h.1'
  ],
  obstruction: [BORE, 'M7.5 19.5v-8h9v8', 'M7.5 15.5h9M12 11.5v4'],
  water_in: [
    BORE_OPEN_ABOVE,
    'M12 2v4',
    'M12 9c-2 2.7-2.9 4-2.9 5.4a2.9 2.9 0 0 0 5.8 0C14.9 13 14 11.7 12 9z'
  ],
  water_out: ['M16.5 16.3a7.3 7.3 0 1 0-9 0', 'M12 13.5v7.5', 'M9.3 18.6 12 21.5l2.7-2.9'],
  vermin: [
    'M2.5 17.5C3 12.5 7 10 11 10c2.5 0 4-1.5 5.5-1.5 1 0 1.5.8 1.5 2l3.5 4.5-2 1.5h-3l-1 1z',
    'M2.5 17.5c-.5 3 3 3.5 5.5 3',
    'M17.6 13h.1'
  ],
  connection: ['M2 12h6V3M22 12h-6V3', 'M2 21h20'],
  bend: ['M3 5h5a12 12 0 0 1 12 12v4', 'M3 13h5a4 4 0 0 1 4 4v4'],
  start: ['M3 3v18h7.5V3', 'M10.5 14.5H21M17.5 11l3.5 3.5-3.5 3.5'],
  finish: ['M13.5 3v18H21V3', 'M3 14.5h10.5M10 11l3.5 3.5L10 18'],
  photo: ['M4 8h3.5L9 5.5h6L16.5 8H20v11H4z', 'M12 10.5a3 3 0 1 0 0 6 3 3 0 0 0 0-6'],
  remark: ['M5 5h14v10h-8l-4 4v-4H5z'],
  abandoned: ['M2.5 5h19M2.5 19h19', 'M3 12h9M8.5 8.5 12 12l-3.5 3.5', 'M16.5 5v14'],
  water_level: [BORE, 'M3.2 12.5c2.9 2.4 5.9-2.4 8.8 0s5.9-2.4 8.8 0', 'M7.5 16.8h9'],
  water_from: [
    'M2 10h6V3M22 10h-6V3',
    'M2 21.5h20',
    'M12 5c.5 4-.8 6 .2 9',
    'M6.5 17.5c1.8 1.3 3.7-1.3 5.5 0s3.7-1.3 5.5 0'
  ],
  air: [
    'M3 8h10.5a2.8 2.8 0 1 0-2.8-2.8',
    'M3 12.5h15a2.6 2.6 0 1 1-2.6 2.6',
    'M3 17h7.5a2.3 2.3 0 1 1-2.3 2.3'
  ],
  no_view: [
    'M2.5 12c2.5-4.3 5.7-6.5 9.5-6.5s7 2.2 9.5 6.5c-2.5 4.3-5.7 6.5-9.5 6.5S5 16.3 2.5 12z',
    'M12 9.5a2.5 2.5 0 1 0 0 5 2.5 2.5 0 0 0 0-5',
    'M4.5 20 19.5 4'
  ],
  change: ['M2 4h9.5v16H2', 'M22 8h-10.5M22 16h-10.5'],
  other: [BORE, 'M12 12h.1']
};

/**
 * @param {string | null | undefined} name of the code table's `pictogram`
 * @returns {SVGElement} of the size that .pictogram says
 */
export function pictogram(name) {
  return s(
    'svg',
    { viewBox: '0 0 24 24', class: 'icon pictogram', 'aria-hidden': 'true', focusable: 'false' },
    ...(PATHS[name ?? ''] ?? PATHS.other).map((d) => s('path', { d }))
  );
}

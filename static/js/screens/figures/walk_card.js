/** "Walk this way": how far and at which bearing, from the start node or from where the phone is. */
import { h, s } from '../../ui/elements.js';
import { searchRadiusM } from '../../survey/plan/ellipse.js';
import { turnBearing } from '../../survey/plan/north.js';
import { radius95M } from '../../survey/plan/position_accuracy.js';
import { walkThisWay } from '../../survey/plan/trace.js';
import { bearingText, walkText } from '../../text/survey_words.js';
import { t } from '../../text/words.js';
import { fixed, keepUnits, listed } from '../../ui/format.js';

/** @typedef {import('../../figures/run_figures.js').RunFigures} Figures */
/** @typedef {import('../../pwa/position.js').Fix} Fix */
/** @typedef {import('../../records/types.js').BearingNorth} BearingNorth */
/** @typedef {{distance: number, bearing: number, radius: number, from: string, north: BearingNorth}} Way */

/** @param {Figures} figures @param {{start: string}} names @param {Fix | null} fix */
export function walkCard(figures, names, fix) {
  const way = wayOf(figures, names, fix);
  if (!way) return null;
  const here = fix !== null && way.distance <= way.radius;
  return h(
    'div',
    { class: 'walk', 'data-figure': 'walk' },
    h(
      'div',
      { class: 'stack-s' },
      h('p', { class: 'walk-under' }, listed([t('trace.walk'), way.from])),
      h('p', { class: 'walk-figure' }, keepUnits(walkText(way.distance, way.bearing, way.radius))),
      here ? h('p', { class: 'walk-figure' }, t('trace.here')) : null,
      h('p', { class: 'walk-under' }, t(`trace.north_${way.north}`), compassWords(figures, way))
    ),
    needle(way.bearing)
  );
}

/** @param {Figures} figures @param {{start: string}} names @param {Fix | null} fix @returns {Way | null} */
function wayOf(figures, names, fix) {
  const { end, trace } = figures;
  if (!end || !trace?.trace) return null;
  const from = t('trace.from_start', { node: names.start });
  if (!fix || end.lat_deg === null || end.lon_deg === null) {
    return {
      distance: end.distance_m,
      bearing: end.bearing_deg,
      radius: end.radius_m,
      from,
      north: end.north ?? 'true'
    };
  }
  const line = walkThisWay(fix.lat_deg, fix.lon_deg, end.lat_deg, end.lon_deg);
  const last = trace.trace.points[trace.trace.points.length - 1];
  const here = Number(radius95M(fix));
  return {
    distance: line.distance_m,
    bearing: line.azimuth_from_deg,
    radius: searchRadiusM(last.ellipse.semi_major_m, here),
    from: t('trace.from_phone', { m: fixed(here, 0) }),
    north: 'true'
  };
}

/**
 * What a compass shows for a true bearing, where the declination is known.
 * @param {Figures} figures
 * @param {Way} way
 */
function compassWords({ job }, way) {
  const declination = job.declination_deg ?? null;
  if (way.north !== 'true' || declination === null) return '';
  return ` ${t('trace.compass', { deg: bearingText(turnBearing(way.bearing, 'true', 'magnetic', declination, null)) })}`;
}

/** @param {number} bearing */
function needle(bearing) {
  const ticks = [0, 30, 60, 90, 120, 150, 180, 210, 240, 270, 300, 330];
  return s(
    'svg',
    { class: 'needle', viewBox: '-40 -40 80 80', 'aria-hidden': 'true' },
    s('circle', { cx: 0, cy: 0, r: 37 }),
    ...ticks.map((deg) => s('path', { class: 'tick', d: 'M0 -37 V-33', transform: `rotate(${deg})` })),
    s('text', { x: 0, y: -22 }, t('trace.arrow_true')),
    s('path', { class: 'hand', d: 'M0 -30 L9 16 L0 9 L-9 16 Z', transform: `rotate(${Math.round(bearing)})` })
  );
}

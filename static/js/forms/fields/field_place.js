/** Controls for a position on the ground and for a bearing. */
import { h, uid } from '../../ui/elements.js';
import { button } from '../../ui/page.js';
import { faultLine } from './field_frame.js';
import { readNumber } from './checks.js';
import { numberControl } from './fields_plain.js';
import { currentPosition } from '../../pwa/position.js';
import { OTHER_PCT, radius95M, statedPct } from '../../survey/plan/position_accuracy.js';
import { t } from '../../text/words.js';
import { unitText } from '../../text/survey_words.js';
import { fixed } from '../../ui/format.js';
import { errorWords } from '../../ui/error_words.js';

/** @typedef {import('../../records/types.js').Bearing} Bearing */
/** @typedef {import('../../records/types.js').Position} Position */
/** @typedef {NonNullable<Position['source']>} Source */
/**
 * @typedef {{lat?: string, lon?: string, radius?: string, source?: Source, pct?: number | null}}
 *   PositionDraft
 */
/** @typedef {{bearing?: string, north?: Bearing['north'], spread?: string}} BearingDraft */
/**
 * @template V, R
 * @typedef {import('../../ui/types.js').Control<V, R>} Control
 */
/** @typedef {import('../../ui/types.js').Field} Field */

/** @returns {Field[]} latitude, longitude and the radius that holds the place */
function placeFields() {
  const unit = unitText('degrees');
  return [
    { name: 'lat_deg', label: t('place.latitude'), type: 'number', unit, minimum: -90, maximum: 90 },
    { name: 'lon_deg', label: t('place.longitude'), type: 'number', unit, minimum: -180, maximum: 180 },
    { name: 'accuracy_m', label: t('place.radius'), type: 'number', unit: 'm', minimum: 0, maximum: 100000 }
  ];
}

/** @param {Field} field @param {() => void} changed @returns {Control<Position, PositionDraft | Position>} */
export function positionControl(field, changed) {
  const name = uid(field.name);
  const [latField, lonField, radiusField] = placeFields();
  /** @type {Source} */
  let source = 'typed';
  /** @type {number | null} how many times in 100 the radius holds the true place */
  let pct = null;
  const byHand = () => {
    source = 'typed';
    tell('');
    changed();
  };
  const lat = numberControl(latField, byHand);
  const lon = numberControl(lonField, byHand);
  const radius = numberControl(radiusField, () => {
    pct = OTHER_PCT;
    tell(t('place.typed_radius'));
    changed();
  });
  const status = h('p', { class: 'field-help', role: 'status' });
  const tell = (/** @type {string} */ words) => {
    status.textContent = words;
  };
  const fault = faultLine(name);
  const ask = async () => {
    tell(t('place.asking'));
    try {
      const fix = await currentPosition();
      setValue(fix);
      changed();
    } catch (error) {
      tell(errorWords(error));
    }
  };
  const element = h(
    'fieldset',
    { class: 'field' },
    h('legend', null, field.label),
    button(t('place.use'), { icon: 'place', tone: 'wide', onclick: ask }),
    status,
    h('div', { class: 'stack' }, lat.element, lon.element, radius.element),
    fault.element
  );
  const setValue = (/** @type {Position | null | undefined} */ value) => {
    source = value?.source ?? 'typed';
    pct = value?.accuracy_pct ?? null;
    tell(value ? placeWords(value) : '');
    lat.setValue(value?.lat_deg);
    lon.setValue(value?.lon_deg);
    radius.setValue(value?.accuracy_m);
  };
  return {
    name: field.name,
    element,
    focus: lat.focus,
    fault: (sentence) => fault.show(element, sentence),
    raw: () => ({ lat: lat.raw(), lon: lon.raw(), radius: radius.raw(), source, pct }),
    setRaw(raw) {
      if (raw && 'lat_deg' in raw) return setValue(raw);
      lat.setRaw(raw?.lat);
      lon.setRaw(raw?.lon);
      radius.setRaw(raw?.radius);
      source = raw?.source ?? 'typed';
      pct = raw?.pct ?? null;
      return undefined;
    },
    setValue,
    read() {
      const [a, b, c] = [
        readNumber(latField, lat.raw()),
        readNumber(lonField, lon.raw()),
        readNumber(radiusField, radius.raw())
      ];
      const error = a.error ?? b.error ?? c.error;
      if (error) return { value: null, error };
      if (a.value === null && b.value === null)
        return { value: null, error: c.value === null ? undefined : t('place.both') };
      if (a.value === null || b.value === null) return { value: null, error: t('place.both') };
      const accuracy =
        c.value === null ? {} : { accuracy_m: c.value, ...(pct === null ? {} : { accuracy_pct: pct }) };
      return { value: { lat_deg: a.value, lon_deg: b.value, ...accuracy, source } };
    }
  };
}

/** What the radius of a position means. @param {import('../../records/types.js').Position} position */
function placeWords(position) {
  const radius = radius95M(position);
  if (radius === null || position.source !== 'phone') return '';
  return t('place.taken', {
    m: fixed(/** @type {number} */ (position.accuracy_m), 0),
    pct: fixed(statedPct(position), 0),
    radius: fixed(radius, 0)
  });
}

/** @returns {Field[]} the bearing and its standard deviation */
function bearingFields() {
  const unit = unitText('degrees');
  return [
    { name: 'bearing_deg', label: t('north.bearing'), type: 'number', unit, minimum: 0, maximum: 360 },
    { name: 'sd_deg', label: t('north.spread'), type: 'number', unit, minimum: 0, maximum: 180 }
  ];
}

/** @type {Object<string, import('../../text/words.js').MessageKey>} */
const NORTHS = { magnetic: 'north.magnetic', true: 'north.true', grid: 'north.grid' };

/** @param {Field} field @param {() => void} changed @returns {Control<Bearing, BearingDraft | Bearing>} */
export function bearingControl(field, changed) {
  const name = uid(field.name);
  const [bearingField, spreadField] = bearingFields();
  const bearing = numberControl(bearingField, changed);
  const spread = numberControl(spreadField, changed);
  const north = h(
    'select',
    { class: 'input', id: `${name}-north`, onchange: changed },
    ...['magnetic', 'true', 'grid'].map((value) => h('option', { value }, t(NORTHS[value])))
  );
  const from = () => /** @type {Bearing['north']} */ (north.value);
  const fault = faultLine(name);
  const element = h(
    'fieldset',
    { class: 'field' },
    h('legend', null, field.label),
    field.help ? h('p', { class: 'field-help' }, field.help) : null,
    h(
      'div',
      { class: 'pair' },
      bearing.element,
      h(
        'div',
        { class: 'field' },
        h('label', { class: 'field-label', for: `${name}-north` }, t('north.label')),
        north
      )
    ),
    spread.element,
    fault.element
  );
  const setValue = (/** @type {Bearing | null | undefined} */ value) => {
    bearing.setValue(value?.bearing_deg);
    north.value = value?.north ?? 'magnetic';
    spread.setValue(value?.sd_deg);
  };
  setValue(null);
  return {
    name: field.name,
    element,
    focus: bearing.focus,
    fault: (sentence) => fault.show(element, sentence),
    raw: () => ({ bearing: bearing.raw(), north: from(), spread: spread.raw() }),
    setRaw(raw) {
      if (raw && 'bearing_deg' in raw) return setValue(raw);
      bearing.setRaw(raw?.bearing);
      spread.setRaw(raw?.spread);
      north.value = raw?.north ?? 'magnetic';
      return undefined;
    },
    setValue,
    read() {
      const [a, b] = [readNumber(bearingField, bearing.raw()), readNumber(spreadField, spread.raw())];
      if (a.error || b.error) return { value: null, error: a.error ?? b.error };
      if (a.value === null)
        return { value: null, error: b.value === null ? undefined : t('north.bearing_needed') };
      return {
        value: { bearing_deg: a.value, north: from(), ...(b.value === null ? {} : { sd_deg: b.value }) }
      };
    }
  };
}

/** How rough a wall in use may be. Twin of webapp/survey/flow/wall_roughness.py. */

/** @typedef {import('../../records/types.js').ObservationFields} ObservationFields */
/** @typedef {import('../../records/types.js').StretchFields} StretchFields */
/** @typedef {{low_mm: number, mm: number, high_mm: number, value: string}} Wall */

const SURFACE_WATER = ['surface_water', 'culverted_watercourse'];
/** usual in design, and slimed or silted [mm] @type {Object<string, [number, number]>} */
const DESIGN_MM = { surface: [0.6, 1.5], foul: [1.5, 3] };
const WORN_CODES = ['BAF', 'BAE', 'BBB'];
const CORROSION = ['BBB A', 'BAF J', 'BAF H'];
const METAL = ['cast_iron', 'grey_iron', 'ductile_iron', 'steel'];
const WORN_MM = 6;
const MIN_WORN_MM = 0.3; // what was seen to be worn or encrusted is no clean wall
const TUBERCLES_MM = 30;
const SMOOTH_MM = 0.06; // the smoothest wall in use where the material is not known
const TYPED_FACTOR = 2;

/**
 * @param {StretchFields} stretch
 * @param {Array<{fields: ObservationFields}>} seen
 * @param {string | null} waterCarried
 * @param {import('../../records/tables.js').Roughness[]} rows
 * @returns {Wall}
 */
export function wallRoughness(stretch, seen, waterCarried, rows) {
  const typed = stretch.roughness_mm ?? null;
  const material = /** @type {NonNullable<StretchFields['material']>} */ (stretch.material);
  const own = rows.find((row) => row.materials.includes(material) && row.k_s_mm !== null);
  if (typed !== null)
    return { low_mm: typed / TYPED_FACTOR, mm: typed, high_mm: typed * TYPED_FACTOR, value: '' };
  const [usual, slimed] = DESIGN_MM[SURFACE_WATER.includes(waterCarried ?? '') ? 'surface' : 'foul'];
  const clean = own ? own.k_s_mm : SMOOTH_MM;
  let low = own ? own.k_s_good_mm || clean : SMOOTH_MM;
  let [mm, high] = [Math.max(usual, clean), Math.max(slimed, clean)];
  if (seen.some((one) => WORN_CODES.includes(one.fields.code ?? ''))) {
    [low, mm, high] = [Math.max(low, MIN_WORN_MM), Math.max(mm, slimed), Math.max(high, WORN_MM)];
  }
  if (
    METAL.includes(material) &&
    seen.some((one) => CORROSION.includes(`${one.fields.code} ${one.fields.characterisation_1}`))
  ) {
    [mm, high] = [Math.max(mm, WORN_MM), Math.max(high, TUBERCLES_MM)];
  }
  return { low_mm: Math.min(low, mm), mm, high_mm: high, value: own?.value ?? '' };
}

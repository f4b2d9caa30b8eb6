/** The sentences of saving, which the page brings along. */

const place = typeof document === 'undefined' ? null : document.getElementById('start-words');
const words = place ? JSON.parse(place.textContent || '') : {};

/**
 * A sentence of the page's own: the app, which has them all, may not be running.
 * @param {string} key
 * @param {Object<string, string | number>} [values]
 * @returns {string}
 */
export function t(key, values = {}) {
  const [section, name] = key.split('.');
  const found = (words[section] || {})[name] || key;
  const template =
    typeof found === 'string'
      ? found
      : found[new Intl.PluralRules(words._language).select(Number(values.n))] || found.other;
  return template.replace(/\{(\w+)\}/g, (/** @type {string} */ _, /** @type {string} */ one) =>
    String(values[one])
  );
}

/** The one exception of this folder. Twin of webapp/survey/errors.py. */
export class SurveyError extends Error {
  /** @param {string} code @param {string} [field] @param {number | null} [index] */
  constructor(code, field = '', index = null) {
    super(`${code} (${field}${index === null ? '' : `, ${index}`})`);
    this.name = 'SurveyError';
    this.code = code;
    this.field = field;
    this.index = index;
  }
}

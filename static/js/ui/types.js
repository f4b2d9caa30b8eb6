/** Shapes that the screens and forms share. Types only. */

/** @typedef {import('../records/fold.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../records/fold.js').Entry} Entry */

/**
 * @typedef {object} Field
 * @property {string} name
 * @property {string} label
 * @property {string} type
 * @property {string} [unit]
 * @property {number} [minimum]
 * @property {number} [maximum]
 * @property {boolean} [whole]
 * @property {number} [longest]
 * @property {number} [lines]
 * @property {Array<{value: string, label: string}>} [choices]
 * @property {string} [to]
 * @property {boolean} [required]
 * @property {boolean} [hidden]
 * @property {boolean} [advanced]
 * @property {string} [group]    fields of one group fold away under its name
 * @property {boolean} [further]   of an observation: no form places it by hand
 * @property {string} [help]
 * @property {string[]} [only]
 * @property {string} [pattern]
 * @property {string} [sentence]
 * @property {string} [pad]
 */

/** @typedef {{kind: string, label: string, plural: string, fields: Field[]}} KindFields */
/** @typedef {{value: string, label: string}} Option */
/** @typedef {{label: string, unit: string, note: string}} Quantity */

/**
 * @typedef {object} CodeRow
 * @property {string} code
 * @property {string} title
 * @property {string} group
 * @property {Option[]} characterisation_1
 * @property {Option[]} characterisation_2
 * @property {Quantity | null} quantification_1
 * @property {Quantity | null} quantification_2
 * @property {number} clock_references
 * @property {boolean} continuous
 * @property {string} joint
 * @property {string} search_words
 * @property {string} help
 * @property {Object<string, string>} certainty
 * @property {string} status
 * @property {string} source
 */

/**
 * @typedef {object} JobView
 * @property {string} jobId
 * @property {SurveyRecord | undefined} job
 * @property {(kind: string) => SurveyRecord[]} records
 * @property {(kind: string) => SurveyRecord[]} removed
 * @property {(kind: string, id: string) => SurveyRecord | undefined} record
 * @property {() => Array<{kind: string, id: string, field: string, values: Array<[string, any]>}>} conflicts
 * @property {(kind: string, id: string) => Entry[]} entriesOf
 */

/**
 * @typedef {object} Control
 * One field on a form: `raw` is what a draft keeps, `read` is what would be stored.
 * @property {string} name
 * @property {HTMLElement} element
 * @property {() => any} raw
 * @property {(raw: any) => void} setRaw
 * @property {(value: any) => void} setValue
 * @property {() => Reading} read
 * @property {() => void} focus
 * @property {(sentence: string) => void} fault
 * @property {() => boolean} [carried] its value is only that of last time
 * @property {() => boolean} [spare] it is mostly left empty: nobody is led to it
 * @property {() => void} [refresh] what it says of itself rests on another field, and that has changed
 */

/**
 * @typedef {{value: any, error?: string, before?: Array<{kind: string, record_id: string, fields:
 *   Object<string, any>}>}} Reading
 */
/** @typedef {{kind: string, record_id: string, fields: Object<string, any>}} Change */

/** @typedef {any} App */

/**
 * @typedef {object} Params
 * @property {string} path
 * @property {URLSearchParams} query
 * @property {string} [job]
 * @property {string} [run]
 * @property {string} [id]
 */

export {};

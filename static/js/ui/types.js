/** Shapes that the screens and forms share. Types only. */

/** @typedef {import('../records/fold.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../records/fold.js').Entry} Entry */
/** @typedef {import('../records/types.js').Kind} Kind */
/** @typedef {import('../records/types.js').KindOfRun} KindOfRun */
/** @template {Kind} K @typedef {import('../records/fold.js').RecordOf<K>} RecordOf */
/** @typedef {import('../store/job_view.js').JobView} JobView */
/** @typedef {import('../store/job_view.js').Change} Change */

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
/** @typedef {Record<Kind, KindFields> & Record<string, KindFields | undefined>} FieldsOfKinds */
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

/** @typedef {JobView & {job: RecordOf<'job'>}} HeldJob   a job that is on this phone */

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
 * @typedef {{value: any, error?: string, before?: Change[]}} Reading
 */
/**
 * The running app, as every screen gets it.
 * @typedef {object} App
 * @property {import('../store/store.js').Store} store
 * @property {import('../sync/engine.js').Sync} sync
 * @property {{kinds: FieldsOfKinds}} fields   field descriptions of all kinds
 * @property {import('../records/tables.js').Tables} tables   those of webapp/tables/ that a phone needs
 * @property {import('../pwa/update.js').Update} update     a new version waits: events 'available',
 *   useItNow(), later()
 * @property {import('../pwa/kept.js').Kept} kept         whether the app is on this phone, whole: events
 *   'changed', state, retry()
 * @property {import('../pwa/install.js').Install} install  events 'changed', canPrompt, prompt(),
 *   standalone, isIos
 * @property {import('../pwa/storage.js').StorageCare} storage   state(): used, free, persisted, low
 * @property {(path: string, how?: {replace?: boolean, field?: string}) => Promise<void>} go       set by the
 *   router
 * @property {(text: string) => void} announce set by the router
 * @property {() => string} newId
 * @property {() => Date} now
 * @property {() => string} newIsoStamp
 */

/**
 * What an address says: its path, what follows the question mark, and the parts that the route's pattern
 *   names.
 * @typedef {{path: string, query: URLSearchParams}} Params
 */

/** @typedef {Params & {job: string}} JobParams */
/** @typedef {JobParams & {run: string}} RunParams */
/** @typedef {JobParams & {id: string}} RecordParams   a record of the job; `new` is one that is being made */
/** @typedef {RunParams & {id: string}} RunRecordParams */
/** @typedef {RecordParams & {run?: string, part?: string}} PartParams   of a run, or of the job */

export {};

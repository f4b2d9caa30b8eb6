/** Shapes that the screens and forms share. Types only. */

/** @typedef {import('../records/fold.js').SurveyRecord} SurveyRecord */
/** @typedef {import('../records/fold.js').Entry} Entry */
/** @typedef {import('../records/types.js').Kind} Kind */
/** @typedef {import('../records/types.js').KindOfRun} KindOfRun */
/** @template {Kind} K @typedef {import('../records/fold.js').RecordOf<K>} RecordOf */
/** @typedef {import('../store/job_view.js').JobView} JobView */
/** @typedef {import('../store/job_view.js').Change} Change */
/** @typedef {import('../records/types.js').AnyFields} AnyFields */
/** @typedef {import('../records/types.js').FieldsByName} FieldsByName */
/** @typedef {import('../records/types.js').FieldValue} FieldValue */
/** @typedef {import('../records/fold.js').Standing} Standing */
/** @typedef {import('../text/words.js').MessageKey} MessageKey */
/** @typedef {import('../records/tables.js').ObservationCode} CodeRow */
/** @typedef {import('../records/tables.js').PipeChange} PipeChange */

/**
 * @typedef {object} Field
 * @property {string} name
 * @property {string} label
 * @property {import('../records/types.js').FieldType} type
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

/** @typedef {JobView & {job: RecordOf<'job'>}} HeldJob   a job that is on this phone */

/**
 * One field on a form: V is what would be stored, R what a draft keeps.
 * `carried`: its value is only that of last time. `spare`: it is mostly left empty, nobody is led to it.
 * `refresh`: what it says of itself rests on another field, and that has changed.
 * @template [V=FieldValue]
 * @template [R=unknown]
 * @typedef {{name: string, element: HTMLElement, raw(): R, setRaw(raw: R | null | undefined): void,
 *   setValue(value: V | null | undefined): void, read(): Reading<V>, focus(): void,
 *   fault(sentence: string): void, carried?(): boolean, spare?(): boolean, refresh?(): void}} Control
 */

/**
 * @template [V=FieldValue]
 * @typedef {{value: V | null, error?: string, before?: Change[]}} Reading
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
 * @property {import('../pwa/second_part.js').SecondPart} second   load(): what second.js exports
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

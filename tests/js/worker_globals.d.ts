// What the server puts before static/js/sw.js.
declare const RELEASE: string;
declare const PRECACHE: string[];
declare const runFromWorker: (() => Promise<void>) | undefined;

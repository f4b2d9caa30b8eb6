// What the server puts before static/js/sw.js.
declare const RELEASE: string;
declare const PRECACHE: Array<[path: string, sha256: string, bytes: number]>;
declare const SMALL: Record<string, [type: string, text: string]>;
declare const APP: string;
declare const SECOND: string;

/**
 * Path to screen. One line a screen; the first pattern that fits is taken. A name in quotes is a screen of
 * the second part of the app (second.js), which is fetched once the first screen is there.
 */
import * as jobs from './screens/job/jobs.js';
import * as jobForm from './screens/job/job_form.js';
import * as jobHome from './screens/job/job_home.js';
import * as safety from './screens/job/safety.js';
import * as checks from './screens/job/checks.js';
import * as checkForm from './screens/job/check_form.js';
import * as nodes from './screens/job/nodes.js';
import * as nodeForm from './screens/job/node_form.js';
import * as runForm from './screens/run/run_form.js';
import * as runLog from './screens/run/run_log.js';
import * as reading from './screens/run/reading.js';
import * as observation from './screens/observation/observation.js';
import * as stretchChange from './screens/run/stretch_change.js';
import * as partForm from './screens/run/part_form.js';
import * as photoNew from './screens/observation/photo_new.js';
import * as photo from './screens/observation/photo.js';
import * as remarks from './screens/job/remarks.js';
import * as join from './screens/job/join.js';

/** @typedef {import('./ui/page.js').Page} Page */
/** @typedef {import('./ui/types.js').App} App */
/** @typedef {{mount: (page: Page, params: any, app: App) => Promise<void | (() => void)>}} Screen */

/** @typedef {keyof typeof import('./second.js').screens} LaterScreen */

/** @type {Array<[string, Screen | LaterScreen]>} */
const ROUTES = [
  ['/', jobs],
  ['/jobs/new', jobForm],
  ['/jobs/:job', jobHome],
  ['/jobs/:job/edit', jobForm],
  ['/jobs/:job/safety', safety],
  ['/jobs/:job/checks', checks],
  ['/jobs/:job/checks/:id', checkForm],
  ['/jobs/:job/nodes', nodes],
  ['/jobs/:job/nodes/:id', nodeForm],
  ['/jobs/:job/runs/new', runForm],
  ['/jobs/:job/runs/:run', runLog],
  ['/jobs/:job/runs/:run/edit', runForm],
  ['/jobs/:job/runs/:run/falls', 'falls'],
  ['/jobs/:job/runs/:run/trace', 'trace'],
  ['/jobs/:job/runs/:run/capacity', 'capacity'],
  ['/jobs/:job/runs/:run/culvert', 'culvert'],
  ['/jobs/:job/runs/:run/length', 'wholeLength'],
  ['/jobs/:job/runs/:run/condition', 'condition'],
  ['/jobs/:job/runs/:run/next/:id', 'nextSteps'],
  ['/jobs/:job/runs/:run/readings/file', 'readingsFile'],
  ['/jobs/:job/runs/:run/readings/:id', reading],
  ['/jobs/:job/runs/:run/observations/:id', observation],
  ['/jobs/:job/runs/:run/change', stretchChange],
  ['/jobs/:job/runs/:run/:part/:id', partForm],
  ['/jobs/:job/remarks', remarks],
  ['/jobs/:job/remarks/:id', partForm],
  ['/jobs/:job/photos', 'photos'],
  ['/jobs/:job/photos/new', photoNew],
  ['/jobs/:job/photos/:id', photo],
  ['/jobs/:job/conflicts', 'conflicts'],
  ['/jobs/:job/removed', 'removed'],
  ['/jobs/:job/leave', 'leave'],
  ['/jobs/:job/handover', 'handover'],
  ['/jobs/:job/pack', 'pack'],
  ['/outbox', 'outbox'],
  ['/settings', 'settings'],
  ['/handbook', 'handbook'],
  ['/join', join]
];

const OFFICE = /^\/office(\/|$)/;

/** @param {string} path @returns {{screen: Screen | LaterScreen, params: Object<string, string>} | null} */
export function match(path) {
  if (OFFICE.test(path)) return { screen: 'officeAway', params: {} };
  const parts = path.split('/').filter(Boolean);
  for (const [pattern, screen] of ROUTES) {
    const wanted = pattern.split('/').filter(Boolean);
    if (wanted.length !== parts.length) continue;
    /** @type {Object<string, string>} */
    const params = {};
    const fits = wanted.every((one, i) => {
      if (one.startsWith(':')) params[one.slice(1)] = decoded(parts[i]);
      return one.startsWith(':') || one === parts[i];
    });
    if (fits) return { screen, params };
  }
  return null;
}

/** @param {string} part @returns {string} as written where it cannot be decoded: no record has such an id */
function decoded(part) {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

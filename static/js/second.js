/**
 * The second part of the app: what no start, no recording and no saving needs. It is a script of its own,
 * joined from what these modules need and the first part does not have. The first part imports none of them:
 * it asks for them by `app.second.load()`.
 */
import * as falls from './screens/figures/falls.js';
import * as trace from './screens/figures/trace.js';
import * as capacity from './screens/figures/capacity.js';
import * as condition from './screens/figures/condition.js';
import * as nextSteps from './screens/figures/next_steps.js';
import * as culvert from './screens/figures/culvert.js';
import * as wholeLength from './screens/figures/whole_length.js';
import * as readingsFile from './screens/run/readings_file.js';
import * as photos from './screens/observation/photos.js';
import * as conflicts from './screens/sync/conflicts.js';
import * as removed from './screens/job/removed.js';
import * as leave from './screens/job/leave.js';
import * as handover from './screens/job/handover.js';
import * as pack from './screens/job/pack.js';
import * as outbox from './screens/sync/outbox.js';
import * as settings from './screens/job/settings.js';
import * as handbook from './screens/job/handbook.js';
import * as officeAway from './screens/job/office_away.js';
export { takeHandOver } from './files/handover_in.js';

/** By the names that stand in routes.js. */
export const screens = Object.freeze({
  falls,
  trace,
  capacity,
  condition,
  nextSteps,
  culvert,
  wholeLength,
  readingsFile,
  photos,
  conflicts,
  removed,
  leave,
  handover,
  pack,
  outbox,
  settings,
  handbook,
  officeAway
});

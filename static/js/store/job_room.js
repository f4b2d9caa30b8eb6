/** What each job takes on this phone, and which of its photos could be let go. */

/** @typedef {import('./store.js').Store} Store */
/** @typedef {import('./photos_here.js').PhotoWanted} PhotoWanted */
/** @typedef {import('./job_view.js').JobView} JobView */
/**
 * `entry_bytes`: about so many. `photo_bytes`: of the photos here. `spare`: here, and sent as far as this
 * phone has heard; that it has them, the server must prove when they go. `whole_bytes`: what goes with the
 * job, about: not photos that another job names too.
 * @typedef {{job_id: string, title: string, entries: number, entry_bytes: number, photos: number,
 *   photo_bytes: number, spare: PhotoWanted[], spare_bytes: number, whole_bytes: number}} JobRoom
 */

const SAMPLED = 200; // entries, from which the rest is reckoned

/** @param {Store} store @returns {Promise<JobRoom[]>} the largest first */
export async function jobRooms(store) {
  const [here, wanted, jobIds] = await Promise.all([store.photosHeld(), store.wantedPhotos(), store.known()]);
  const views = await Promise.all(jobIds.map((jobId) => store.job(jobId)));
  /** @type {Map<string, number>} photo to how many jobs name it */
  const named = new Map();
  for (const view of views)
    for (const sha256 of photosOf(view).keys()) named.set(sha256, (named.get(sha256) ?? 0) + 1);
  const found = [];
  for (const view of views) {
    const photos = [...photosOf(view).values()].filter(({ sha256 }) => here.has(sha256));
    const unsent = new Set();
    for (const entry of view.entriesBeyond(await store.serverVector(view.jobId)))
      if (entry.kind === 'photo') unsent.add(hashIn(view, entry.record_id));
    const spare = photos.filter(
      ({ sha256 }) => named.get(sha256) === 1 && !wanted.has(sha256) && !unsent.has(sha256)
    );
    const room = entryRoom(view);
    found.push({
      job_id: view.jobId,
      title: String(view.job?.fields.title ?? ''),
      ...room,
      photos: photos.length,
      photo_bytes: bytesOfAll(photos),
      spare,
      spare_bytes: bytesOfAll(spare),
      whole_bytes: room.entry_bytes + bytesOfAll(photos.filter(({ sha256 }) => named.get(sha256) === 1))
    });
  }
  return found.sort((a, b) => b.photo_bytes + b.entry_bytes - (a.photo_bytes + a.entry_bytes));
}

/**
 * Every picture that an entry of these jobs has ever named, one that was set aside too.
 * @param {JobView[]} views @returns {Set<string>} hashes
 */
export function photoUses(views) {
  const found = new Set();
  for (const view of views)
    for (const { kind, fields } of view.entriesBeyond({}))
      if (kind === 'photo' && typeof fields?.sha256 === 'string') found.add(fields.sha256);
  return found;
}

/** Every picture that a record names, a removed one too. @param {JobView} view */
function photosOf(view) {
  /** @type {Map<string, PhotoWanted>} */
  const photos = new Map();
  for (const { fields } of [...view.records('photo'), ...view.removed('photo')]) {
    const { sha256, size_bytes, media_type } = /** @type {PhotoWanted} */ (fields);
    if (sha256) photos.set(sha256, { sha256, size_bytes: Number(size_bytes) || 0, media_type });
  }
  return photos;
}

/** @param {JobView} view @param {string} recordId */
function hashIn(view, recordId) {
  return view.record('photo', recordId)?.fields.sha256;
}

/** @param {PhotoWanted[]} photos */
function bytesOfAll(photos) {
  return photos.reduce((sum, one) => sum + one.size_bytes, 0);
}

/** @param {JobView} view */
function entryRoom(view) {
  const entries = view.countBeyond({});
  const some = view.entriesBeyond({}, SAMPLED);
  const sampled = some.reduce((sum, entry) => sum + JSON.stringify(entry).length, 0);
  return { entries, entry_bytes: some.length ? Math.round((sampled / some.length) * entries) : 0 };
}

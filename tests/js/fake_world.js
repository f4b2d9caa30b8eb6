// A server and phones in memory: the exchange as webapp/sync/README.md describes it, with everything that can go
// wrong on the way.
import { createHash } from 'node:crypto';
import { entryId } from '../../static/js/records/fold.js';
import { JobView } from '../../static/js/store/job_view.js';
import { Seen } from '../../static/js/store/seen.js';
import { asErased, merged, planOf } from '../../static/js/store/erasing.js';
import { changeWanted, noteSent, readWanted, writeWanted } from '../../static/js/store/wanted_photos.js';
import { BatchSize } from '../../static/js/sync/backoff.js';
import { exchangeEntries } from '../../static/js/sync/exchange.js';
import { SyncError } from '../../static/js/sync/transport.js';

const digestOf = (have) =>
  createHash('sha256')
    .update(
      Object.entries(have)
        .map(([w, n]) => `${w}:${n}`)
        .sort()
        .join('\n')
    )
    .digest('hex')
    .slice(0, 32);

export class FakeServer {
  views = new Map();
  /** Whether it gives stamps: a server of an earlier version does not know them. */
  stamps = true;
  /** @type {Map<string, Array<{name: string, before: Object<string, number>}>>} what each batch went on from, by job */
  changes = new Map();
  maxEntries = 5000;
  maxJobs = 5000;

  view(jobId) {
    if (!this.views.has(jobId)) this.views.set(jobId, new JobView(jobId));
    return this.views.get(jobId);
  }

  log(jobId) {
    if (!this.changes.has(jobId)) this.changes.set(jobId, []);
    return this.changes.get(jobId);
  }

  stampOf(jobId) {
    const log = this.log(jobId);
    return log.length ? `${log.length}-${log.at(-1).name}` : undefined;
  }

  /** Each writer that went on since a stamp, and its number then; undefined where the stamp is not known. */
  since(jobId, stamp) {
    const log = this.log(jobId);
    const [place, name] = stamp.split('-');
    if (log[place - 1]?.name !== name) return undefined;
    const later = log.slice(place).reverse(); // the earliest comes last, and stays
    return Object.assign({}, ...later.map(({ before }) => before));
  }

  note(heads) {
    for (const [jobId, before] of heads) {
      if (Object.entries(this.view(jobId).vector()).some(([w, n]) => n !== (before[w] ?? n)))
        this.log(jobId).push({ name: `${Math.random()}`.slice(2), before });
    }
  }

  exchange({ jobs, entries, pull = this.maxEntries, lists }) {
    if (!this.stamps && Object.values(jobs).some(({ since }) => since))
      throw new SyncError('request_malformed', { status: 422 });
    if (entries.length > this.maxEntries) throw new SyncError('too_many_entries', { status: 422 });
    if (Object.keys(jobs).length > this.maxJobs) throw new SyncError('too_many_jobs', { status: 422 });
    if (pull > this.maxEntries) throw new SyncError('request_malformed', { status: 422 });
    const heads = new Map();
    for (const { job_id, writer } of entries) {
      if (!heads.has(job_id)) heads.set(job_id, {});
      heads.get(job_id)[writer] = this.view(job_id).vector()[writer] ?? 0;
    }
    const fates = entries.map((entry) => {
      const view = this.view(entry.job_id);
      const held = view.vector()[entry.writer] ?? 0;
      const id = `${entry.writer}:${entry.number}`;
      if (entry.number <= held) {
        const why = view.aside.get(id);
        return why ? [id, 'set_aside', why.code, why.reasons] : [id, 'kept_already'];
      }
      if (entry.number > held + 1) return [id, 'not_taken', 'number_gap'];
      if (entry.fields.bad) view.aside.set(id, { code: 'entry_refused', reasons: { bad: ['No.'] } });
      view.add(entry);
      return entry.fields.bad ? [id, 'set_aside', 'entry_refused', { bad: ['No.'] }] : [id, 'kept'];
    });
    this.note(heads);
    const answer = {
      ok: true,
      jobs: {},
      fates,
      entries: [],
      aside: {},
      more: false,
      photos_wanted: [],
      others: [],
      max_entries: this.maxEntries
    };
    for (const [jobId, asked] of Object.entries(jobs)) {
      const view = this.view(jobId);
      const own = view.vector();
      const stamp = this.stamps && lists ? this.stampOf(jobId) : undefined;
      const then = asked.since && stamp && this.since(jobId, asked.since);
      const known = then ? { ...then, ...asked.have } : asked.have;
      const told = then ? Object.fromEntries(Object.keys(known).map((w) => [w, own[w] ?? 0])) : own;
      answer.jobs[jobId] = asked.digest === digestOf(own) ? { same: true } : { have: told };
      if (then) answer.jobs[jobId].since = asked.since;
      if (stamp) answer.jobs[jobId].stamp = stamp;
      if (!known || (asked.since && !then)) continue;
      const have = then ? { ...own, ...known } : known;
      const lacking = view.entriesBeyond(have, pull - answer.entries.length + 1);
      for (const entry of lacking) {
        if (answer.entries.length === pull) {
          answer.more = true;
          break;
        }
        answer.entries.push(entry);
        const mark = view.aside.get(`${entry.writer}:${entry.number}`);
        if (!mark) continue;
        answer.aside[jobId] ??= {};
        answer.aside[jobId][`${entry.writer}:${entry.number}`] = mark;
      }
    }
    return structuredClone(answer);
  }

  backup() {
    const copy = new FakeServer();
    copy.changes = new Map([...this.changes].map(([jobId, log]) => [jobId, [...log]]));
    for (const [jobId, view] of this.views) {
      for (const [id, mark] of view.aside) copy.view(jobId).aside.set(id, mark);
      for (const entry of view.entriesBeyond({})) copy.view(jobId).add(entry);
    }
    return copy;
  }
}

/** A phone with the store's interface, in memory. */
export class FakePhone {
  deviceId = 'fake';
  views = new Map();
  vectors = new Map();
  stamps = new Map();
  notes = new Map();
  shelf = {
    get: async (key) => this.notes.get(key),
    put: async (key, value) => this.notes.set(key, value),
    putAll: async (rows) => {
      for (const [key, value] of rows) this.notes.set(key, value);
    }
  };
  batch = new BatchSize();
  openings = 0;

  constructor(name) {
    this.name = name;
    this.reopen();
  }

  /** Every opening writes under a new name. */
  reopen() {
    this.openings += 1;
    this.writer = `${this.name}-${this.openings}`;
    this.numbers = new Map();
  }

  clone(name) {
    const copy = new FakePhone(name);
    for (const part of ['vectors', 'stamps', 'notes']) copy[part] = structuredClone(this[part]);
    for (const [jobId, view] of this.views) {
      copy.rebuilt(jobId, view.entriesBeyond({}), new Map(view.aside), view.acts);
    }
    return copy;
  }

  view(jobId) {
    if (!this.views.has(jobId)) this.views.set(jobId, new JobView(jobId));
    return this.views.get(jobId);
  }

  write(jobId, kind, record_id, fields) {
    const view = this.view(jobId);
    const number = (this.numbers.get(jobId) ?? 0) + 1;
    this.numbers.set(jobId, number);
    const seen = new Seen(view).of({ kind, record_id, fields }, `${this.writer}:${number}`);
    const entry = {
      job_id: jobId,
      writer: this.writer,
      number,
      device_id: 'fake',
      record_id,
      kind,
      fields,
      seen,
      recorded_at: 'x'
    };
    view.add(entry);
    return entry;
  }

  async followed() {
    return [...this.views.keys()];
  }
  async job(jobId) {
    return this.view(jobId);
  }
  async vector(jobId) {
    return this.view(jobId).vector();
  }
  async serverVector(jobId) {
    return this.vectors.get(jobId) ?? {};
  }
  async serverStamp(jobId) {
    return this.stamps.get(jobId);
  }
  async setServerVector(jobId, have, stamp) {
    this.vectors.set(jobId, have);
    this.stamps.set(jobId, stamp);
  }
  async entriesBeyond(have, jobId, limit) {
    return this.view(jobId).entriesBeyond(have, limit);
  }
  async wanted() {
    return readWanted(this.shelf);
  }
  async wantedPhotos() {
    return (await this.wanted()).left;
  }
  async wantedStamp() {
    return (await this.wanted()).stamp;
  }
  async setWantedPhotos(list, stamp) {
    await writeWanted(this.shelf, list, stamp);
  }
  async changeWantedPhotos(changes) {
    await changeWanted(this.shelf, await this.wanted(), changes);
  }
  async notePhotosSent(hashes) {
    await noteSent(this.shelf, await this.wanted(), hashes);
  }
  async notePhotos(remarks) {
    for (const { note, photos } of remarks)
      for (const sha256 of photos) this.notes.set(`photo_note:${sha256}`, { message: note });
  }
  async syncNote(key) {
    return this.notes.get(key);
  }
  async hearListed() {}
  async setSyncNote(key, value) {
    this.notes.set(key, value);
  }

  async take(jobId, entries, aside) {
    const old = this.view(jobId);
    const here = new Set(old.entriesBeyond({}).map(entryId));
    const kept = asErased(
      old.acts,
      entries.filter((entry) => !here.has(entryId(entry))),
      aside
    );
    const marks = new Map([...Object.entries(kept.aside), ...old.aside]);
    const view = this.rebuilt(jobId, [...old.entriesBeyond({}), ...kept.entries], marks, old.acts);
    return view.countBeyond(old.vector());
  }

  rebuilt(jobId, entries, marks, acts) {
    const view = new JobView(jobId);
    Object.assign(view, { aside: marks, acts });
    for (const entry of entries) {
      if (entry.number === (view.byWriter.get(entry.writer)?.length ?? 0) + 1) view.add(entry);
    }
    this.views.set(jobId, view);
    return view;
  }

  async hearErasures(jobId, told, back, aside) {
    const old = this.view(jobId);
    const acts = merged(old.acts, told) ?? old.acts;
    const plan = planOf(old, acts, back, aside);
    if (acts === old.acts && plan.put.length + plan.marks.length + plan.unmarked.length === 0) return false;
    const marks = new Map(old.aside);
    for (const [, writer, number] of plan.unmarked) marks.delete(`${writer}:${number}`);
    for (const row of plan.marks) marks.set(entryId(row), row);
    const put = new Map(plan.put.map((entry) => [entryId(entry), entry]));
    const entries = old.entriesBeyond({}).map((entry) => put.get(entryId(entry)) ?? entry);
    this.rebuilt(jobId, entries, marks, acts);
    return true;
  }

  async noteResent(jobId) {
    const view = this.view(jobId);
    view.acts = view.acts.map((act) => (act.state === 'undone' ? { ...act, resent: true } : act));
  }

  /** One sync through a link that may lose the request, lose the answer, or deliver twice. */
  async sync(world, fault = () => 'none') {
    const transport = {
      async exchange(request) {
        const copy = structuredClone(request);
        const how = fault();
        if (how === 'lost_request') throw new SyncError('offline');
        if (how === 'twice') world.server.exchange(copy);
        const answer = world.server.exchange(copy);
        if (how === 'lost_answer') throw new SyncError('offline');
        return answer;
      }
    };
    const counts = { sent: 0, received: 0, setAside: 0 };
    await exchangeEntries({ store: this, transport, batch: this.batch, counts, report: () => {} });
    return counts;
  }
}

// A server and phones in memory: the exchange as webapp/sync/README.md describes it, with everything that can go
// wrong on the way.
import { createHash } from 'node:crypto';
import { JobView, Seen } from '../../static/js/store/job_view.js';
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
  maxEntries = 5000;
  maxJobs = 5000;

  view(jobId) {
    if (!this.views.has(jobId)) this.views.set(jobId, new JobView(jobId));
    return this.views.get(jobId);
  }

  exchange({ jobs, entries, pull = this.maxEntries }) {
    if (entries.length > this.maxEntries) throw new SyncError('too_many_entries', { status: 422 });
    if (Object.keys(jobs).length > this.maxJobs) throw new SyncError('too_many_jobs', { status: 422 });
    if (pull > this.maxEntries) throw new SyncError('request_malformed', { status: 422 });
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
    for (const [jobId, { have, digest }] of Object.entries(jobs)) {
      const view = this.view(jobId);
      const own = view.vector();
      answer.jobs[jobId] = digest === digestOf(own) ? { same: true } : { have: own };
      if (!have) continue;
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
  notes = new Map();
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
    copy.vectors = structuredClone(this.vectors);
    for (const [jobId, view] of this.views) {
      copy.view(jobId);
      for (const [id, mark] of view.aside) copy.view(jobId).aside.set(id, mark);
      for (const entry of view.entriesBeyond({})) copy.view(jobId).add(entry);
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
  async vector(jobId) {
    return this.view(jobId).vector();
  }
  async serverVector(jobId) {
    return this.vectors.get(jobId) ?? {};
  }
  async setServerVector(jobId, have) {
    this.vectors.set(jobId, have);
  }
  async entriesBeyond(have, jobId, limit) {
    return this.view(jobId).entriesBeyond(have, limit);
  }
  async wantedPhotos() {
    return [];
  }
  async setWantedPhotos() {
    throw new Error('no photos here');
  }
  async syncNote(key) {
    return this.notes.get(key);
  }
  async setSyncNote(key, value) {
    this.notes.set(key, value);
  }

  async take(jobId, entries, aside) {
    const old = this.view(jobId);
    const all = [...old.entriesBeyond({}), ...entries];
    const marks = new Map([...old.aside, ...Object.entries(aside)]);
    const view = new JobView(jobId);
    view.aside = marks;
    for (const entry of all) {
      if (entry.number === (view.byWriter.get(entry.writer)?.length ?? 0) + 1) view.add(entry);
    }
    const fresh = view.countBeyond(old.vector());
    this.views.set(jobId, view);
    return fresh;
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

// Phones for the convergence machine: the app's own exchange, fold and transport, with a store in memory, against a real
// server. One command a line in, one answer a line out. Used by tests/sync/convergence.py.
import { createInterface } from 'node:readline';
import { Erasures } from '../../static/js/sync/erasing.js';
import { exchangeEntries } from '../../static/js/sync/exchange.js';
import { putAway } from '../../static/js/sync/put_away.js';
import { vectorDigest } from '../../static/js/records/vectors.js';
import { makeTransport } from '../../static/js/sync/transport.js';
import { StoreError } from '../../static/js/store/errors.js';
import { FakePhone } from './fake_world.js';

const [base, planted] = process.argv.slice(2);
let phones = new Map();
let opened = 0;

const { told } = Erasures.prototype;
Erasures.prototype.told = async function (jobIds) {
  const found = await told.call(this, jobIds);
  for (const one of Object.values(found ?? {})) {
    if (planted === 'erasures_not_brought') one.acts = [];
  }
  return found;
};

class MachinePhone extends FakePhone {
  away = new Map(); // job to the acts that are known of it
  writesLeft = Infinity; // then the phone is full
  lost = new Map(); // what was noted last, of notes that there was no room for
  db = { keys: async () => [] };

  reopen() {
    super.reopen();
    for (const [jobId, [have, stamp]] of this.lost ?? []) {
      this.vectors.set(jobId, have);
      this.stamps.set(jobId, stamp);
    }
    this.lost?.clear();
    if (planted !== 'lasting_writer' || !this.kept) this.kept = `writer-${(opened += 1)}-${this.name}`.padEnd(9, '-');
    this.writer = this.kept;
  }

  clone(name) {
    const copy = Object.assign(new MachinePhone(name), super.clone(name), { name });
    copy.away = new Map(this.away);
    if (planted === 'lasting_writer') Object.assign(copy, { writer: this.writer, kept: this.kept, numbers: new Map(this.numbers) });
    else copy.reopen();
    return copy;
  }

  /** A write to the disk: of a full phone it fails. */
  room() {
    if (this.writesLeft <= 0) throw new StoreError('storage_full');
    this.writesLeft -= 1;
  }

  async take(jobId, ...given) {
    if (this.away.has(jobId)) return 0;
    const fresh = given[0].length + Object.keys(given[1] ?? {}).length;
    try {
      if (fresh) this.room();
    } catch (error) {
      if (planted === 'full_is_taken') return 0;
      throw error;
    }
    return super.take(jobId, ...given);
  }

  async hearErasures(...given) {
    this.room();
    return super.hearErasures(...given);
  }

  async followed() {
    return (await super.followed()).filter((jobId) => !this.away.has(jobId));
  }

  known() {
    return this.followed();
  }

  async drafts() {
    return [];
  }

  /** As the store does: if it is still as it was proved. */
  async putAway({ job_id: jobId }, { have, marks }) {
    const view = this.view(jobId);
    const known = [...view.aside.values()].filter(({ code }) => code !== 'erased').length;
    if (view.countBeyond(have) > 0 || known !== marks) return false;
    this.away.set(jobId, view.acts);
    for (const map of [this.views, this.vectors, this.stamps, this.lost]) map.delete(jobId);
    return true;
  }

  /** Whoever puts a job away has looked at what was set aside, and at what differs. */
  async letGo({ job_id: jobId, faults }) {
    const view = this.view(jobId);
    if (this.away.has(jobId) || view.byWriter.size === 0) return 'not here';
    for (const mark of view.aside.values()) mark.dismissed = true;
    view.conflicts = () => [];
    const transport = this.linked(faults);
    if (planted === 'put_away_unproved') transport.jobProof = () => vectorDigest(view.vector());
    return putAway({ store: this, transport, now: () => new Date() }, jobId).then((why) => why[0]?.why ?? 'away', (error) => error.code);
  }

  bringBack(jobId) {
    if (!this.away.has(jobId)) return;
    const acts = this.away.get(jobId);
    this.away.delete(jobId);
    this.rebuilt(jobId, [], new Map(), acts);
    for (const map of [this.vectors, this.stamps, this.lost]) map.delete(jobId);
  }

  write({ job_id, record_id, fields, recorded_at, kind = 'remark' }) {
    if (this.away.has(job_id) || this.writesLeft <= 0) return null;
    const held = this.view(job_id).byWriter.get(this.writer)?.length ?? 0;
    if (held !== (this.numbers.get(job_id) ?? 0) && planted !== 'numbers_go_on_by_half') return null;
    this.room();
    const knew = this.view(job_id).entriesBeyond({}).map(({ writer, number }) => `${writer}:${number}`);
    const entry = super.write(job_id, kind, record_id, fields);
    entry.recorded_at = recorded_at;
    if (planted === 'newest_wins') for (const name of Object.keys(fields)) entry.seen[name] = everOf(entry, name);
    return { entry: structuredClone(entry), knew };
  }

  linked(faults) {
    const left = [...faults];
    return makeTransport({ fetch: (url, init) => fetch(base + url, { ...init, headers: { ...init.headers, 'X-Fault': left.shift() ?? 'none' } }) });
  }

  async sync({ faults, size }) {
    Object.assign(this.batch, { size, largest: size, smallest: 1 });
    const counts = { sent: 0, received: 0, setAside: 0, bytes: 0 };
    const instruments = { store: this, transport: this.linked(faults), batch: this.batch, counts, report: () => {} };
    return exchangeEntries(instruments).then((why) => why?.code ?? 'ok', (error) => error.code ?? String(error));
  }

  async changeWantedPhotos(changes) {
    const { sent } = await this.wanted();
    await super.changeWantedPhotos(changes);
    if (planted === 'wanted_not_proved' && changes.stamp) {
      const since = (await this.shelf.get('wanted_since')) ?? {};
      if (since.of) await this.shelf.put('wanted_since', { ...since, stamp: changes.stamp });
      else await this.shelf.put('wanted_stamp', changes.stamp);
    }
    if (planted === 'photos_sent_for_good') await this.notePhotosSent([...sent]);
  }

  async notePhotos(remarks) {
    if (planted !== 'remarks_not_heard') await super.notePhotos(remarks);
  }

  async setServerVector(jobId, have, stamp) {
    if (this.away.has(jobId)) return;
    const more = planted === 'sent_is_held' ? this.view(jobId).vector() : {};
    const before = [this.vectors.get(jobId) ?? {}, this.stamps.get(jobId)];
    try {
      this.room();
      this.lost.delete(jobId);
    } catch {
      if (!this.lost.has(jobId)) this.lost.set(jobId, before); // held as long as the app is open
    }
    await super.setServerVector(jobId, { ...have, ...more }, stamp);
  }
}

/** Every entry of any phone that ever set a field of this record: what a rule "the newest wins" replaces. */
function everOf({ job_id, record_id, writer, number }, name) {
  const all = [...phones.values()].flatMap((phone) => phone.view(job_id).entriesBeyond({}));
  const ids = all.filter((one) => one.record_id === record_id && name in one.fields).map((one) => `${one.writer}:${one.number}`);
  return [...new Set(ids)].filter((id) => id !== `${writer}:${number}`);
}

const stateOf = (phone) => Object.fromEntries([...phone.views].filter(([jobId]) => !phone.away.has(jobId)).map(([jobId, view]) => [jobId, {
  entries: view.entriesBeyond({}), aside: Object.fromEntries(view.aside),
  records: view.fold.records(), acts: Object.fromEntries(view.acts.map((act) => [act.id, act.state])),
  handed_over: view.handedOver(),
}]));

const commands = {
  new: () => { phones = new Map(); return null; },
  phone: ({ name, jobs }) => { const one = new MachinePhone(name); for (const job of jobs) one.view(job); phones.set(name, one); return null; },
  write: ({ name, ...change }) => phones.get(name).write(change),
  reopen: ({ name }) => { phones.get(name).reopen(); return null; },
  clone: ({ name, as }) => { phones.set(as, phones.get(name).clone(as)); return null; },
  async hand_over({ name, to }) {
    const full = (error) => { if (error.code !== 'storage_full') throw error; }; // whoever took the file is told
    for (const [jobId, { handed_over, aside }] of Object.entries(structuredClone(stateOf(phones.get(name))))) await phones.get(to).take(jobId, handed_over, aside).catch(full);
    return null;
  },
  sync: ({ name, ...how }) => phones.get(name).sync(how),
  put_away: ({ name, ...how }) => phones.get(name).letGo(how),
  bring_back: ({ name, job_id }) => { phones.get(name).bringBack(job_id); return null; },
  fill: ({ name, after }) => { phones.get(name).writesLeft = after ?? Infinity; return null; },
  remarks: async ({ name }) =>
    [...phones.get(name).notes.keys()].filter((key) => key.startsWith('photo_note:')).map((key) => key.slice(11)),
  wanted: async ({ name }) => [...(await phones.get(name).wantedPhotos())],
  photo_sent: async ({ name, sha256 }) => { await phones.get(name).notePhotosSent([sha256]); return null; },
  state: ({ name }) => stateOf(phones.get(name)),
};

for await (const line of createInterface({ input: process.stdin })) {
  const { do: what, ...rest } = JSON.parse(line);
  let answer;
  try {
    answer = { ok: (await commands[what](rest)) ?? null };
  } catch (error) {
    answer = { error: String(error?.stack ?? error) };
  }
  process.stdout.write(`${JSON.stringify(answer)}\n`);
}

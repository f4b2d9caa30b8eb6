// Phones for the convergence machine: the app's own exchange, fold and transport, with a store in memory, against a real
// server. One command a line in, one answer a line out. Used by tests/sync/convergence.py.
import { createInterface } from 'node:readline';
import { Erasures } from '../../static/js/sync/erasing.js';
import { exchangeEntries } from '../../static/js/sync/exchange.js';
import { makeTransport } from '../../static/js/sync/transport.js';
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
  reopen() {
    super.reopen();
    if (planted !== 'lasting_writer' || !this.kept) this.kept = `writer-${(opened += 1)}-${this.name}`.padEnd(9, '-');
    this.writer = this.kept;
  }

  clone(name) {
    const copy = super.clone(name);
    Object.setPrototypeOf(copy, MachinePhone.prototype);
    if (planted === 'lasting_writer') Object.assign(copy, { writer: this.writer, kept: this.kept, numbers: new Map(this.numbers) });
    else copy.reopen();
    return copy;
  }

  write({ job_id, record_id, fields, recorded_at }) {
    const knew = this.view(job_id).entriesBeyond({}).map(({ writer, number }) => `${writer}:${number}`);
    const entry = super.write(job_id, 'remark', record_id, fields);
    entry.recorded_at = recorded_at;
    if (planted === 'newest_wins') for (const name of Object.keys(fields)) entry.seen[name] = everOf(entry, name);
    return { entry: structuredClone(entry), knew };
  }

  async sync({ faults, size }) {
    const left = [...faults];
    const fetching = (url, init) => fetch(base + url, { ...init, headers: { ...init.headers, 'X-Fault': left.shift() ?? 'none' } });
    Object.assign(this.batch, { size, largest: size, smallest: 1 });
    const counts = { sent: 0, received: 0, setAside: 0, bytes: 0 };
    const instruments = { store: this, transport: makeTransport({ fetch: fetching }), batch: this.batch, counts, report: () => {} };
    return exchangeEntries(instruments).then((why) => why?.code ?? 'ok', (error) => error.code ?? String(error));
  }

  async setServerVector(jobId, have, stamp) {
    const more = planted === 'sent_is_held' ? this.view(jobId).vector() : {};
    await super.setServerVector(jobId, { ...have, ...more }, stamp);
  }
}

/** Every entry of any phone that ever set a field of this record: what a rule "the newest wins" replaces. */
function everOf({ job_id, record_id, writer, number }, name) {
  const all = [...phones.values()].flatMap((phone) => phone.view(job_id).entriesBeyond({}));
  const ids = all.filter((one) => one.record_id === record_id && name in one.fields).map((one) => `${one.writer}:${one.number}`);
  return [...new Set(ids)].filter((id) => id !== `${writer}:${number}`);
}

const stateOf = (phone) => Object.fromEntries([...phone.views].map(([jobId, view]) => [jobId, {
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
    for (const [jobId, { handed_over, aside }] of Object.entries(structuredClone(stateOf(phones.get(name))))) await phones.get(to).take(jobId, handed_over, aside);
    return null;
  },
  sync: ({ name, ...how }) => phones.get(name).sync(how),
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

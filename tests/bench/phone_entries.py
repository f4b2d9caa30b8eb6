"""What a phone that holds 200,000 entries costs its user, against one that holds few.

    python3 tests/bench/phone_entries.py [--quick]

Chromium with a profile on the disk, so that IndexedDB is real. Readings of many runs by many openings of the
app are put into it. Measured: a save against raw strict puts on the same disk, what the app does after it,
screens after a save, the list of jobs, a sync of one entry up and of one down; and the opening of the app.
Prints ratios; exits 1 where a save takes more than two raw strict puts and a frame, or anything that should
follow the change more than 1.5 times what it takes on a phone with few, a few milliseconds allowed.
"""

import argparse
import json
import statistics
import sys
import tempfile
from contextlib import ExitStack, suppress
from pathlib import Path

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import browser
import psutil
from playwright.sync_api import sync_playwright
from server_process import ServerProcess

FRAME_MS, SLOWER, ALLOWED_MS, TIMES = 16.0, 1.5, 4.0, 15
JOB = "019abcde-0000-7000-8000-000000000000"
FOLLOWS = (
    "after a save",
    "a screen after it",
    "readings of a run",
    "list of jobs",
    "one entry up",
    "one entry down",
)
FILL = """async ({job, count}) => {
  const { app, ready } = await import('/static/js/main.js');
  await ready;
  const uuid = (n) => `019abcde-0000-7000-8001-${String(n).padStart(12, '0')}`;
  const base = { job_id: job, device_id: 'test phone', recorded_at: '2026-11-30T00:00:00.000+00:00' };
  const put = (entries) => app.store.db.write(['entries'], (tx) => {
    for (const entry of entries) tx.objectStore('entries').put(entry);
  });
  const first = { writer: 'writer-of-job', number: 1, record_id: job, kind: 'job', fields: { title: 'T' } };
  await put([{ ...base, ...first }]);
  const inclination = { size: 0.6, unit: 'deg', sense: 'falling' };
  const [writers, runs] = [Math.max(1, count / 100), Math.max(1, count / 1000)];
  for (let at = 0; at < count; at += 10000) {
    const some = [];
    for (let n = at; n < Math.min(count, at + 10000); n += 1) {
      const writer = `writer-${String(n % writers).padStart(6, '0')}`;
      const more = { writer, number: Math.floor(n / writers) + 1, record_id: uuid(n) };
      const fields = { run_id: uuid(10 ** 9 + (n % runs)), counter_m: n % 1000, inclination };
      some.push({ ...base, ...more, kind: 'reading', fields });
    }
    await put(some);
  }
  await app.store.setServerVector(job, {});
}"""
OPEN = """async ({job}) => {
  const { openStore } = await import('/static/js/store/store.js');
  const began = performance.now();
  const store = await openStore({ newId: () => crypto.randomUUID(), now: () => new Date() });
  await store.jobs();
  const listed = performance.now();
  const { recordsOf } = await import('/static/js/screens/parts/figures_of.js');
  recordsOf(await store.job(job), '019abcde-0000-7000-8000-001000000000');
  return [listed - began, performance.now() - listed];
}"""
WORK = """async ({job, times}) => {
  const { app, ready } = await import('/static/js/main.js');
  await ready;
  const { store } = app;
  const { recordsOf } = await import('/static/js/screens/parts/figures_of.js');
  const asked = indexedDB.open(`raw-${crypto.randomUUID()}`, 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore('q', { keyPath: 'id' });
  const db = await new Promise((ok) => { asked.onsuccess = () => ok(asked.result); });
  const raw = (id) => new Promise((ok) => {
    const tx = db.transaction('q', 'readwrite', { durability: 'strict' });
    tx.objectStore('q').put({ id, text: 'x'.repeat(300) });
    tx.oncomplete = ok;
  });
  await app.sync.run({ by: 'button' });
  const settled = () => new Promise((ok) => setTimeout(ok, 300));
  const run_id = '019abcde-0000-7000-8001-001000000000';
  const fields = (n) => ({ run_id, counter_m: n, inclination: { size: 0.6, unit: 'deg', sense: 'falling' } });
  const found = {};
  const timed = async (name, work) => {
    const began = performance.now();
    await work();
    (found[name] ??= []).push(performance.now() - began);
  };
  for (let n = 0; n < times; n += 1) {
    await settled();
    await timed('a raw strict put', () => raw(n));
    await settled();
    await timed('a save', () => store.save(job, 'reading', null, fields(n)));
    await timed('after a save', () => app.sync.refresh());
    await timed('a screen after it', async () => {
      const view = await store.job(job);
      view.records('node'); view.records('check'); view.conflicts(); view.removed('reading');
    });
    await timed('readings of a run', async () => {
      const view = await store.job(job);
      recordsOf(view, run_id);
    });
    await timed('list of jobs', () => store.jobs());
    await settled();
    await timed('one entry up', () => app.sync.run({ by: 'button' }));
    const one = { job_id: job, writer: 'writer-elsewhere', number: n + 1, device_id: 'other', kind: 'remark',
      record_id: crypto.randomUUID(), fields: { text: 'x' }, recorded_at: '2026-11-30T00:00:00.000+00:00' };
    await fetch('/api/sync', { method: 'POST', headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify({ protocol: 1, device_id: 'other', jobs: {}, entries: [one] }) });
    await timed('one entry down', () => app.sync.run({ by: 'button' }));
  }
  return found;
}"""


def processor_s() -> float:
    """Return the seconds of a processor that all processes of the browser have used."""
    found = 0.0
    for process in psutil.Process().children(recursive=True):
        with suppress(psutil.Error):
            if "chrom" in process.name():
                times = process.cpu_times()
                found += times.user + times.system
    return found


def measure(count: int, stack: ExitStack, chromium: object) -> dict[str, float]:
    """Return the median milliseconds of each thing on a phone with so many entries, all on its server too."""
    folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
    server = ServerProcess(folder / "data", more=("--quiet",)).start()
    stack.callback(server.kill)
    context = chromium.launch_persistent_context(  # type: ignore[attr-defined]
        folder / "profile",
        executable_path=browser.find(),
        args=["--disable-dev-shm-usage"],
        service_workers="block",
    )
    stack.callback(context.close)
    context.set_default_timeout(900_000)
    page = context.new_page()
    page.goto(server.url)
    page.evaluate(FILL, {"job": JOB, "count": count})
    page.goto(server.url)
    page.evaluate("async () => { const { ready } = await import('/static/js/main.js'); await ready; }")
    found = page.evaluate(WORK, {"job": JOB, "times": TIMES})
    medians = {name: statistics.median(took[3:]) for name, took in found.items()}
    opened = []
    for _ in range(3):
        page.goto(f"{server.url}/healthz")
        before_s = processor_s()
        listed_ms, run_ms = page.evaluate(OPEN, {"job": JOB})
        opened.append((listed_ms, run_ms, (processor_s() - before_s) * 1000))
    names = ("opening", "a run after it", "processor for both")
    return medians | dict(zip(names, map(statistics.median, zip(*opened, strict=True)), strict=True))


def main() -> int:
    """Measure, print, and tell whether all limits held."""
    options = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    options.add_argument("--quick", action="store_true", help="20,000 entries.")
    count = 20_000 if options.parse_args().quick else 200_000
    with sync_playwright() as playwright, ExitStack() as stack:
        few = measure(200, stack, playwright.chromium)
        many = measure(count, stack, playwright.chromium)
    missed = many["a save"] > 2 * many["a raw strict put"] + FRAME_MS
    for name, ms in many.items():
        over = name in FOLLOWS and ms > SLOWER * few[name] + ALLOWED_MS
        missed |= over
        ratio, mark = ms / max(few[name], 0.1), " !" if over else ""
        print(f"{name:20} {few[name]:8.1f} ms {ms:9.1f} ms {ratio:7.2f} times{mark}")
    print(f"200 and {count:,} entries; in {ROOT.name}", json.dumps({"missed": missed}))
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

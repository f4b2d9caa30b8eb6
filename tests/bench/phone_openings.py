"""What the screens of a large job cost a phone when the app is opened on them: ratios to an earlier version.

    python3 tests/bench/phone_openings.py CHECKOUT [--entries 50000 200000] [--rounds 3] [--times 4]

CHECKOUT is a folder with the earlier version (``git worktree add FOLDER COMMIT``), which reads every entry.
Each version is served by its own server to Chromium with a profile on the disk; each phone holds the same
job, out of reach of its server, and this version has made its pages (D57). Measured is processor time of the
page (main thread, and whole process) from the address until the screen stands still, less what the app costs
on an empty phone; the least of the rounds. What is counted only once the screen stands is told beside it.
Exits 1 where a screen costs more than 1/4 of what it did.
"""

import argparse
import sys
from contextlib import ExitStack
from pathlib import Path

import bench_paths

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

from phone_before_after import HOLD, STILL, Cost, Version, less, spent
from playwright.sync_api import sync_playwright

JOB, RUN = "019abcde-0000-7000-8000-000000000000", "019abcde-0000-7000-8001-001000000002"
STANDS_MS, COUNTED_MS, LEAST_S = 700, 6000, 0.02
SCREENS = {
    "list of jobs": "/",
    "nodes": f"/jobs/{JOB}/nodes",
    "job": f"/jobs/{JOB}",
    "log of a run": f"/jobs/{JOB}/runs/{RUN}",
}
FILL = """async ({job, count}) => {
  const { app } = await import('/static/js/main.js');
  const uuid = (n) => `019abcde-0000-7000-8001-${String(n).padStart(12, '0')}`;
  const base = { job_id: job, device_id: 'test phone', recorded_at: '2026-11-30T00:00:00.000+00:00' };
  const put = (entries) => app.store.db.write(['entries'], (tx) => {
    for (const entry of entries) tx.objectStore('entries').put(entry);
  });
  const heads = {};
  let some = [];
  const add = async (writer, kind, record_id, fields) => {
    heads[writer] = (heads[writer] ?? 0) + 1;
    some.push({ ...base, writer, number: heads[writer], kind, record_id, fields });
    if (some.length >= 10000) await put(some.splice(0));
  };
  await add('writer-of-job', 'job', job, { title: 'T' });
  const runs = Math.max(1, Math.round(count / 1000));
  for (let r = 0; r < runs; r += 1) {
    const [start, finish, run] = [0, 1, 2].map((n) => uuid(10 ** 9 + 3 * r + n));
    await add('writer-of-job', 'node', start, { node_ref: `A${r}` });
    await add('writer-of-job', 'node', finish, { node_ref: `B${r}` });
    await add('writer-of-job', 'run', run,
      { run_ref: `A${r}-B${r}`, start_node_id: start, finish_node_id: finish, direction: 'with_flow' });
  }
  for (let n = 0; n < count; n += 1) {
    const writer = `writer-${String(Math.floor(n / 100)).padStart(6, '0')}`;
    const run_id = uuid(10 ** 9 + 3 * (Math.floor(n / 1000) % runs) + 2);
    const inclination = { size: 0.6 + (n % 7) / 10, unit: 'deg', sense: 'falling' };
    const remark = 'seen from the outfall, dry weather';
    const fields = { run_id, counter_m: (n % 1000) / 10, inclination, remark };
    await add(writer, 'reading', uuid(n), fields);
  }
  if (some.length) await put(some);
  await app.store.setServerVector(job, heads);
}"""
KEEP = """async ({job}) => {
  const { app, ready, module } = await import('/static/js/main.js');
  await ready;
  let PageKeeper;
  try { ({ PageKeeper } = module('store/page_keeper.js')); } catch { return false; }
  return new PageKeeper(app.store).keep(await app.store.job(job));
}"""


class Phone(Version):
    """A phone of one version with the job on it."""

    def fill(self, count: int) -> bool:
        """Put the job on it, out of reach of its server; tell whether it is kept by pages."""
        page, _ = self.phone()
        page.evaluate(HOLD)
        page.evaluate(FILL, {"job": JOB, "count": count})
        page.close()
        page, _ = self.phone("/", empty=False)
        kept = page.evaluate(KEEP, {"job": JOB})
        page.close()
        return kept

    def opened(self, path: str, still_ms: int) -> Cost:
        """The cost of the app opened on a screen until nothing has changed on it for a while."""
        page, session = self.phone(path, empty=False)
        page.evaluate(STILL, still_ms)
        cost = spent(session)
        page.close()
        return cost


def measure(phones: list[Phone], rounds: int, count: int) -> dict[str, list[Cost]]:
    """Return the least cost of each screen on each phone."""
    for phone in phones:
        phone.context.route("**/api/**", lambda route: route.abort())  # no exchange beside the opening
        phone.phone()[0].close()  # empties it
    empty = [least([phone.opened("/", STANDS_MS) for _ in range(rounds)]) for phone in phones]
    kept = [phone.fill(count) for phone in phones]
    assert kept == [False, True], kept
    found = {}
    for name, path in SCREENS.items():
        for waits, still_ms in ((name, STANDS_MS), (f"{name}, all counted", COUNTED_MS)):
            if still_ms == STANDS_MS or name == "job":
                costs = [[phone.opened(path, still_ms) for phone in phones] for _ in range(rounds + 1)][1:]
                found[waits] = [
                    less(least([one[at] for one in costs]), empty[at]) for at in range(len(phones))
                ]
    return found


def least(costs: list[Cost]) -> Cost:
    return min(cost[0] for cost in costs), min(cost[1] for cost in costs)


def main() -> int:
    """Print the costs and their ratios; 1 if one is too high."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("checkout", type=Path)
    parser.add_argument("--entries", type=int, nargs="+", default=[50_000, 200_000])
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--times", type=float, default=4.0)
    args = parser.parse_args()
    missed = 0
    for count in args.entries:
        with ExitStack() as stack:
            chromium = stack.enter_context(sync_playwright()).chromium
            roots = (args.checkout.resolve(), bench_paths.ROOT)
            found = measure([Phone(stack, chromium, root) for root in roots], args.rounds, count)
        for name, (before, after) in found.items():
            for at, what in enumerate(("main thread", "process")):
                times = before[at] / max(after[at], LEAST_S)
                bad = times < args.times and "counted" not in name
                missed += bad
                mark = " MISSED" if bad else ""
                costs = f"{before[at]:.2f} s before, {after[at]:.2f} s now, {times:.1f} times less{mark}"
                print(f"{count:,} entries, {name}, {what}: {costs}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

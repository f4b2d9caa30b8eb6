"""What the phone costs its processor, against an earlier version: ratios within one run, 1 above the limit.

    python3 tests/bench/phone_before_after.py CHECKOUT [--rounds 5] [--limit 1.1] [--only WORDS]

CHECKOUT is a folder with the earlier version (``git worktree add FOLDER COMMIT``).  Each version is served
by its own server to Chromium with a profile on the disk.  They take turns.  What counts is processor time of
the page, which other work on the machine hardly touches: of its main thread, and of its whole process, where
compiling and collecting garbage count too.  The least of the rounds is compared.

- a save: an entry, again and again, with the list of jobs on the screen
- a save in the log: the same where the log of a run is on the screen
- push: 10,000 entries from the queue until they are acknowledged and out of it
- pull: the same entries by a second phone
- open: the page of a job of 2,000 entries, from the address until its screen stands still
"""

import argparse
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

import bench_paths  # noqa: F401

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import browser
from bench_paths import ROOT
from playwright.sync_api import CDPSession, Page, sync_playwright
from server_process import ServerProcess

Cost = tuple[float, float]  # processor seconds of the main thread, and of the whole process
PUSHED, OPENED, SAVES, PHONES = 10_000, 2_000, 150, 3
STILL_MS = 700
# No sync by itself until it is asked for: as if another tab were at it.
HOLD = """async () => {
  const { ready } = await import('/static/js/main.js');
  await ready;
  await new Promise((held) => navigator.locks.request('fallbook-sync', () => new Promise((letGo) => {
    window.letGo = letGo;
    held();
  })));
}"""
FILL = """async (count) => {
  const { app } = await import('/static/js/main.js');
  const jobId = app.newId();
  const [runId, node] = [app.newId(), app.newId()];
  await app.store.addEntries(jobId, [
    { kind: 'job', record_id: jobId, fields: { title: 'x' } },
    { kind: 'node', record_id: node, fields: { node_ref: 'A' } },
    { kind: 'run', record_id: runId,
      fields: { run_ref: 'A-B', start_node_id: node, direction: 'with_flow' } },
  ]);
  const inclination = { size: 80, unit: 'one_in', sense: 'falling', typed: '1:80' };
  const reading = (n) => ({ kind: 'reading', record_id: app.newId(), fields: {
    run_id: runId, counter_m: n / 10, inclination, remark: 'seen from the outfall, dry weather' } });
  for (let at = 3; at < count; at += 5000) {
    const length = Math.min(5000, count - at);
    await app.store.addEntries(jobId, Array.from({ length }, (_, n) => reading(at + n)));
  }
  return { jobId, runId };
}"""
SAVE = """async ({jobId, runId, times}) => {
  const { app } = await import('/static/js/main.js');
  const inclination = { size: 1.5, unit: 'deg', sense: 'falling' };
  for (let n = 0; n < times; n += 1) {
    const fields = { run_id: runId, inclination, counter_m: n, remark: 'x'.repeat(60) };
    await app.store.save(jobId, 'reading', null, fields);
    await new Promise((ok) => setTimeout(ok, 30));
  }
}"""
PUSH = """async () => {
  const { app } = await import('/static/js/main.js');
  window.letGo();
  await navigator.locks.request('fallbook-sync', () => {});
  while (app.sync.busy) await new Promise((ok) => setTimeout(ok, 20));
  const found = await app.sync.run({ by: 'button' });
  const left = (await app.store.outbox()).counts;
  if (found.state !== 'sent' || left.entries) throw new Error(JSON.stringify([found, left]));
}"""
PULL = """async ({jobId, count}) => {
  const { app } = await import('/static/js/main.js');
  window.letGo();
  await navigator.locks.request('fallbook-sync', () => {});
  while (app.sync.busy) await new Promise((ok) => setTimeout(ok, 20));
  const found = await app.sync.takeJob(jobId);
  const { byWriter } = await app.store.job(jobId);
  const here = [...byWriter.values()].reduce((sum, one) => sum + one.length, 0);
  if (here !== count) throw new Error(JSON.stringify([found, here]));
}"""
STILL = """async (ms) => {
  const { ready } = await import('/static/js/main.js');
  await ready;
  while (!document.documentElement.dataset.screen) await new Promise((ok) => setTimeout(ok, 10));
  let last = performance.now();
  new MutationObserver(() => { last = performance.now(); })
    .observe(document, { subtree: true, childList: true, attributes: true, characterData: true });
  while (performance.now() - last < ms) await new Promise((ok) => setTimeout(ok, 50));
}"""


class Version:
    """A server of one version, and a browser that is its phone."""

    def __init__(self, stack: ExitStack, chromium, root: Path):
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        self.server = ServerProcess(folder / "data", root=root, more=("--quiet",)).start()
        stack.callback(self.server.kill)
        self.context = chromium.launch_persistent_context(
            folder / "profile",
            executable_path=browser.find(),
            args=["--disable-dev-shm-usage"],
            viewport={"width": 390, "height": 844},
            service_workers="block",
            bypass_csp=True,
        )
        stack.callback(self.context.close)
        self.context.set_default_timeout(300_000)

    def phone(self, path: str = "/", *, empty: bool = True) -> tuple[Page, CDPSession]:
        """A new page; with an empty phone, if it is to be."""
        page = self.context.new_page()
        session = self.context.new_cdp_session(page)
        session.send("Performance.enable", {"timeDomain": "threadTicks"})
        if empty:
            origin = {"origin": self.server.url, "storageTypes": "all"}
            session.send("Storage.clearDataForOrigin", origin)
        page.goto(self.server.url + path)
        return page, session

    def cost(self, page: Page, session: CDPSession, script: str, argument: object = None) -> Cost:
        """Run a script of the page and return what it costs."""
        began = spent(session)
        page.evaluate(script, argument)
        return less(spent(session), began)

    def filled(self, page: Page, count: int) -> dict[str, str]:
        """Put so many entries on the phone; nothing is sent by itself."""
        page.evaluate(HOLD)
        return page.evaluate(FILL, count)

    def saves(self) -> Cost:
        """An entry with the list of jobs on the screen."""
        page, session = self.phone()
        about = {**self.filled(page, 3), "times": SAVES}
        page.evaluate(SAVE, {**about, "times": 20})
        found = self.cost(page, session, SAVE, about)
        page.close()
        return found

    def saves_in_log(self) -> Cost:
        """An entry with a log on the screen that it is added to."""
        page, session = self.phone()
        about = {**self.filled(page, 30), "times": SAVES}
        page.goto(f"{self.server.url}/jobs/{about['jobId']}/runs/{about['runId']}")
        page.evaluate(HOLD)
        page.evaluate(STILL, STILL_MS)
        page.evaluate(SAVE, {**about, "times": 20})
        found = self.cost(page, session, SAVE, about)
        page.close()
        return found

    def push_and_pull(self) -> tuple[Cost, Cost]:
        """The entries to the server, and to a second phone."""
        page, session = self.phone()
        about = self.filled(page, PUSHED)
        page.evaluate(STILL, STILL_MS)
        pushed = self.cost(page, session, PUSH)
        page.close()
        page, session = self.phone()
        page.evaluate(HOLD)
        page.evaluate(STILL, STILL_MS)
        pulled = self.cost(page, session, PULL, {"jobId": about["jobId"], "count": PUSHED})
        page.close()
        return pushed, pulled

    def opens(self) -> Cost:
        """The page of a job in a new tab until it stands still, less what an empty page costs."""
        page, _ = self.phone()
        about = self.filled(page, OPENED)
        page.evaluate(STILL, STILL_MS)
        page.close()
        page, session = self.phone("/healthz", empty=False)
        page.wait_for_timeout(STILL_MS)
        empty = spent(session)
        page.close()
        page, session = self.phone(f"/jobs/{about['jobId']}", empty=False)
        page.evaluate(STILL, STILL_MS)
        found = less(spent(session), empty)
        page.close()
        return found


def less(cost: Cost, other: Cost) -> Cost:
    return cost[0] - other[0], cost[1] - other[1]


def together(costs: list[Cost]) -> Cost:
    return sum(cost[0] for cost in costs), sum(cost[1] for cost in costs)


def spent(session: CDPSession) -> Cost:
    """Return the processor seconds of the page so far: its main thread's tasks, and its whole process."""
    metrics = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
    return metrics["TaskDuration"], metrics["ProcessTime"]


def measure(versions: list[Version], rounds: int, only: str) -> dict[str, list[list[Cost]]]:
    """Return what each work cost: by work, version and round.  A first round, which warms up, is left out."""
    found: dict[str, list[list[Cost]]] = {}
    for turn in range(rounds + 1):
        for place, version in enumerate(versions):
            for name, cost in costs_of(version, only).items():
                lists = found.setdefault(name, [[] for _ in versions])
                if turn:
                    lists[place].append(cost)
    return found


def costs_of(version: Version, only: str) -> dict[str, Cost]:
    """Return what each work costs once; of what is over soon, several times together."""
    costs = {}
    if only in "a save":
        costs["a save"] = version.saves()
    if only in "a save in the log":
        costs["a save in the log"] = version.saves_in_log()
    if only in "push pull":
        pairs = [version.push_and_pull() for _ in range(PHONES)]
        costs["push"] = together([pushed for pushed, _ in pairs])
        costs["pull"] = together([pulled for _, pulled in pairs])
    if only in "open":
        costs["open"] = together([version.opens() for _ in range(PHONES)])
    return costs


def main() -> int:
    """Print the least of each and their ratios; 1 if one is above the limit."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("checkout", type=Path)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--limit", type=float, default=1.1)
    parser.add_argument("--only", default="", help="a word of the name of what to measure")
    args = parser.parse_args()
    with ExitStack() as stack:
        chromium = stack.enter_context(sync_playwright()).chromium
        versions = [Version(stack, chromium, root) for root in (args.checkout.resolve(), ROOT)]
        found = measure(versions, args.rounds, args.only)
    missed = 0
    for name, (before, after) in found.items():
        for which, what in enumerate(("main thread", "process")):
            least = [min(cost[which] for cost in costs) for costs in (before, after)]
            ratio = least[1] / least[0]
            met = ratio <= args.limit
            missed += not met
            per = 1000 / (SAVES if "save" in name else PHONES)
            print(
                f"{name}, {what}: {least[0] * per:.2f} ms before, {least[1] * per:.2f} ms now, "
                f"ratio {ratio:.2f} (at most {args.limit:g}{'' if met else ': MISSED'})"
            )
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

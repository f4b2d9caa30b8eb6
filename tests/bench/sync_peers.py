"""The sync against what others would build: ratios within one run, 1 where a goal is missed.

10,000 entries from the browser's queue until they are acknowledged and out of it:

- PouchDB (indexeddb adapter, batches of 1,000) replicating to express-pouchdb on LevelDB;
- Dexie with hand-written batches of 2,000 to Flask and SQLite with synchronous FULL;
- the floors: getAll of 10,000 records + one bare POST of the same JSON + executemany with synchronous FULL.

Then the cost of an entry at 1,000 and at 50,000, a sync of nothing, 20 photos of 200 kB, and a single save.
The peers are fetched by npm into .bench/ when this runs.

    python3 tests/bench/sync_peers.py [--rounds 3]
"""

import argparse
import statistics
import subprocess
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import browser
from peer_pages import BARE, DEXIE, FLOOR_READ, MAKE, POUCH, POUCH_PHOTOS, PeerServer
from playwright.sync_api import sync_playwright
from server_process import ServerProcess
from twin import node

MODULES = ROOT / ".bench" / "node_modules"
PEERS = Path(__file__).resolve().parent / "peers"
COUNT = 10_000
PHOTOS, PHOTO_BYTES = 20, 200_000
# goal, and whether more or less of it is better
GOALS = {
    "PouchDB / ours, 10,000 entries": (5.0, "at least"),
    "Dexie / ours, 10,000 entries": (2.5, "at least"),
    "ours / the floors": (2.5, "at most"),
    "an entry at 50,000 / at 1,000": (1.0, "at most"),
    "PouchDB / ours, 20 photos of 200 kB": (1.5, "at least"),
    "a save / a raw strict put": (1.5, "at most"),
    "requests of a sync of nothing": (1, "at most"),
    "bytes of a sync of nothing / 1 kB": (1.0, "at most"),
}

OURS = """async ({count, make}) => {
  const { app, ready } = await import('/static/js/main.js');
  await ready;
  // No run by itself until it is measured: as if another tab were at it.
  await new Promise((held) => navigator.locks.request('fallbook-sync', () => new Promise((letGo) => {
    window.letGo = letGo;
    held();
  })));
  const jobId = app.newId();
  const docs = (0, eval)(make)(count - 1); // and the job itself
  const job = { kind: 'job', record_id: jobId, fields: { title: 'x' } };
  await app.store.addEntries(jobId, [job]);
  const change = ({ counter_m, inclination, remark }) => (
    { kind: 'reading', record_id: app.newId(), fields: { run_id: jobId, counter_m, inclination, remark } });
  for (let at = 0; at < count; at += 5000)
    await app.store.addEntries(jobId, docs.slice(at, at + 5000).map(change));
  window.jobId = jobId;
}"""
RUN = """async () => {
  const { app } = await import('/static/js/main.js');
  window.letGo();
  while (app.sync.busy) await new Promise((ok) => setTimeout(ok, 20));
  await new Promise((ok) => setTimeout(ok, 500)); // what the screen does after a save is over
  const began = performance.now();
  const found = await app.sync.run({ by: 'button' });
  const took = performance.now() - began;
  const left = (await app.store.outbox()).counts;
  if (found.state !== 'sent' || left.entries || left.photos) throw new Error(JSON.stringify([found, left]));
  return took / 1000;
}"""
TAKE_PHOTOS = """async ({photos, size}) => {
  const { app } = await import('/static/js/main.js');
  for (let n = 0; n < photos; n += 1) {
    const bytes = new Uint8Array(size);
    for (let at = 0; at < size; at += 50000) crypto.getRandomValues(bytes.subarray(at, at + 50000));
    await app.store.addPhoto(window.jobId, { bytes: bytes.buffer, media_type: 'image/jpeg' });
  }
}"""
# One of ours, one raw strict put, and so on; a pause before each, as between two taps.
SAVES = """async ({times, make}) => {
  const { app } = await import('/static/js/main.js');
  const open = indexedDB.open(`r${crypto.randomUUID()}`, 1);
  open.onupgradeneeded = () => open.result.createObjectStore('q', { keyPath: 'id' });
  const db = await new Promise((ok) => { open.onsuccess = () => ok(open.result); });
  const raw = () => new Promise((ok) => {
    const one = db.transaction('q', 'readwrite', { durability: 'strict' });
    one.objectStore('q').put((0, eval)(make)(1)[0]);
    one.oncomplete = ok;
  });
  const { inclination } = (0, eval)(make)(1)[0];
  const own = (n) => app.store.save(window.jobId, 'reading', null,
    { run_id: window.jobId, inclination, counter_m: n, remark: 'x'.repeat(60) });
  const took = { raw: [], own: [] };
  for (let n = 0; n < times; n += 1) {
    for (const [name, work] of [['raw', raw], ['own', own]]) {
      await new Promise((ok) => setTimeout(ok, 300));
      const began = performance.now();
      await work(n);
      took[name].push(performance.now() - began);
    }
  }
  return took;
}"""


class Bench:
    """Servers and a browser with a profile on the disk; every measurement begins with nothing stored.

    Without a profile Chromium keeps IndexedDB in memory, where a strict write costs nothing.
    """

    def __init__(self, stack: ExitStack, chromium):
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        self.context = chromium.launch_persistent_context(
            folder / "profile",
            executable_path=browser.find(),
            args=["--disable-dev-shm-usage"],
            service_workers="block",
            bypass_csp=True,
        )
        stack.callback(self.context.close)
        self.context.set_default_timeout(300_000)
        self.ours = ServerProcess(folder / "data", more=("--quiet",)).start()
        stack.callback(self.ours.kill)
        self.peer = PeerServer(folder / "peer.sqlite", MODULES / "dexie" / "dist")
        stack.callback(self.peer.close)
        pouch = subprocess.Popen(
            [node(), str(PEERS / "pouch_server.cjs"), str(MODULES)],
            stdin=subprocess.PIPE,  # it ends when this closes, however we end
            stdout=subprocess.PIPE,
            text=True,
        )
        stack.callback(pouch.kill)
        self.pouch_url = f"http://127.0.0.1:{int(pouch.stdout.readline())}"

    def page(self, url):
        page = self.context.new_page()
        origin = {"origin": url.removesuffix("/page"), "storageTypes": "all"}
        self.context.new_cdp_session(page).send("Storage.clearDataForOrigin", origin)
        page.goto(url)
        return page

    def filled(self, count):
        """A phone with ``count`` entries that have not been sent."""
        page = self.page(self.ours.url)
        page.evaluate(OURS, {"count": count, "make": MAKE})
        return page

    def entries(self, count):
        page = self.filled(count)
        took = page.evaluate(RUN)
        page.close()
        return took

    def at_peer(self, url, script, **about):
        page = self.page(url)
        took = page.evaluate(script, {"make": MAKE, **about})
        page.close()
        return took

    def floors(self):
        read = self.at_peer(f"{self.peer.url}/page", FLOOR_READ, count=COUNT)
        bare = self.at_peer(f"{self.peer.url}/page", BARE, count=COUNT)
        return read + bare + self.peer.executemany_s(COUNT)

    def photos(self):
        page = self.filled(1)
        page.evaluate(TAKE_PHOTOS, {"photos": PHOTOS, "size": PHOTO_BYTES})
        took = page.evaluate(RUN)
        page.close()
        return took

    def saves(self):
        page = self.filled(1)
        took = page.evaluate(SAVES, {"times": 60, "make": MAKE})
        page.close()
        return statistics.median(took["own"][10:]) / statistics.median(took["raw"][10:])

    def nothing(self):
        """Return how many requests a sync of nothing takes, and their bytes."""
        page = self.filled(1000)
        page.evaluate(RUN)
        seen = []
        page.on("request", lambda request: seen.append(request.sizes()))
        page.evaluate(RUN)
        page.wait_for_timeout(500)
        page.close()
        return len(seen), sum(one["requestBodySize"] + one["responseBodySize"] for one in seen)


def fetch_peers():
    """Put the peers into .bench/, once."""
    if (MODULES / "pouchdb").is_dir():
        return
    MODULES.parent.mkdir(exist_ok=True)
    (MODULES.parent / "package.json").write_text((PEERS / "package.json").read_text())
    npm = Path(node()).with_name("npm")
    command = [str(npm), "install", "--no-audit", "--no-fund", "--loglevel=error"]
    subprocess.run(command, cwd=MODULES.parent, check=True)


def seconds_of(bench: Bench, rounds: int) -> dict[str, list[float]]:
    """Return what each takes in each round.  They take turns: a machine's speed changes with the minute."""
    pouch, peer = f"{bench.pouch_url}/page", f"{bench.peer.url}/page"
    turns = {
        "ours": lambda: bench.entries(COUNT),
        "PouchDB": lambda: bench.at_peer(pouch, POUCH, count=COUNT),
        "Dexie": lambda: bench.at_peer(peer, DEXIE, count=COUNT),
        "the floors": bench.floors,
        "ours, 1,000": lambda: bench.entries(1000),
        "ours, 50,000": lambda: bench.entries(50_000),
        "our photos": bench.photos,
        "PouchDB's photos": lambda: bench.at_peer(pouch, POUCH_PHOTOS, photos=PHOTOS, size=PHOTO_BYTES),
    }
    for turn in ("ours", "our photos"):
        turns[turn]()  # everything warm
    found: dict[str, list[float]] = {name: [] for name in turns}
    for _ in range(rounds):
        for name, turn in turns.items():
            found[name].append(turn())
    return found


def measure(bench: Bench, rounds: int) -> dict[str, float]:
    """Return every ratio of GOALS, the median over the rounds; the seconds behind them are printed."""
    seconds = seconds_of(bench, rounds)
    for name, took in seconds.items():
        print(
            f"  {name}: {statistics.median(took):.3f} s ({', '.join(f'{one:.3f}' for one in took)})",
            flush=True,
        )

    def ratio(above: str, below: str) -> float:
        return statistics.median(a / b for a, b in zip(seconds[above], seconds[below], strict=True))

    requests, size_bytes = bench.nothing()
    found = (
        ratio("PouchDB", "ours"),
        ratio("Dexie", "ours"),
        ratio("ours", "the floors"),
        ratio("ours, 50,000", "ours, 1,000") / 50,
        ratio("PouchDB's photos", "our photos"),
        bench.saves(),
        requests,
        size_bytes / 1000,
    )
    return dict(zip(GOALS, found, strict=True))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--rounds", type=int, default=3)
    rounds = parser.parse_args().rounds
    fetch_peers()
    missed = 0
    with ExitStack() as stack:
        playwright = stack.enter_context(sync_playwright())
        for name, found in measure(Bench(stack, playwright.chromium), rounds).items():
            goal, sense = GOALS[name]
            met = found >= goal if sense == "at least" else found <= goal * 1.0001
            missed += not met
            print(f"{name}: {found:.2f} ({sense} {goal:g}{'' if met else ': MISSED'})")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

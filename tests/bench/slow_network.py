"""The first visit on a bad link, and the cold start with none: every goal in one run, 1 where one is missed.

    python3 tests/bench/slow_network.py [--only visit|cut|cold|lighthouse] [--rounds 3]

- visit: 400 ms and 400 kbit/s, shared by page and worker, each new connection with the round trip that
  TCP takes. Seconds until the first screen answers a tap, and until the app is ready for no signal; requests.
  Bytes: everything that the server sent until the first screen answers a tap, heads included, is held against
  the goal; how many it is until the app is ready, with its second part and the worker, is only told.
- cut: the same with the network away for one second, early (the page is loading) and late (the worker is).
- cold: the browser started anew with the server dead, against an empty page kept by a worker of its own.
- lighthouse: the marks of a phone on a first visit; fetched by npm into .bench/ when it runs.
"""

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import browser
from cold_pages import EmptyPage, lighthouse, painted_ms
from phone import VIEWPORT
from playwright.sync_api import Error, Page, sync_playwright
from relay import Relay
from server_process import ServerProcess

ROUND_TRIP_S, BYTES_PER_S = 0.4, 50_000
WITHIN_S = 60.0
CUT_S = 1.0
EARLY, LATE = 0.35, 0.85  # where the network goes, as a share of all bytes
GOALS = {
    "seconds until usable": 7.0,
    "seconds until ready for no signal": 12.0,
    "kB until usable": 250.0,
    "requests of the whole app": 15.0,
    "early cut: seconds until usable": 7.0 + CUT_S + 4.0,
    "early cut: seconds until ready": 12.0 + CUT_S + 8.0,
    "late cut: seconds until ready": 12.0 + CUT_S + 8.0,
    "late cut: bytes / without a cut": 1.7,
    "cold start offline / an empty cached page": 3.0,
    "Lighthouse performance": 95.0,
    "Lighthouse accessibility": 100.0,
    "Lighthouse best-practices": 100.0,
}
AT_LEAST = "Lighthouse"
WARM_STARTS = 2  # the browser's own caches of a profile fill meanwhile
SHOWN = "() => document.documentElement.dataset.screen === 'shown'"
READY = "() => globalThis.fallbook?.app.kept?.state.phase === 'ready'"


class Clock:
    """Seconds since it was made."""

    def __init__(self) -> None:
        self._began = time.monotonic()

    def s(self) -> float:
        """Return them."""
        return time.monotonic() - self._began


def until(page: Page, what: str, clock: Clock) -> float:
    """Return at which second it became so; infinite where it never did."""
    while clock.s() < WITHIN_S:
        try:
            if page.evaluate(what):
                return clock.s()
        except Error:  # one page follows another
            pass
        time.sleep(0.05)
    return float("inf")


class Bench:
    """Chromium and a server of the app."""

    def __init__(self, playwright: Any, folder: Path, server: ServerProcess):
        self.playwright, self.folder, self.server = playwright, folder, server
        self.count = 0

    @contextmanager
    def browser(self, profile: str) -> Iterator[Page]:
        """A browser started anew; it ends with the block."""
        context = self.playwright.chromium.launch_persistent_context(
            str(self.folder / profile),
            executable_path=browser.find(),
            viewport=VIEWPORT,
            has_touch=True,
            args=["--disable-dev-shm-usage"],
        )
        try:
            yield context.pages[0]
        finally:
            context.close()

    def fresh(self) -> str:
        """Return the name of a profile that holds nothing yet."""
        self.count += 1
        return f"profile{self.count}"

    def visit(self, disturb: Callable[[Relay], None] | None = None) -> dict[str, float]:
        """Visit the app for the first time over the bad link."""
        with Relay(self.server.port) as relay, self.browser(self.fresh()) as page:
            relay.slow(ROUND_TRIP_S / 2, BYTES_PER_S, ROUND_TRIP_S)
            clock = Clock()
            page.goto(relay.url, wait_until="commit", timeout=60_000)
            if disturb:
                disturb(relay)
            until(page, SHOWN, clock)
            page.get_by_role("link", name="New job").or_(page.get_by_role("button", name="New job")).tap()
            page.get_by_label("Job title").wait_for()
            usable, usable_bytes = clock.s(), relay.down
            ready = until(page, READY, clock)
            found = {"usable": usable, "ready": ready, "requests": relay.count()}
            found |= {"usable bytes": usable_bytes, "bytes": relay.down}
            found["shown offline"] = self._opens_offline(relay, page)
            for line in relay.by_path().items():
                print("   ", *line)
            return found

    @staticmethod
    def _opens_offline(relay: Relay, page: Page) -> float:
        relay.refuse()
        page.goto(f"{relay.url}/settings", wait_until="commit")
        return until(page, SHOWN, Clock())

    def cut(self, share: float, total_bytes: float) -> dict[str, float]:
        """The same with the network away for a second once a share of all bytes has come."""

        def away(relay: Relay) -> None:
            while relay.down < share * total_bytes:
                time.sleep(0.01)
            relay.refuse()
            time.sleep(CUT_S)
            relay.restore()

        return self.visit(away)

    def cold(self, rounds: int) -> float:
        """Return how many times as long as an empty page our first screen takes, all offline."""
        empty = EmptyPage()
        urls = {"ours": self.server.url, "empty": empty.url}
        profile = self.fresh()
        took: dict[str, list[float]] = {name: [] for name in urls}
        with self.browser(profile) as page:
            page.goto(self.server.url)
            if until(page, READY, Clock()) == float("inf"):
                raise RuntimeError("the app does not become ready for no signal")
            page.goto(empty.url)
            until(page, "() => Boolean(navigator.serviceWorker.controller)", Clock())
        self.server.kill()
        empty.close()
        for turn in range(WARM_STARTS + rounds):
            for name, url in urls.items():
                ms = painted_ms(self.playwright, self.folder / profile, f"{url}/")
                if turn >= WARM_STARTS:
                    took[name].append(ms)
        self.server.start()
        for name, all_ms in took.items():
            print(f"    {name}: {', '.join(f'{ms:.0f}' for ms in all_ms)} ms")
        return statistics.median(took["ours"]) / statistics.median(took["empty"])


def measure(bench: Bench, only: str | None, rounds: int) -> dict[str, float]:
    """Return what was measured, by the names of the goals."""
    found: dict[str, float] = {}
    if only in (None, "visit", "cut"):
        one = bench.visit()
        found["seconds until usable"], found["seconds until ready for no signal"] = (
            one["usable"],
            one["ready"],
        )
        found["kB until usable"] = one["usable bytes"] / 1e3
        print(f"    {one['bytes'] / 1e3:.1f} kB until ready for no signal")
        found["requests of the whole app"] = one["requests"]
        print(f"    opened with no network after {one['shown offline']:.2f} s")
    if only in (None, "cut"):
        early, late = bench.cut(EARLY, one["bytes"]), bench.cut(LATE, one["bytes"])
        found["early cut: seconds until usable"] = early["usable"]
        found["early cut: seconds until ready"] = early["ready"]
        found["late cut: seconds until ready"] = late["ready"]
        found["late cut: bytes / without a cut"] = late["bytes"] / one["bytes"]
    if only in (None, "cold"):
        found["cold start offline / an empty cached page"] = bench.cold(max(rounds, 7))
    if only in (None, "lighthouse"):
        marks = [lighthouse(bench.server.url, bench.folder / f"{n}.json") for n in range(rounds)]
        for name in marks[0]:
            found[f"Lighthouse {name}"] = statistics.median(mark[name] for mark in marks)
    return found


def main() -> int:
    """Print what was measured against each goal."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--only", choices=("visit", "cut", "cold", "lighthouse"))
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--root", type=Path, default=ROOT, help="the checkout whose app is served")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name, sync_playwright() as playwright:
        folder = Path(name)
        server = ServerProcess(folder / "data", args.root.resolve(), more=("--quiet",)).start()
        try:
            found = measure(Bench(playwright, folder, server), args.only, args.rounds)
        finally:
            server.kill()
    missed = 0
    for goal, value in found.items():
        limit = GOALS[goal]
        is_met = value >= limit if goal.startswith(AT_LEAST) else value <= limit
        missed += not is_met
        word = "at least" if goal.startswith(AT_LEAST) else "at most"
        print(f"{goal}: {value:.2f}, goal {word} {limit:g}: {'met' if is_met else 'MISSED'}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

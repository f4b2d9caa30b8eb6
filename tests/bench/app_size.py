"""What it costs to get the app onto a phone, and how soon it opens from there.

    python3 tests/bench/app_size.py              # all of it, on a quiet machine
    python3 tests/bench/app_size.py --skip-starts

A fresh Chromium profile loads the app through a relay that counts what passes: until the app is ready for no
signal, then over a link with 400 ms to and fro and 400 kbit/s. Then the server is dead and the browser is
started again and again; each start is compared with that of an empty page which a service worker keeps.
Exit 1: a goal is missed.
"""

import argparse
import http.server
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import environment  # noqa: E402

environment.enter()  # a bare python3 goes on in the tests' own environment

from browser import find  # noqa: E402
from phone import Phone  # noqa: E402
from playwright.sync_api import sync_playwright  # noqa: E402
from relay import Relay  # noqa: E402
from server_process import ServerProcess  # noqa: E402

MOST_BYTES, MOST_REQUESTS = 250_000, 15
ROUND_TRIP_S, BYTES_PER_S = 0.4, 400_000 / 8
USABLE_S, KEPT_S = 7.0, 12.0
MOST_TIMES_EMPTY = 3.0
STARTS = 9
# Notes when the first screen is there, or an empty page has been painted.
NOTE = """
const shown = () => requestAnimationFrame(() => setTimeout(() => { window.shownAt ??= performance.now(); }));
const look = () => document.documentElement?.dataset.screen === 'shown' && shown();
addEventListener('DOMContentLoaded', () => {
  if (document.title === 'empty') shown();
  new MutationObserver(look).observe(document.documentElement, { attributes: true });
  look();
});
"""
# The paint after the first screen was drawn; of an empty page, the first paint.
PAINTED = """() => {
  const drawn = performance.getEntriesByName('first screen')[0]?.startTime;
  return drawn ?? performance.getEntriesByName('first-contentful-paint')[0].startTime;
}"""
LOOK_AFTER_S = 4
PAUSE = "new Promise((r) => setTimeout(r, 5))"
SHOWN = f"async () => {{ while (!window.shownAt) await {PAUSE}; return window.shownAt; }}"
IS_KEPT = "globalThis.fallbook?.app.kept?.state.phase === 'ready'"
KEPT = f"async () => {{ while (!({IS_KEPT})) await {PAUSE}; return performance.now(); }}"
EMPTY = {
    "/": ("text/html", b"<!doctype html><html lang=en><title>empty</title><body>empty"),
    "/sw.js": (
        "text/javascript",
        b"addEventListener('install',(e)=>e.waitUntil(caches.open('a').then((c)=>c.add('/'))));"
        b"addEventListener('activate',(e)=>e.waitUntil(clients.claim()));"
        b"addEventListener('fetch',(e)=>e.respondWith(caches.match('/').then((r)=>r??fetch(e.request))));",
    ),
}


class EmptyPage(http.server.BaseHTTPRequestHandler):
    """An empty page and a worker that keeps it."""

    def do_GET(self):
        """Answer one of the two."""
        media_type, body = EMPTY.get(self.path, ("text/plain", b""))
        self.send_response(200)
        self.send_header("Content-Type", media_type)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        """Say nothing."""


def fetched(playwright, browser, folder, relay) -> tuple[float, float]:
    """Load the app on a fresh profile; return when it was usable and when it was kept, in seconds."""
    relay.reset_counts()
    phone = Phone(playwright, browser, folder, relay.url)
    phone.script = NOTE
    phone.open(None)
    phone.context.set_default_timeout(120_000)
    phone.page.goto(relay.url, wait_until="commit")
    usable = phone.page.evaluate(SHOWN)
    kept = phone.page.evaluate(KEPT)
    time.sleep(1)  # what comes after is counted too
    phone.close()
    return usable / 1000, kept / 1000


def start(playwright, browser, folder, url) -> float:
    """Start the browser on a profile with a page; return when its first screen was painted, in milliseconds.

    Nothing looks on meanwhile: a page that is watched runs slower, the more script the more so.
    """
    words = [
        "--headless=new",
        "--no-sandbox",
        "--no-first-run",
        "--remote-debugging-port=0",
        "--password-store=basic",
    ]
    place = folder / "DevToolsActivePort"
    place.unlink(missing_ok=True)
    command = [browser, *words, f"--user-data-dir={folder}", "--window-size=390,844", url]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        time.sleep(LOOK_AFTER_S)
        port = place.read_text(encoding="utf-8").split()[0]
        found = playwright.chromium.connect_over_cdp(f"http://127.0.0.1:{port}")
        (page,) = [page for one in found.contexts for page in one.pages if page.url.startswith(url)]
        at = page.evaluate(PAINTED)
        found.close()
        return at
    finally:
        process.terminate()
        process.wait(20)


def keep_empty(playwright, browser, folder, url) -> None:
    """Have the empty page kept."""
    phone = Phone(playwright, browser, folder, url)
    phone.open(None)
    phone.page.goto(url)
    phone.page.evaluate("async () => { await navigator.serviceWorker.register('/sw.js'); }")
    phone.wait_for_worker()
    phone.close()


def cold_starts(playwright, browser, folder, app_url, server) -> tuple[float, float]:
    """Return the median start of the app and of an empty page, both kept by a worker, servers dead."""
    empty = http.server.ThreadingHTTPServer(("127.0.0.1", 0), EmptyPage)
    threading.Thread(target=empty.serve_forever, daemon=True).start()
    empty_url = f"http://127.0.0.1:{empty.server_address[1]}/"
    keep_empty(playwright, browser, folder / "empty", empty_url)
    empty.shutdown()
    empty.server_close()
    server.kill()
    ours, theirs = [], []
    for _ in range(STARTS):
        ours.append(start(playwright, browser, folder / "counted", app_url))
        theirs.append(start(playwright, browser, folder / "empty", empty_url))
    return statistics.median(ours), statistics.median(theirs)


def main() -> int:
    """Measure, print each figure beside its goal."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--skip-starts", action="store_true", help="leave the cold starts out")
    parser.add_argument("--list", action="store_true", help="print every request")
    args = parser.parse_args()
    rows: list[tuple[str, float, float, str]] = []
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder, browser = Path(name), find()
        server = ServerProcess(folder / "data").start()
        try:
            with Relay(server.port) as relay:
                server.get("/sw.js")
                fetched(playwright, browser, folder / "counted", relay)
                rows.append(
                    (
                        "from a fresh phone to ready for no signal, kB",
                        relay.down / 1000,
                        MOST_BYTES / 1000,
                        "%.1f",
                    )
                )
                rows.append(("requests", len(relay.requests), MOST_REQUESTS, "%d"))
                if args.list:
                    print("\n".join(f"  {method} {path}" for method, path in relay.requests))
                relay.slow(ROUND_TRIP_S / 2, BYTES_PER_S)
                usable, kept = fetched(playwright, browser, folder / "slow", relay)
                rows.append(("usable at 400 ms and 400 kbit/s, s", usable, USABLE_S, "%.1f"))
                rows.append(("ready for no signal there, s", kept, KEPT_S, "%.1f"))
                relay.slow(0, 0)
                if not args.skip_starts:
                    ours, empty = cold_starts(playwright, browser, folder, relay.url, server)
                    print(f"  cold start {ours:.0f} ms, of an empty kept page {empty:.0f} ms")
                    rows.append(
                        (
                            "cold start with the server dead, times an empty kept page",
                            ours / empty,
                            MOST_TIMES_EMPTY,
                            "%.2f",
                        )
                    )
        finally:
            server.kill()
    missed = 0
    for what, value, goal, form in rows:
        missed += value > goal
        print(f"{'missed' if value > goal else 'met':7}{what}: {form % value} (at most {goal:g})")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

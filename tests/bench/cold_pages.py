"""What a first visit and a cold start are measured with: an empty page kept by a worker, Lighthouse."""

import json
import os
import subprocess
import threading
import time
import urllib.request
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import browser
from twin import node

HERE = Path(__file__).resolve().parent
PACKAGES = HERE.parent.parent / ".bench" / "lighthouse"
CATEGORIES = ("performance", "accessibility", "best-practices")
EMPTY = b"""<!doctype html><html lang="en"><title>Empty</title><h1>Jobs</h1>
<script>navigator.serviceWorker.register('/sw.js')</script>"""
WORKER = b"""
addEventListener('install', (e) => e.waitUntil(caches.open('e').then((c) => c.addAll(['/']))));
addEventListener('activate', (e) => e.waitUntil(clients.claim()));
addEventListener('fetch', (e) => e.respondWith(caches.match('/').then((kept) => kept ?? fetch(e.request))));
"""
FILES = {"/": ("text/html", EMPTY), "/sw.js": ("text/javascript", WORKER)}
CHROMIUM = (
    "--headless=new",
    "--no-sandbox",
    "--no-first-run",
    "--password-store=basic",
    "--disable-dev-shm-usage",
    "--remote-debugging-port=0",
    "--window-size=390,844",
)
STARTS_WITHIN_S, LOOK_AFTER_S = 20.0, 1.5
# The first paint noted once the first screen is drawn; of an empty page, the first of all. In ms.
PAINTED = """() => new Promise((resolve) => {
  const drawn = performance.getEntriesByName('first screen')[0]?.startTime ?? 0;
  new PerformanceObserver((list) => {
    const at = list.getEntries().map((one) => one.startTime).filter((ms) => ms >= drawn);
    if (at.length) resolve(Math.min(...at));
  }).observe({ type: 'largest-contentful-paint', buffered: true });
  setTimeout(() => resolve(null), 10_000);
})"""


class _Handler(BaseHTTPRequestHandler):
    def do_GET(self) -> None:  # the name that the standard library asks for
        kind, body = FILES.get(self.path, ("text/plain", b""))
        self.send_response(200 if body else 404)
        self.send_header("Content-Type", f"{kind}; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


class EmptyPage:
    """A server of one page with nothing on it, which a worker of its own keeps."""

    def __init__(self) -> None:
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), _Handler)
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)
        self._thread.start()
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}"

    def close(self) -> None:
        """End it."""
        self._server.shutdown()
        self._server.server_close()


def painted_ms(playwright: Any, profile: Path, url: str) -> float:
    """Open a page in a Chromium just started; return how long its first screen took to be painted.

    Nothing looks on meanwhile: a page that is watched runs slower, the more script the more so.
    """
    place = profile / "DevToolsActivePort"
    place.unlink(missing_ok=True)
    command = [str(browser.find()), *CHROMIUM, f"--user-data-dir={profile}", "about:blank"]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        address = f"http://127.0.0.1:{_port(place)}"
        time.sleep(LOOK_AFTER_S)  # its own start is over
        urllib.request.urlopen(urllib.request.Request(f"{address}/json/new?{url}", method="PUT")).close()
        time.sleep(LOOK_AFTER_S)
        found = playwright.chromium.connect_over_cdp(address)
        (page,) = [page for one in found.contexts for page in one.pages if page.url.startswith(url)]
        at = page.evaluate(PAINTED)
        found.close()
    finally:
        process.terminate()
        process.wait(20)
    if at is None:
        raise RuntimeError(f"{url} was not painted")
    return float(at)


def _port(place: Path) -> int:
    end = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < end:
        if place.is_file() and (lines := place.read_text(encoding="utf-8").split()):
            return int(lines[0])
        time.sleep(0.05)
    raise RuntimeError("Chromium did not start")


def lighthouse(url: str, report: Path) -> dict[str, float]:
    """Return Lighthouse's marks of a page, 0 to 100, as a phone of the middle class meets it first."""
    if not (PACKAGES / "node_modules" / "lighthouse").is_dir():
        PACKAGES.mkdir(parents=True, exist_ok=True)
        (PACKAGES / "package.json").write_text((HERE / "lighthouse" / "package.json").read_text())
        npm = Path(node()).with_name("npm")
        command = [str(npm), "install", "--no-audit", "--no-fund", "--ignore-scripts", "--loglevel=error"]
        subprocess.run(command, cwd=PACKAGES, check=True)
    words = [
        str(PACKAGES / "node_modules" / "lighthouse" / "cli" / "index.js"),
        url,
        "--quiet",
        "--output=json",
        f"--output-path={report}",
        f"--only-categories={','.join(CATEGORIES)}",
        "--chrome-flags=--headless=new --no-sandbox --disable-dev-shm-usage",
    ]
    env = {**os.environ, "CHROME_PATH": str(browser.find())}
    subprocess.run([node(), *words], cwd=PACKAGES, env=env, check=True, timeout=300)
    found = json.loads(report.read_text(encoding="utf-8"))
    return {name: round(100 * found["categories"][name]["score"]) for name in CATEGORIES}

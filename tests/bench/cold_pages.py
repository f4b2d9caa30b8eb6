"""What a first visit and a cold start are measured with: an empty page kept by a worker, Lighthouse."""

import json
import os
import subprocess
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

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

"""A phone: a browser with a profile on disk, that can be killed in the middle of anything."""

import contextlib
import os
import signal
import subprocess
import time
from pathlib import Path

VIEWPORT = {"width": 390, "height": 844}
# The browser's own words for a request that found no server: the app goes on, so no fault of a page.
NO_SERVER = (
    "net::ERR_CONNECTION",
    "net::ERR_EMPTY_RESPONSE",
    "net::ERR_INTERNET_DISCONNECTED",
    "net::ERR_FAILED",
)
LISTEN = """
addEventListener('securitypolicyviolation', (e) => {
  console.error(`policy violation: ${e.violatedDirective} ${e.blockedURI} ${e.sourceFile}:${e.lineNumber}`);
});
addEventListener('unhandledrejection', (e) => console.error(`unhandled: ${e.reason?.stack ?? e.reason}`));
"""


class Phone:
    """One profile at 390 x 844.  Every console error is kept in ``problems``."""

    def __init__(self, playwright, browser_path: str, profile: Path, url: str):
        self.playwright, self.browser_path, self.profile, self.url = playwright, browser_path, profile, url
        self.problems: list[str] = []
        self.allowed: list[str] = []
        self.context = None
        self.page = None
        self.script = ""

    def open(self, path: str | None = "/", **more) -> "Phone":
        """Start the browser on this profile and open ``path``."""
        for name in ("SingletonLock", "SingletonCookie", "SingletonSocket"):  # left by a killed browser
            with contextlib.suppress(OSError):
                (self.profile / name).unlink()
        self.context = self.playwright.chromium.launch_persistent_context(
            str(self.profile),
            executable_path=self.browser_path,
            viewport=VIEWPORT,
            has_touch=True,
            args=["--disable-dev-shm-usage"],
            **more,
        )
        self.context.set_default_timeout(15_000)
        self.context.on("console", self._console)
        self.context.on("weberror", lambda e: self.problems.append(f"thrown: {e.error}"))
        self.context.add_init_script(LISTEN + self.script)
        self.page = self.context.pages[0] if self.context.pages else self.context.new_page()
        if path is not None:
            self.goto(path)
        return self

    def _console(self, message) -> None:
        if message.type != "error":
            return
        text = f"{message.text} ({message.location.get('url', '')})"
        if any(s in text for s in NO_SERVER) or any(s in text for s in self.allowed):
            return
        self.problems.append(text)

    def goto(self, path: str, page=None) -> None:
        """Open an address of the app and wait until the app runs."""
        page = page or self.page
        page.goto(self.url + path)
        self.wait_ready(page)

    def wait_ready(self, page=None) -> None:
        (page or self.page).evaluate("async () => { await (await import('/static/js/main.js')).ready; }")

    def app(self, expression: str, argument=None, page=None):
        """Evaluate an async function ``(app, argument) => ...`` in the page."""
        opening = "const { app, ready } = await import('/static/js/main.js'); await ready;"
        source = f"async (argument) => {{ {opening} return ({expression})(app, argument); }}"
        return (page or self.page).evaluate(source, argument)

    def wait_for_worker(self) -> None:
        """Wait until the service worker controls the page, so that everything is on the phone."""
        self.page.evaluate(
            """async () => {
              await navigator.serviceWorker.ready;
              while (!navigator.serviceWorker.controller) await new Promise((r) => setTimeout(r, 50));
            }"""
        )

    def processes(self) -> list[int]:
        """Return the ids of the browser's processes: those started on our own profile folder."""
        mark = f"--user-data-dir={self.profile}"
        listed = subprocess.run(
            ["ps", "-axww", "-o", "pid=,command="], capture_output=True, text=True, check=True
        )
        return [int(line.split(None, 1)[0]) for line in listed.stdout.splitlines() if mark in line]

    def kill(self) -> None:
        """Kill the browser at once, as a flat battery would; the profile stays on disk."""
        ids = self.processes()
        assert ids, "no browser process found"
        for one in ids:
            with contextlib.suppress(ProcessLookupError):
                os.kill(one, signal.SIGKILL)
        with contextlib.suppress(Exception):
            self.context.close()
        end = time.monotonic() + 10
        while self.processes() and time.monotonic() < end:
            time.sleep(0.05)
        self.context = self.page = None

    def close(self) -> None:
        if self.context:
            with contextlib.suppress(Exception):
                self.context.close()
        self.context = self.page = None

    def check(self) -> None:
        """Fail if any page complained."""
        assert self.problems == [], "\n".join(self.problems)

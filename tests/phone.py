"""A phone: a browser with a profile on disk, that can be killed in the middle of anything."""

import contextlib
import functools
import json
import os
import signal
import subprocess
import time
from pathlib import Path

import browser
import ended

from webapp import paths, tables
from webapp.web.joiner.join import functions, joined

VIEWPORT = {"width": 390, "height": 844}
# How many times slower every page runs: a test that does not wait shows it.
SLOWER = float(os.environ.get("FALLBOOK_SLOWER", "1"))
# The browser's own words for a request that found no server: the app goes on, so no fault of a page.
NO_SERVER = (
    "net::ERR_CONNECTION",
    "net::ERR_EMPTY_RESPONSE",
    "net::ERR_SOCKET_NOT_CONNECTED",
    "net::ERR_INTERNET_DISCONNECTED",
    "net::ERR_FAILED",
    "An unknown error occurred when fetching the script",  # the worker's own, asked for at a start
)
# An answer whose rest did not come: the server's fault, unless the test ended it meanwhile.
CUT_OFF = ("net::ERR_CONTENT_LENGTH_MISMATCH", "net::ERR_INCOMPLETE_CHUNKED_ENCODING")
# What a page without screens is given: these modules and all that they need, as one script.
KIT_OF = ("store/store.js", "store/ids.js", "store/page_keeper.js", "sync/engine.js")
KIT = """
  window.kit ??= (async () => {
    const { openStore } = kitModule('store/store.js');
    const { makeIds } = kitModule('store/ids.js');
    const { makeSync } = kitModule('sync/engine.js');
    const now = () => new Date();
    const newId = makeIds(now);
    const store = await openStore({ newId, now });
    const fetch = globalThis.fetch.bind(globalThis);
    const sync = makeSync({ store, fetch, locks: navigator.locks, now, random: () => 0.01 });
    return { store, sync, newId, now };
  })();
"""
# As static/js/main.js hands it on, without fetching that file for every page.
RUNNING = """
  while (!window.fallbook) await new Promise((resolve) => setTimeout(resolve, 10));
  const { app, ready } = window.fallbook;
  await ready;
"""
DRAWN = f"""async () => {{{RUNNING}
  while (!document.documentElement.dataset.screen) await new Promise((r) => setTimeout(r, 10));
}}"""
# The sentences, where a page of the app brings those of its start.
GIVE_WORDS = """(words) => {
  const place = document.createElement('p');
  Object.assign(place, { id: 'start-words', hidden: true, textContent: words });
  document.body.append(place);
}"""
LISTEN = """
addEventListener('securitypolicyviolation', (e) => {
  console.error(`policy violation: ${e.violatedDirective} ${e.blockedURI} ${e.sourceFile}:${e.lineNumber}`);
});
addEventListener('unhandledrejection', (e) => console.error(`unhandled: ${e.reason?.stack ?? e.reason}`));
"""


@functools.cache
def kit_script() -> str:
    """Return the script that gives a page ``kitModule``: sixty modules, each fetched, would take longer."""
    found = {path: text for one in KIT_OF for path, text in functions(paths.STATIC / "js", one).items()}
    return joined(*found.values(), "globalThis.kitModule=module;\n")


class Watched:
    """A browser context at 390 x 844.  Every console error is kept in ``problems``."""

    def __init__(self, url: str):
        self.url = url
        self.problems: list[str] = []
        self.allowed: list[str] = []
        self.context = None
        self.page = None
        self.script = ""
        self.heard: list = []

    def watch(self, context) -> None:
        """Take a context: note every error in it."""
        self.context = context
        context.set_default_timeout(15_000)
        context.set_default_navigation_timeout(60_000)  # a server that is new joins the app first
        self.hear_errors()
        context.add_init_script(LISTEN + self.script)
        if SLOWER > 1:
            context.on("page", self._slow)
            for page in context.pages:
                self._slow(page)
        self.page = context.pages[0] if context.pages else context.new_page()

    def hear_errors(self) -> None:
        """Note every error from now on."""
        self.hear("console", self._console, self.context)
        self.hear("weberror", lambda e: self.problems.append(f"thrown: {e.error}"), self.context)

    def hear(self, event: str, handler, of=None) -> None:
        """Have an event of the page or of another object told, until the phone is closed."""
        of = of or self.page
        type(of).on(of, event, handler)
        self.heard.append((of, event, handler))

    def _slow(self, page) -> None:
        session = self.context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})

    def _console(self, message) -> None:
        if message.type != "error":
            return
        url = message.location.get("url", "")
        text = f"{message.text} ({url})"
        if any(s in text for s in NO_SERVER) or any(s in text for s in self.allowed):
            return
        if any(s in text for s in CUT_OFF) and ended.was_ended(url):
            return
        self.problems.append(text)

    def load(self, path: str, page=None) -> None:
        """Open an address of the app and wait until its screen is drawn."""
        page = page or self.page
        page.goto(self.url + path)
        self.wait_ready(page)

    def goto(self, path: str, page=None) -> None:
        """Be at an address of the app, with its screen drawn."""
        self.load(path, page)

    def wait_ready(self, page=None) -> None:
        """Wait until the app runs and its first screen is drawn: what a test reads at once is there."""
        (page or self.page).evaluate(DRAWN)

    def app(self, expression: str, argument=None, page=None):
        """Evaluate an async function ``(app, argument) => ...`` in the page."""
        source = f"async (argument) => {{ {RUNNING} return ({expression})(app, argument); }}"
        return (page or self.page).evaluate(source, argument)

    def wait_until(self, expression: str, argument=None, page=None) -> None:
        """Wait until the async function ``(argument) => ...`` says yes; ``wait_for_function`` awaits none."""
        source = f"""async ([argument, patience_ms]) => {{
          const end = performance.now() + patience_ms;
          while (!(await ({expression})(argument))) {{
            if (performance.now() > end) throw new Error('waited in vain');
            await new Promise((r) => setTimeout(r, 20));
          }}
        }}"""
        (page or self.page).evaluate(source, [argument, 15_000])

    def wait_for_worker(self) -> None:
        """Wait until the service worker controls the page, so that everything is on the phone."""
        self.page.evaluate(
            """async () => {
              await navigator.serviceWorker.ready;
              while (!navigator.serviceWorker.controller) await new Promise((r) => setTimeout(r, 50));
            }"""
        )

    def wait_until_kept(self) -> None:
        """Wait until the app says that all of it is on the phone and was read back."""
        self.page.wait_for_function(
            "() => window.fallbook?.app.kept?.state.phase === 'ready'", timeout=60_000
        )

    def kit(self, expression: str, argument=None, page=None):
        """Evaluate ``({store, sync, newId}, argument) => ...`` on a page without the app's screens."""
        page = page or self.page
        if not page.evaluate("() => 'kitModule' in window"):
            page.evaluate(kit_script())
        source = f"async (argument) => {{ {KIT} return ({expression})(await window.kit, argument); }}"
        return page.evaluate(source, argument)

    def bare(self, page=None) -> None:
        """Open a page of the server that has no screens, to drive store and sync alone."""
        self.allowed.append("favicon.ico")  # no page of the app: it names no icon
        page = page or self.page
        page.goto(f"{self.url}/healthz")
        self.give_words(page)

    def give_words(self, page) -> None:
        """Give a page without screens the sentences that store and sync say."""
        page.evaluate(GIVE_WORDS, json.dumps(tables.phone_messages()))

    def go_offline(self) -> None:
        """Be out of reach of the server, with all of the app here."""
        self.load_everything()
        self.context.set_offline(True)

    def load_everything(self) -> None:
        """Have the second part of the app here too: a visitor has no worker that would bring it."""
        self.app("async (app) => { await app.second.load(); }")

    def close(self) -> None:
        if self.context:
            with contextlib.suppress(Exception):
                self.context.close()
        self.context = self.page = None

    def check(self) -> None:
        """Fail if any page complained."""
        assert self.problems == [], "\n".join(self.problems)


class Phone(Watched):
    """One profile on disk."""

    def __init__(self, playwright, browser_path: str, profile: Path, url: str):
        super().__init__(url)
        self.playwright, self.browser_path, self.profile = playwright, browser_path, profile

    def open(self, path: str | None = "/", **more) -> "Phone":
        """Start the browser on this profile and open ``path``."""
        for name in ("SingletonLock", "SingletonCookie", "SingletonSocket"):  # left by a killed browser
            with contextlib.suppress(OSError):
                (self.profile / name).unlink()
        context = self.playwright.chromium.launch_persistent_context(
            str(self.profile),
            executable_path=self.browser_path,
            viewport=VIEWPORT,
            has_touch=True,
            args=[*browser.ARGS, *more.pop("args", ())],
            **more,
        )
        self.watch(context)
        if path is not None:
            self.goto(path)
        return self

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

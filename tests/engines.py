"""Three browser engines behind one small face, for loops that start the app again and again.

Each has a profile on disk. Chromium is driven by Playwright, Firefox by WebDriver BiDi, WebKitGTK by
WebDriver: the last two as Debian ships them.
"""

import contextlib
import json
import os
import re
import shutil
import signal
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any, Protocol

import browser
from phone import VIEWPORT
from server_process import free_port

ANSWER_WITHIN_S = 60
BIDI_LINE = re.compile(r"WebDriver BiDi listening on (ws://[0-9.:]+)")
MINI_BROWSERS = ("webkit2gtk-4.1", "webkitgtk-6.0", "webkit2gtk-4.0")


class Engine(Protocol):
    """A browser with one page."""

    name: str

    def begin(self, url: str) -> None:
        """Set off to an address; do not wait for it."""

    def look(self, script: str) -> Any:
        """Return what the function text ``script`` gives as JSON, or None while one page follows another."""

    def slow(self, times: float) -> None:
        """Slow the processor down."""

    def close(self) -> None:
        """End the browser."""


class Chromium:
    """Chromium with a profile on disk."""

    name = "chromium"

    def __init__(self, profile: Path, playwright: Any):
        self.context = playwright.chromium.launch_persistent_context(
            str(profile),
            executable_path=browser.find(),
            viewport=VIEWPORT,
            has_touch=True,
            args=browser.ARGS,
        )
        self.page = self.context.pages[0]
        self.devtools = self.context.new_cdp_session(self.page)
        self.aborted: list[str] = []
        self.context.on("requestfailed", self._failed)

    def _failed(self, request: Any) -> None:
        self.aborted.append(f"{request.url.split('/', 3)[-1]} {request.failure}")

    def begin(self, url: str) -> None:
        self.aborted.clear()
        self.page.goto(url, wait_until="commit")

    def look(self, script: str) -> Any:
        from playwright.sync_api import Error

        try:
            return json.loads(self.page.evaluate(script))
        except Error:  # the document went while it was asked
            return None

    def slow(self, times: float) -> None:
        self.devtools.send("Emulation.setCPUThrottlingRate", {"rate": times})

    def close(self) -> None:
        self.context.close()


class Firefox:
    """Firefox with a profile on disk, by WebDriver BiDi over its own websocket."""

    name = "firefox"

    def __init__(self, profile: Path):
        from websockets.sync.client import connect

        (profile / "user.js").write_text(
            'user_pref("browser.shell.checkDefaultBrowser", false);\n'
            'user_pref("app.normandy.enabled", false);\nuser_pref("app.update.enabled", false);\n',
            encoding="utf-8",
        )
        self.log = (profile / "firefox.log").open("w+", encoding="utf-8")
        words = ["--headless", "--no-remote", "--profile", str(profile), "--remote-debugging-port", "0"]
        self.process = subprocess.Popen(
            [firefox_path() or "firefox", *words, "about:blank"],
            stdout=self.log,
            stderr=self.log,
            env={**os.environ, "MOZ_HEADLESS_WIDTH": "390", "MOZ_HEADLESS_HEIGHT": "844"},
            start_new_session=True,
        )
        try:
            self.socket = connect(f"{self._address()}/session", max_size=None)
            self.count = 0
            self.send("session.new", {"capabilities": {}})
            tree = self.send("browsingContext.getTree", {})
            self.tab = tree["contexts"][0]["context"]
        except BaseException:
            end_group(self.process)
            raise

    def _address(self) -> str:
        end = time.monotonic() + ANSWER_WITHIN_S
        while time.monotonic() < end and self.process.poll() is None:
            if found := BIDI_LINE.search(Path(self.log.name).read_text(encoding="utf-8", errors="replace")):
                return found[1]
            time.sleep(0.05)
        output = Path(self.log.name).read_text(encoding="utf-8", errors="replace")
        raise RuntimeError(f"Firefox does not answer: {output[-800:]}")

    def send(self, method: str, params: dict[str, Any]) -> Any:
        """Return the result of one BiDi command; RuntimeError says why there is none."""
        self.count += 1
        self.socket.send(json.dumps({"id": self.count, "method": method, "params": params}))
        while True:
            answer = json.loads(self.socket.recv(timeout=ANSWER_WITHIN_S))
            if answer.get("id") == self.count:
                if answer["type"] == "error":
                    raise RuntimeError(f"{method}: {answer['error']}: {answer['message']}")
                return answer["result"]

    def begin(self, url: str) -> None:
        self.send("browsingContext.navigate", {"context": self.tab, "url": url, "wait": "none"})

    def look(self, script: str) -> Any:
        what = {"expression": f"({script})()", "target": {"context": self.tab}, "awaitPromise": True}
        try:
            answer = self.send("script.evaluate", what)
        except RuntimeError:  # the document went while it was asked
            return None
        return json.loads(answer["result"]["value"]) if answer["type"] == "success" else None

    def slow(self, times: float) -> None:
        raise NotImplementedError("Firefox cannot be told to be slow")

    def close(self) -> None:
        with contextlib.suppress(Exception):
            self.send("browser.close", {})
        with contextlib.suppress(Exception):
            self.socket.close()
        end_group(self.process)
        self.log.close()


class WebKitGTK:
    """MiniBrowser of WebKitGTK, by the WebDriver that comes with it, on a screen of its own."""

    name = "webkitgtk"

    def __init__(self, profile: Path):
        self.display = Display()
        env = {**os.environ, "DISPLAY": self.display.name, "HOME": str(profile)}
        for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "WAYLAND_DISPLAY"):
            env.pop(name, None)
        port = free_port()
        self.url = f"http://127.0.0.1:{port}"
        self.log = (profile / "webkit.log").open("w", encoding="utf-8")
        self.driver = subprocess.Popen(
            ["WebKitWebDriver", f"--port={port}"],
            stdout=self.log,
            stderr=self.log,
            env=env,
            start_new_session=True,
        )
        options = {"binary": str(mini_browser_path()), "args": ["--automation"]}
        requested = {"pageLoadStrategy": "none", "webkitgtk:browserOptions": options}
        try:
            self._wait_until_it_listens()
            session = self._call("POST", "/session", {"capabilities": {"alwaysMatch": requested}})
            self.session = f"/session/{session['sessionId']}"
        except BaseException:
            self._end()
            raise

    def _wait_until_it_listens(self) -> None:
        end = time.monotonic() + ANSWER_WITHIN_S
        while True:
            try:
                self._call("GET", "/status")
                return
            except OSError:
                if time.monotonic() > end or self.driver.poll() is not None:
                    raise
                time.sleep(0.05)

    def _call(self, method: str, path: str, body: Any = None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(
            self.url + path, data, {"Content-Type": "application/json"}, method=method
        )
        with urllib.request.urlopen(request, timeout=ANSWER_WITHIN_S) as answer:
            return json.load(answer)["value"]

    def begin(self, url: str) -> None:
        self._call("POST", f"{self.session}/url", {"url": url})

    def look(self, script: str) -> Any:
        what = {"script": f"return ({script})()", "args": []}
        try:
            return json.loads(self._call("POST", f"{self.session}/execute/sync", what))
        except (urllib.error.HTTPError, TypeError):  # the document went while it was asked
            return None

    def slow(self, times: float) -> None:
        raise NotImplementedError("WebKitGTK cannot be told to be slow")

    def close(self) -> None:
        with contextlib.suppress(Exception):
            self._call("DELETE", self.session)
        self._end()

    def _end(self) -> None:
        end_group(self.driver)
        self.display.close()
        self.log.close()


class Display:
    """A screen without a monitor, numbered by Xvfb itself."""

    def __init__(self) -> None:
        reading, writing = os.pipe()
        words = ["Xvfb", "-displayfd", str(writing), "-screen", "0", "800x900x24", "-nolisten", "tcp"]
        self.process = subprocess.Popen(
            words,
            pass_fds=(writing,),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        os.close(writing)
        with os.fdopen(reading, encoding="ascii") as pipe:
            number = pipe.readline().strip()
        if not number:
            raise RuntimeError("Xvfb did not start")
        self.name = f":{number}"

    def close(self) -> None:
        end_group(self.process)


def end_group(process: subprocess.Popen) -> None:
    """End a process and all that it started."""
    for how in (signal.SIGTERM, signal.SIGKILL):
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(process.pid, how)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(5)
            return


def firefox_path() -> str | None:
    """Return the path of Firefox, or None."""
    return os.environ.get("FALLBOOK_FIREFOX") or shutil.which("firefox-esr") or shutil.which("firefox")


def mini_browser_path() -> Path | None:
    """Return the path of WebKitGTK's own small browser, or None."""
    found = (p for lib in MINI_BROWSERS for p in Path("/usr/lib").glob(f"*/{lib}/MiniBrowser"))
    return next(found, None)


def why_not(name: str) -> str | None:
    """Return why an engine cannot run here and what to install, or None where it can."""
    if name == "chromium":
        return None if browser.find() else "no Chromium: sudo apt install chromium"
    if name == "firefox":
        return None if firefox_path() else "no Firefox: sudo apt install firefox-esr"
    lacking = [
        package
        for package, there in (
            ("webkit2gtk-driver", shutil.which("WebKitWebDriver") and mini_browser_path()),
            ("xvfb", shutil.which("Xvfb")),
        )
        if not there
    ]
    return f"no WebKitGTK to drive: sudo apt install {' '.join(lacking)}" if lacking else None


@contextlib.contextmanager
def opened(name: str):
    """Open an engine on a fresh profile, and end it."""
    with contextlib.ExitStack() as stack:
        profile = Path(stack.enter_context(tempfile.TemporaryDirectory(ignore_cleanup_errors=True)))
        if name == "chromium":
            from playwright.sync_api import sync_playwright

            engine: Engine = Chromium(profile, stack.enter_context(sync_playwright()))
        else:
            engine = (Firefox if name == "firefox" else WebKitGTK)(profile)
        stack.callback(engine.close)
        yield engine

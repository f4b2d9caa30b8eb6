"""Which browser the tests drive.  ``python tests/browser.py`` prints its path, or nothing."""

import os
import shutil
import sys
from pathlib import Path

NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome-stable",
    "google-chrome",
    "microsoft-edge-stable",
    "microsoft-edge",
)
MAC = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
)
WINDOWS = (
    r"Google\Chrome\Application\chrome.exe",
    r"Microsoft\Edge\Application\msedge.exe",
    r"Chromium\Application\chrome.exe",
)


def find() -> str | None:
    """Return the path of a Chromium-based browser, or None."""
    named = os.environ.get("FALLBOOK_BROWSER")
    if named:
        return named if Path(named).is_file() else None  # a wrong setting is an error, not a fall-through
    for name in NAMES:
        if path := shutil.which(name):
            return path
    for place in _usual_places():
        if Path(place).is_file():
            return str(place)
    return _playwrights_own()


def _usual_places() -> list[str]:
    if sys.platform == "darwin":
        return list(MAC)
    if os.name == "nt":
        bases = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
        return [str(Path(os.environ.get(base, "C:\\")) / one) for base in bases for one in WINDOWS]
    return []


def _playwrights_own() -> str | None:
    try:
        from playwright.sync_api import sync_playwright

        with sync_playwright() as p:
            own = p.chromium.executable_path
    except Exception:  # not installed, or its driver cannot start: then there is none
        return None
    return own if Path(own).is_file() else None


if __name__ == "__main__":
    print(find() or "")

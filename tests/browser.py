"""Which browser the tests drive.  ``python tests/browser.py`` prints its path, or nothing.

Ubuntu brings Chromium as a snap: it sees neither /tmp nor hidden folders, so that profiles of tests must lie
in its own folder (see ``home_of_snap``), and /usr/bin/chromium-browser may be a script that only asks to
install it.  So a snap is taken last.
"""

from __future__ import annotations

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
# What a window of the browser does for itself is left out: for the suggestions of its address bar alone it
# loads two pages, which takes as much of the processor as the first screen of the app.
# Chromium goes by the last list of this switch, so what Playwright turns off is in it too.
_TURNED_OFF = (
    *("WebUIOmniboxPopup", "WebUIOmniboxAimPopup", "WebUIOmniboxFullPopup"),
    *("AimEnabled", "AvoidCorsURLLoaderRestartOnRedirect", "AvoidUnnecessaryBeforeUnloadCheckSync"),
    *("DestroyProfileOnBrowserClose", "HttpsFirstBalancedModeAutoEnable", "HttpsUpgrades", "LensOverlay"),
    *("MediaRouter", "NetworkTimeServiceQuerying", "OptimizationHints", "PaintHolding", "PreconnectToSearch"),
    *("TcpPortRandomizationWin", "ThirdPartyStoragePartitioning"),
    *("msEdgeUpdateLaunchServicesPreferredVersion", "msForceBrowserSignIn"),
)
ARGS = ("--disable-dev-shm-usage", f"--disable-features={','.join(_TURNED_OFF)}")
SNAPS = Path("/snap/bin")
_MAX_SCRIPT_BYTES = 20_000


def find() -> str | None:
    """Return the path of a Chromium-based browser, or None."""
    named = os.environ.get("FALLBOOK_BROWSER")
    if named:
        return named if Path(named).is_file() else None  # a wrong setting is an error, not a fall-through
    found = [path for name in NAMES if (path := shutil.which(name))]
    found += [place for place in usual_places() if Path(place).is_file()]
    for path in found:
        if not is_snap(path):
            return path
    snap = SNAPS / "chromium"
    return playwrights_own() or (str(snap) if snap.exists() else None)


def is_snap(path: str) -> bool:
    """Say whether a browser is a snap, or a script that hands over to one or asks to install it."""
    if str(SNAPS.parent) in (str(p) for p in (*Path(path).parents, *Path(path).resolve().parents)):
        return True
    if os.name == "nt":
        return False
    file = Path(path)
    if Path(os.path.realpath(path)).name == "snap":  # every command of a snap is a link to /usr/bin/snap
        return True
    text = file.read_bytes() if file.stat().st_size < _MAX_SCRIPT_BYTES else b""
    return text.startswith(b"#!") and b"/snap/bin/" in text


def home_of_snap() -> Path:
    """Return a folder that both the tests and Chromium as a snap can read and write."""
    return Path.home() / "snap" / "chromium" / "common" / "fallbook-tests"


def usual_places() -> list[str]:
    if sys.platform == "darwin":
        return list(MAC)
    if os.name == "nt":
        bases = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
        return [str(Path(os.environ.get(base, "C:\\")) / one) for base in bases for one in WINDOWS]
    return []


def playwrights_own() -> str | None:
    try:
        from playwright.sync_api import sync_playwright

        with sync_playwright() as p:
            own = p.chromium.executable_path
    except Exception:  # not installed, or its driver cannot start: then there is none
        return None
    return own if Path(own).is_file() else None


if __name__ == "__main__":
    print(find() or "")

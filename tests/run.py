#!/usr/bin/env python3
"""Run every test from a bare python3: makes .venv-tests, installs, finds or fetches a browser, runs pytest.

    python3 tests/run.py                 # everything, on every core
    python3 tests/run.py --no-browser    # only what needs no browser (says so at the end)
    python3 tests/run.py -k name -x      # anything else goes to pytest; -n 0 or --pdb: in one process

Standard library only; nothing outside this folder changes, except that on Debian and Ubuntu,
as root or with passwordless sudo, apt-get installs what the browser needs when none is found.
FALLBOOK_VENV names another environment folder, FALLBOOK_BROWSER another browser.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

import browser
import environment
from environment import PYTHON, ROOT, run, say

SUITE_MINUTES_ON_TWO_CORES = 25


def find_browser() -> str:
    found = subprocess.run(
        [str(PYTHON), str(ROOT / "tests" / "browser.py")],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        check=False,
    )
    return found.stdout.strip()


def has_browser() -> bool:
    """Say whether there is a browser other than a snap, which is taken only where no other can be had."""
    found = find_browser()
    return bool(found) and not browser.is_snap(found)


def driver_works() -> bool:
    """Playwright brings its own node; on a minimal Debian that lacks libatomic.so.1."""
    found = subprocess.run([str(PYTHON), "-m", "playwright", "--version"], capture_output=True, check=False)
    return found.returncode == 0


def as_root() -> list[str] | None:
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        return []
    if shutil.which("sudo"):
        allowed = subprocess.run(["sudo", "-n", "true"], capture_output=True, check=False)
        if allowed.returncode == 0:
            return ["sudo", "-n"]
    return None


def apts_chromium() -> bool:
    """Say whether apt has a Chromium that is a package of its own; Ubuntu's only asks for a snap."""
    policy = subprocess.run(["apt-cache", "policy", "chromium"], capture_output=True, text=True, check=False)
    version = policy.stdout.partition("Candidate:")[2].split("\n")[0].strip()
    return version not in ("", "(none)") and "snap" not in version


def get_browser() -> None:
    """Debian with root: by apt.  Otherwise: Playwright's own download, with what it needs where we may."""
    root = as_root()
    by_apt = shutil.which("apt-get") is not None and root is not None
    if by_apt:
        env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        install = [*root, "apt-get", "install", "-y", "-q", "--no-install-recommends"]
        run(*root, "apt-get", "update", "-q", env=env)
        run(*install, "libatomic1", env=env)
        if not has_browser() and apts_chromium():
            say("Chromium: some 210 MB to download, up to 760 MB on disk")
            run(*install, "chromium", "fonts-dejavu-core", env=env)
        if has_browser():
            return
        say("apt has no Chromium but as a snap, or none; trying Playwright's own download")
    if driver_works():
        run(PYTHON, "-m", "playwright", "install", *(["--with-deps"] if by_apt else []), "chromium")


def browser_settings() -> dict[str, str]:
    """Find a browser, or say what is missing; return the settings that it needs."""
    if not (driver_works() and has_browser()):
        get_browser()
    found = find_browser() if driver_works() else ""
    if not found:
        say("NO BROWSER: the browser tests below will FAIL, not skip.  Any of these mends it:")
        say("  Debian:     sudo apt install chromium libatomic1")
        say("  elsewhere:  install Chrome, Chromium or Edge, or set FALLBOOK_BROWSER=/path/to/it")
        say("  or leave them out:  python3 tests/run.py --no-browser")
        return {}
    say(f"browser: {found}")
    if not browser.is_snap(found):
        return {}
    home = browser.home_of_snap()
    home.mkdir(parents=True, exist_ok=True)
    say(f"It is a snap, which cannot see the usual folder for temporary files: the tests' lie in {home}")
    return {"TMPDIR": str(home)}


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def workers(argv: list[str]) -> list[str]:
    """Return the words that spread the tests over all cores, but where the person asked for one process.

    Two workers more than cores: a browser test waits for half of its time, and leaves its core to another.
    """
    alone = ("--pdb", "--trace")
    if any(word in alone or word.startswith(("-n", "--numprocesses")) for word in argv):
        return []
    if any(argv[i : i + 2] == ["-p", "no:xdist"] or word == "-pno:xdist" for i, word in enumerate(argv)):
        return []
    dist = [] if any(word.startswith("--dist") for word in argv) else ["--dist", "worksteal"]
    return ["-n", str(cores() + 2), *dist]


def main(argv: list[str]) -> int:
    environment.check_python()
    if set(argv) <= {"--no-browser"}:
        minutes = SUITE_MINUTES_ON_TWO_CORES * 2 / max(cores(), 2)
        say(
            f"Every test: some {minutes:.0f} minutes on {cores()} cores, {SUITE_MINUTES_ON_TWO_CORES} on two."
        )
    say(f"Environment: {environment.FOLDER} (1.2 GB; FALLBOOK_VENV names another folder).")
    environment.ensure()
    more = {} if "--no-browser" in argv else browser_settings()
    command = [str(PYTHON), "-m", "pytest", *workers(argv), *argv]
    env = {**os.environ, **more}
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # some 500 processes would each compile the app anew
    return subprocess.run(command, cwd=ROOT, env=env, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

#!/usr/bin/env python3
"""Run every test from a bare python3: makes .venv, installs, finds or fetches a browser, runs pytest.

    python3 tests/run.py                 # everything
    python3 tests/run.py --no-browser    # only what needs no browser (says so at the end)
    python3 tests/run.py -k name -x      # anything else goes to pytest

Standard library only; nothing outside this folder changes, except that on Debian and Ubuntu,
as root or with passwordless sudo, apt-get installs chromium when no browser is found.
FALLBOOK_VENV names another environment folder, FALLBOOK_BROWSER another browser.
"""

import hashlib
import os
import pathlib
import shutil
import subprocess
import sys
import venv

ROOT = pathlib.Path(__file__).resolve().parent.parent
VENV = pathlib.Path(os.environ.get("FALLBOOK_VENV", ROOT / ".venv"))
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
OLDEST, TOO_NEW = (3, 11), (3, 14)


def say(*words: object) -> None:
    print("[tests/run.py]", *words, flush=True)


def run(*command: object, **more: object) -> int:
    say("$", *command)
    return subprocess.run([str(c) for c in command], check=False, **more).returncode


def ensure_venv() -> None:
    """Make the environment, once per state of pyproject.toml."""
    stamp = VENV / ".installed-for"
    want = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + sys.version.encode()).hexdigest()
    if stamp.is_file() and stamp.read_text() == want and PYTHON.exists():
        return
    try:
        venv.EnvBuilder(with_pip=True, clear=VENV.exists(), symlinks=os.name != "nt").create(VENV)
    except (subprocess.CalledProcessError, ImportError):
        sys.exit(
            "python3 cannot make a virtual environment here; on Debian/Ubuntu: sudo apt install python3-venv"
        )
    pip = [PYTHON, "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    if run(*pip, "-e", f"{ROOT}[test]") != 0:
        sys.exit("pip could not install the tests' packages; see above")
    stamp.write_text(want)


def find_browser() -> str:
    found = subprocess.run(
        [str(PYTHON), str(ROOT / "tests" / "browser.py")],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        check=False,
    )
    return found.stdout.strip()


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


def get_browser() -> None:
    """Debian and Ubuntu with root: by apt.  Otherwise: Playwright's own download."""
    root = as_root()
    if shutil.which("apt-get") and root is not None:
        env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        need = ["libatomic1"] + ([] if find_browser() else ["chromium", "fonts-dejavu-core"])
        run(*root, "apt-get", "update", "-q", env=env)
        run(*root, "apt-get", "install", "-y", "-q", "--no-install-recommends", *need, env=env)
        if find_browser():
            return
        say("apt could not provide a browser; trying Playwright's own download")
    if driver_works():
        run(PYTHON, "-m", "playwright", "install", "chromium")


def main(argv: list[str]) -> int:
    if not OLDEST <= sys.version_info[:2] < TOO_NEW:
        sys.exit(f"needs Python 3.11, 3.12 or 3.13; this is {sys.version.split()[0]}")
    ensure_venv()
    if "--no-browser" not in argv and not (driver_works() and find_browser()):
        get_browser()
        if not (driver_works() and find_browser()):
            say("NO BROWSER: the browser tests below will FAIL, not skip.  Any of these mends it:")
            say("  Debian/Ubuntu:  sudo apt install chromium libatomic1")
            say("  elsewhere:      install Chrome, Chromium or Edge, or set FALLBOOK_BROWSER=/path/to/it")
            say("  or leave them out:  python3 tests/run.py --no-browser")
    # Everything at once uses every core; a choice of tests runs in one process, easier to read.
    spread = ["-n", "auto", "--dist", "worksteal"] if set(argv) <= {"--no-browser"} else []
    return subprocess.run([str(PYTHON), "-m", "pytest", *spread, *argv], cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

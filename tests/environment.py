"""The tests' own environment: made once, never in place of anything else, and entered by every benchmark.

Standard library only, for a bare python3.  FALLBOOK_VENV names another folder than .venv-tests.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FOLDER = Path(os.environ.get("FALLBOOK_VENV") or ROOT / ".venv-tests").absolute()
BIN = FOLDER / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
MARK = "made-by-fallbook-tests.txt"
STAMP = ".installed-for"
NEEDED_BYTES = 1_300_000_000  # measured: 1.2 GB, on Linux with Python 3.11 to 3.14
OLDEST, NEWEST_TRIED = (3, 11), (3, 14)
# What a benchmark imports and a bare python3 lacks.
_SIGNS = ("flask", "numpy", "playwright", "psutil", "waitress")


def say(*words: object) -> None:
    """Print a line that is told from those of the tests."""
    print("[tests]", *words, file=sys.stderr, flush=True)


def check_python() -> None:
    """End with a sentence where this Python is too old."""
    if sys.version_info[:2] < OLDEST:
        sys.exit(
            f"Fallbook needs Python 3.11 or newer; this is {sys.version.split()[0]}. Try python3.11 to 3.14."
        )
    if sys.version_info[:2] > NEWEST_TRIED:
        say(f"Python {sys.version.split()[0]} has not been tried yet; 3.11 to 3.14 have.")


def wanted() -> str:
    """Return what an environment is installed for: the declared packages, with this Python."""
    return hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + sys.version.encode()).hexdigest()


def is_ready() -> bool:
    """Say whether the environment is there, for these packages and this Python."""
    stamp = FOLDER / STAMP
    return stamp.is_file() and stamp.read_text(encoding="utf-8") == wanted() and PYTHON.exists()


def ensure() -> None:
    """Make the environment, once per state of pyproject.toml and Python."""
    if is_ready():
        return
    claim(FOLDER, "FALLBOOK_VENV")
    _empty(FOLDER)
    free = shutil.disk_usage(FOLDER).free
    if free < NEEDED_BYTES:
        sys.exit(
            f"{FOLDER} needs {NEEDED_BYTES / 1e9:.1f} GB and {free / 1e9:.1f} GB are free. "
            "Make room, or name another place in FALLBOOK_VENV."
        )
    say(f"making {FOLDER}: some 350 MB to download, 1.2 GB on disk, a minute or two")
    try:
        venv.EnvBuilder(with_pip=True, symlinks=os.name != "nt").create(FOLDER)
    except (subprocess.CalledProcessError, ImportError):
        sys.exit(
            "python3 cannot make a virtual environment here. "
            "On Debian and Ubuntu: sudo apt install python3-venv"
        )
    pip = [PYTHON, "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    if run(*pip, "-e", f"{ROOT}[test]") != 0:
        sys.exit("pip could not install the tests' packages; its own words are above.")
    (FOLDER / STAMP).write_text(wanted(), encoding="utf-8")


def claim(folder: Path, setting: str) -> None:
    """Make a folder and mark it as made here.  One that holds anything without that mark stays as it is."""
    if os.path.lexists(folder) and not folder.is_dir():
        sys.exit(f"{folder} is there and is no folder. Name another one in {setting}.")
    mark = folder / MARK
    if folder.is_dir() and not mark.is_file() and any(folder.iterdir()):
        sys.exit(
            f"{folder} holds something that the tests did not put there, so it stays as it is. "
            f"Name a new or an empty folder in {setting}, or move this one away."
        )
    folder.mkdir(parents=True, exist_ok=True)
    mark.write_text("Made by the tests of Fallbook, which throw away what is in here.\n", encoding="utf-8")


def _empty(folder: Path) -> None:
    for path in folder.iterdir():
        if path.name == MARK:
            continue
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()


def run(*command: object, **more: object) -> int:
    """Run a command, said first; return its exit code."""
    say("$", *command)
    return subprocess.run([str(c) for c in command], check=False, **more).returncode


def enter() -> None:
    """Go on in an environment that has the tests' packages: this one, or else the tests' own."""
    if all(importlib.util.find_spec(name) for name in _SIGNS) or Path(sys.prefix) == FOLDER:
        return
    check_python()
    ensure()
    command = [str(PYTHON), *sys.argv]
    if os.name == "nt":  # there, exec gives the terminal back while the new process still writes to it
        sys.exit(subprocess.run(command, check=False).returncode)
    os.execv(command[0], command)

#!/usr/bin/env python3
"""Try what README.md promises with every Python that this machine has or can get, and say what was not tried.

    python3 tests/pythons.py --list      # which Pythons there are, and what would run
    python3 tests/pythons.py             # the suite on the oldest and newest, a part of it on the others
    python3 tests/pythons.py --debian    # as root: a Debian made from nothing for each Python that is missing
    python3 tests/pythons.py --from-nothing --only 3.13
    python3 tests/pythons.py --only 3.12 --no-suite

For each Python a fresh clone of what is committed, in .pythons/: README's first command (install, demo), the
reference values, a pack of every sample job, and a part of the tests by tests/run.py; on the oldest and the
newest all of them.  Exit code 0: all held; 1: something did not; 3: what ran held, but a Python was missing.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import debian_root
import environment
import python_places
from environment import ROOT, say
from python_places import Python

PROMISED = ("3.11", "3.12", "3.13", "3.14")
NEEDED = ("3.11", "3.13", "3.14")
PART = ("tests/test_wheel.py", "tests/test_cli.py", "tests/test_run_py.py", "tests/test_dependencies.py",
        "tests/api", "tests/store", "tests/pack", "tests/figures", "tests/schemas")  # fmt: skip
GB_EACH = 2.5


@dataclass
class Tried:
    """What was tried with one Python, and what came of it."""

    python: Python
    what: str
    held: bool
    minutes: float


class Place:
    """A fresh clone and an environment for one Python, on this machine or in a Debian of its own."""

    def __init__(self, python: Python, folder: Path):
        self.python = python
        self.home = python.root / "fallbook" if python.root else folder / f"python-{python.name}"
        self.inside = Path("/fallbook") if python.root else self.home
        self.log = folder / f"python-{python.name}.log"

    def prepare(self) -> bool:
        """Make the clone; what an earlier run left here goes."""
        shutil.rmtree(self.home, ignore_errors=True)
        self.home.mkdir(parents=True)
        self.log.write_bytes(b"")
        if self.python.root:
            debian_root.prepare(self.python.root)
        with self.log.open("ab") as out:
            clone = ["git", "clone", "-q", "--no-hardlinks", str(ROOT), str(self.home / "clone")]
            return subprocess.run(clone, stdout=out, stderr=out, check=False).returncode == 0

    def run(self, *words: str) -> bool:
        """Run the clone's script with this Python; say whether it ended well."""
        own = {"FALLBOOK_VENV": str(self.inside / "venv-tests")}
        command, env = [self.python.command, *words], {**os.environ, **own}
        env.pop("PYTHONPATH", None)
        if self.python.root:
            command = debian_root.command_in(self.python.root, str(self.inside / "clone"), *command)
            env = debian_root.settings() | own | {"PATH": f"{debian_root.settings()['PATH']}"}
        say(f"Python {self.python.name}: {' '.join(words)}   (log: {self.log})")
        with self.log.open("ab") as out:
            out.write(f"\n$ {' '.join(words)}\n".encode())
            out.flush()
            cwd = None if self.python.root else self.home / "clone"
            return (
                subprocess.run(command, cwd=cwd, env=env, stdout=out, stderr=out, check=False).returncode == 0
            )

    def clear(self) -> None:
        """Give the room back; the log stays."""
        shutil.rmtree(self.home, ignore_errors=True)


def get(options: argparse.Namespace, folder: Path) -> tuple[dict[str, Python], dict[str, str]]:
    """Return the Pythons there are, and why each other one is missing."""
    found = {} if options.from_nothing else python_places.find(environment.OLDEST)
    missing = {}
    for name in PROMISED:
        if name in found or (options.only and name not in options.only):
            continue
        one, why = _fetch(name, options, folder)
        if one:
            found[name] = one
        else:
            missing[name] = why
    chosen = {n: p for n, p in found.items() if not options.only or n in options.only}
    return dict(sorted(chosen.items(), key=lambda item: item[1].version)), missing


def _fetch(name: str, options: argparse.Namespace, folder: Path) -> tuple[Python | None, str]:
    if options.from_nothing:
        return _fetch_debian(name, options, folder, [])
    why = ["not on PATH, not by pyenv or uv"]
    if python_places.apt_has(name):
        if options.apt and not options.list and python_places.install_by_apt(name):
            command = shutil.which(f"python{name}")
            version = command and python_places.version_of(command)
            if version:
                return Python(version, command, "apt"), ""
        why.append("apt could not install it" if options.apt else "apt has it: try --apt")
    else:
        why.append("apt has none")
    return _fetch_debian(name, options, folder, why)


def _fetch_debian(
    name: str, options: argparse.Namespace, folder: Path, why: list[str]
) -> tuple[Python | None, str]:
    release = next((r for r, v in debian_root.RELEASES.items() if f"{v[0]}.{v[1]}" == name), None)
    if not release:
        return None, ", ".join([*why, "no Debian release has it"])
    if not (options.debian or options.from_nothing):
        return None, ", ".join([*why, f"Debian {release} has it: try --debian"])
    fault = debian_root.why_not()
    if options.list and not fault:
        return None, f"a Debian {release} would be made for it"
    if not fault:
        say(f"Python {name}: making a Debian {release} from nothing")
        root = folder / f"debian-{release}"
        fault = debian_root.make(release, root, folder / f"debian-{release}.log")
    if fault:
        return None, ", ".join([*why, fault])
    debian_root.prepare(root)
    ask = debian_root.command_in(root, "/", "/usr/bin/python3")
    version = python_places.version_of(*ask, env=debian_root.settings())
    if not version or f"{version[0]}.{version[1]}" != name:
        return None, ", ".join(
            [*why, f"Debian {release} now has Python {'.'.join(map(str, version or ('none',)))}"]
        )
    return Python(version, "/usr/bin/python3", f"Debian {release}, made from nothing", root), ""


def plan(found: dict[str, Python], options: argparse.Namespace) -> dict[str, list[str]]:
    """Return the words for tests/run.py by Python: none for the oldest and the newest, a part for others."""
    names = list(found)
    browser = ["--no-browser"] if options.no_browser else []
    whole = set() if options.no_suite else {names[0], names[-1]} if names else set()
    return {name: browser if name in whole else ["--no-browser", *PART] for name in names}


def try_one(python: Python, words: list[str], options: argparse.Namespace, folder: Path) -> list[Tried]:
    """Try everything with one Python."""
    place, tried = Place(python, folder), []
    what = "the suite" if set(words) <= {"--no-browser"} else "a part of the suite"
    if words == ["--no-browser"]:
        what += " without a browser"
    steps = [
        ("a clone", None),
        ("install, figures, packs, demo", ["tests/promise.py"]),
        (what, ["tests/run.py", *words]),
    ]
    for name, command in steps:
        began = time.monotonic()
        held = place.run(*command) if command else place.prepare()
        if command or not held:
            tried.append(Tried(python, name, held, (time.monotonic() - began) / 60))
        if not held:
            say(f"Python {python.name}: {name}: DID NOT HOLD")
            print(place.log.read_text(encoding="utf-8", errors="replace")[-4000:], flush=True)
    if not options.keep:
        place.clear()
    return tried


def report(tried: list[Tried], missing: dict[str, str]) -> int:
    """Print what came of it, and what was not tried; return the exit code."""
    print("\nPython      from                                what                             minutes  held")
    for one in tried:
        version, held = ".".join(map(str, one.python.version)), "yes" if one.held else "NO"
        print(f"{version:<10}  {one.python.origin:<34}  {one.what:<31}  {one.minutes:>7.1f}  {held}")
    for name, why in missing.items():
        print(f"{name:<10}  NOT TRIED: {why}")
    if not all(one.held for one in tried):
        return 1
    return 3 if not tried or set(missing) & set(NEEDED) else 0


def main(argv: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--list", action="store_true", help="only say what there is and what would run")
    parser.add_argument(
        "--only", action="append", metavar="3.N", help="only this Python (may be given again)"
    )
    parser.add_argument("--apt", action="store_true", help="as root: install missing Pythons by apt")
    parser.add_argument("--debian", action="store_true", help="as root: make Debians for missing Pythons")
    parser.add_argument(
        "--from-nothing", action="store_true", help="as root: only such Debians, no Python that is here"
    )
    parser.add_argument("--no-suite", action="store_true", help="only the part, on the oldest and newest too")
    parser.add_argument("--no-browser", action="store_true", help="the suite without its browser tests")
    parser.add_argument(
        "--folder", type=Path, default=ROOT / ".pythons", help="where everything lies (.pythons)"
    )
    parser.add_argument("--keep", action="store_true", help="keep the clones and environments")
    options = parser.parse_args(argv)
    folder = options.folder.absolute()
    environment.claim(folder, "--folder")
    found, missing = get(options, folder)
    words = plan(found, options)
    for name, one in found.items():
        what = " ".join(words[name]) or "the suite"
        say(f"Python {name}: {one.command} ({one.origin}): {what}")
    for name, why in missing.items():
        say(f"Python {name}: not here: {why}")
    if options.list:
        return 0
    say(f"Some {GB_EACH} GB at a time in {folder}; a suite takes some 20 minutes on two cores, a part 10.")
    if subprocess.run(
        ["git", "-C", str(ROOT), "status", "--porcelain"], capture_output=True, check=False
    ).stdout:
        say("CAUTION: what is not committed is not in the clones.")
    tried = []
    for name, one in found.items():
        tried += try_one(one, words[name], options, folder)
    return report(tried, missing)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

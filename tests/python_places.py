"""Where other Pythons are on this machine: PATH, pyenv, uv, the launcher of Windows, apt."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

_ASK = "import sys, venv, ensurepip; print('.'.join(map(str, sys.version_info[:3])))"


@dataclass(frozen=True)
class Python:
    """One Python, and how it is called: in ``root`` where that is a Debian made for it."""

    version: tuple[int, ...]
    command: str
    origin: str
    root: Path | None = None

    @property
    def name(self) -> str:
        """Return the two first numbers, as people say them."""
        return f"{self.version[0]}.{self.version[1]}"


def version_of(*command: str, env: dict[str, str] | None = None) -> tuple[int, ...] | None:
    """Return the version of a Python that can make environments; None where there is none."""
    try:
        done = subprocess.run(
            [*command, "-c", _ASK], capture_output=True, text=True, env=env, timeout=60, check=False
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    return tuple(map(int, done.stdout.split(".")[:3])) if done.returncode == 0 and done.stdout else None


def candidates() -> Iterator[tuple[str, str]]:
    """Yield each command that may be a Python, with where it was found."""
    for folder in os.environ.get("PATH", "").split(os.pathsep):
        for minor in range(11, 30):
            if found := shutil.which(f"python3.{minor}", path=folder):
                yield found, "PATH"
    if found := shutil.which("python3"):
        yield found, "PATH"
    pyenv = Path(os.environ.get("PYENV_ROOT") or Path.home() / ".pyenv")
    for path in sorted(pyenv.glob("versions/*/bin/python3"), reverse=True):
        yield str(path), "pyenv"
    for path in sorted(Path.home().glob(".local/share/uv/python/*/bin/python3"), reverse=True):
        yield str(path), "uv"
    if os.name == "nt":
        for base in sorted(
            Path.home().glob("AppData/Local/Programs/Python/Python3*/python.exe"), reverse=True
        ):
            yield str(base), "installed"


def find(oldest: tuple[int, int]) -> dict[str, Python]:
    """Return the first Python of each minor version from ``oldest`` on."""
    found: dict[str, Python] = {}
    for command, origin in candidates():
        version = version_of(command)
        if version and version[:2] >= oldest:
            one = Python(version, command, origin)
            found.setdefault(one.name, one)
    return dict(sorted(found.items(), key=lambda item: item[1].version))


def apt_has(name: str) -> bool:
    """Say whether apt knows a package of this Python, with what makes environments."""
    if not shutil.which("apt-cache"):
        return False
    for package in (f"python{name}", f"python{name}-venv"):
        done = subprocess.run(["apt-cache", "policy", package], capture_output=True, text=True, check=False)
        if done.stdout.partition("Candidate:")[2].split("\n")[0].strip() in ("", "(none)"):
            return False
    return True


def install_by_apt(name: str) -> bool:
    """Install a Python by apt; as root only."""
    command = [
        "apt-get",
        "install",
        "-y",
        "-q",
        "--no-install-recommends",
        f"python{name}",
        f"python{name}-venv",
    ]
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    return subprocess.run(command, env=env, stdout=subprocess.DEVNULL, check=False).returncode == 0

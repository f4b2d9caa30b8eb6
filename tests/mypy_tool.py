"""mypy as a test runs it: one at a time, each going on from what the one before has looked through."""

import subprocess
import sys
from pathlib import Path

import portalocker

ROOT = Path(__file__).resolve().parent.parent


def mypy(factory, *words):
    """Run mypy with the folder of this run of the tests as its cache; return its exit code and its words."""
    shared = factory.getbasetemp()
    if shared.name.startswith("popen-"):  # of one worker of several
        shared = shared.parent
    with portalocker.Lock(shared / "mypy.lock", "a", timeout=600):
        command = [sys.executable, "-m", "mypy", "--cache-dir", str(shared / "mypy"), *words]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr

"""What README.md promises, tried with the Python that runs this: install, the figures, the packs, the demo.

    python3 tests/promise.py        # in a fresh clone; makes .venv there and leaves everything else alone

Standard library only.  Called for each Python by tests/pythons.py.
"""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIN = ROOT / ".venv" / ("Scripts" if os.name == "nt" else "bin")
FALLBOOK = BIN / ("fallbook.exe" if os.name == "nt" else "fallbook")
STARTS_WITHIN_S = 120


class Broken(Exception):
    """Something that was promised did not hold."""


def main() -> int:
    """Try everything; 1 where something does not hold."""
    with tempfile.TemporaryDirectory() as scratch:
        for step in (install, figures, packs, demo):
            began = time.monotonic()
            try:
                output = step(Path(scratch))
            except (Broken, OSError, ValueError) as error:
                print(f"{step.__name__}: BROKEN: {error}", flush=True)
                return 1
            print(f"{step.__name__}: {output} ({time.monotonic() - began:.0f} s)", flush=True)
    return 0


def run(*command: object) -> str:
    """Return what a command prints; Broken with its last words where it fails."""
    done = subprocess.run([str(c) for c in command], cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode:
        output = (done.stdout + done.stderr)[-3000:]
        raise Broken(f"{' '.join(map(str, command))} ended with {done.returncode}:\n{output}")
    return done.stdout


def install(_scratch: Path) -> str:
    """README's first command, as far as the demo."""
    if (ROOT / ".venv").exists():
        raise Broken(f"{ROOT / '.venv'} is there already; this is for a fresh clone")
    run(sys.executable, "-m", "venv", ".venv")
    run(BIN / "pip", "install", "--disable-pip-version-check", ".")
    return run(FALLBOOK, "--version").strip() + f", Python {sys.version.split()[0]}"


def figures(_scratch: Path) -> str:
    """The published reference values."""
    return run(FALLBOOK, "selfcheck").strip().splitlines()[-1]


def packs(scratch: Path) -> str:
    """A pack of every sample job, proved whole."""
    jobs = sorted((ROOT / "sample_jobs").glob("*/job.json"))
    if not jobs:
        raise Broken("there are no sample jobs")
    for job in jobs:
        out = scratch / f"{job.parent.name}.zip"
        run(FALLBOOK, "pack", job, "-o", out)
        run(FALLBOOK, "verify", out)
    return f"{len(jobs)} sample jobs packed, each verified"


def demo(scratch: Path) -> str:
    """The demo prints its address, answers there with its jobs, and ends with Ctrl-C."""
    command = [str(FALLBOOK), "demo", "--port", "0", "--data", str(scratch / "data")]
    env = {**os.environ, "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(
        command, cwd=scratch, env=env, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    output: list[str] = []
    reader = threading.Thread(target=lambda: output.extend(iter(process.stdout.readline, "")), daemon=True)  # type: ignore[union-attr]
    reader.start()
    try:
        address = _address(process, output)
        with urllib.request.urlopen(f"{address}api/jobs", timeout=30) as answer:
            count = len(json.load(answer)["jobs"])
        with urllib.request.urlopen(address, timeout=30) as answer:
            if b'id="app"' not in answer.read():
                raise Broken(f"{address} is not the app")
        process.send_signal(signal.SIGINT if os.name != "nt" else signal.SIGTERM)
        if (code := process.wait(60)) != 0 and os.name != "nt":
            raise Broken(f"the demo ended with {code} after Ctrl-C:\n{''.join(output)[-3000:]}")
    finally:
        process.kill()
        process.wait()
        reader.join(10)
        process.stdout.close()  # type: ignore[union-attr]
    if count < 2:
        raise Broken(f"the demo holds {count} jobs")
    return f"{count} jobs at {address}, ended by Ctrl-C"


def _address(process: subprocess.Popen[str], output: list[str]) -> str:
    end_s = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < end_s and process.poll() is None:
        text = "".join(output)
        if "Stop with" in text and (found := re.search(r"http://127\.0\.0\.1:\d+/", text)):
            return found[0]
        time.sleep(0.1)
    raise Broken(f"the demo did not start:\n{''.join(output)[-3000:]}")


if __name__ == "__main__":
    sys.exit(main())

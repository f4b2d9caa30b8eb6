"""The tools of the JavaScript side, installed by npm from the lock file into tests/js; once per lock file."""

import hashlib
import json
import os
import subprocess
import tempfile
from pathlib import Path

import portalocker
from twin import node

HERE = Path(__file__).resolve().parent / "js"
MODULES = HERE / "node_modules"


def in_js(*command, folder=HERE, stdin=None):
    """Run a command in tests/js with the Node that came with pip first on the path."""
    env = {**os.environ, "PATH": f"{Path(node()).parent}{os.pathsep}{os.environ['PATH']}", "NO_COLOR": "1"}
    return subprocess.run(
        command,
        cwd=folder,
        env=env,
        input=stdin,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def installed():
    """Install what the lock file names, scripts off, unless it is there; return the folder.

    One process at a time: npm ci begins by taking away the folder that another one may be using.
    """
    lock = hashlib.sha256(os.fsencode(HERE)).hexdigest()[:16]
    with portalocker.Lock(Path(tempfile.gettempdir()) / f"fallbook-js-{lock}.lock", "a", timeout=600):
        return _installed()


def _installed():
    stamp = MODULES / ".installed-for"
    want = hashlib.sha256((HERE / "package-lock.json").read_bytes()).hexdigest()
    if not (stamp.is_file() and stamp.read_text() == want):
        npm = Path(node()).parent / "npm"
        done = in_js(str(npm) if npm.exists() else "npm", "ci", "--ignore-scripts")
        assert done.returncode == 0, done.stderr
        stamp.write_text(want)
    return MODULES


def in_node(script, value):
    """Run a script of tests/js with JSON on its standard input, its packages installed; return its JSON."""
    installed()
    done = in_js(node(), str(HERE / script), stdin=json.dumps(value))
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout)

"""The wheel carries everything and works away from the checkout."""

import json
import os
import re
import subprocess
import sys
import urllib.request
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


def run(*command, **more):
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, timeout=300, **more)
    assert done.returncode == 0, done.stderr[-3000:]
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    run(sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "-q", "-w", folder, ROOT)
    (found,) = folder.glob("fallbook-*.whl")
    return found


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """The wheel unpacked by pip into a folder of its own, and an environment that sees only that."""
    target = tmp_path_factory.mktemp("installed")
    run(sys.executable, "-m", "pip", "install", "--no-deps", "-q", "--target", target, wheel)
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    env = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "FALLBOOK"))}
    return {"cwd": elsewhere, "env": {**env, "PYTHONPATH": str(target), "HOME": str(elsewhere)}}, target


def test_the_wheel_holds_what_the_checkout_has(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    tracked = run("git", "ls-files", "webapp", "static", "templates", "sample_jobs", cwd=ROOT).splitlines()
    for path in tracked:
        if (ROOT / path).exists():
            assert (path if path.startswith("webapp/") else f"webapp/{path}") in names, path
    assert not [n for n in names if n.endswith((".sqlite", ".pyc"))]


def test_the_installed_command_works_from_another_folder(installed):
    where, target = installed
    command = [sys.executable, "-m", "webapp.cli"]
    at = run(
        sys.executable, "-c", "import webapp, webapp.paths as p; print(webapp.__file__, p.STATIC)", **where
    )
    assert all(word.startswith(str(target)) for word in at.split()), at
    assert "school_foul_drain" in run(*command, "sample", "--list", **where)
    assert json.loads(run(*command, "schema", **where))["title"] == "Fallbook job file"
    script = next((target / "bin").glob("fallbook*"))
    assert "Usage" in run(sys.executable, script, "--help", **where)


def test_the_installed_server_serves_the_app(installed):
    where, _ = installed
    command = [sys.executable, "-u", "-m", "webapp.cli", "serve", "--port", "0", "--quiet"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, **where)
    try:
        url = re.search(r"http://[^ ]+", process.stdout.readline())[0]
        for path, word in (
            ("", '<div id="app">'),
            ("sw.js", "const PRECACHE"),
            ("fields.json", '"reading"'),
            ("static/js/start.js", "import"),
            ("office", "Jobs on this server"),
        ):
            with urllib.request.urlopen(url + path, timeout=20) as answer:
                assert word in answer.read().decode(), path
    finally:
        process.terminate()
        process.wait(20)
        process.stdout.close()
    assert (where["cwd"] / ".local" / "share" / "fallbook" / "fallbook.sqlite").exists()

"""Every benchmark starts from a bare python3: it goes on by itself where the tests' packages are."""

import os
import subprocess
import sys
from pathlib import Path

import environment
import pytest

ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = sorted(
    path for path in (ROOT / "tests" / "bench").glob("*.py") if "__main__" in path.read_text(encoding="utf-8")
)


@pytest.fixture
def ready(tmp_path):
    """A folder that passes for the tests' environment; its Python is this one and notes each call."""
    folder = tmp_path / "venv"
    (folder / "bin").mkdir(parents=True)
    (folder / environment.MARK).write_text("made")
    (folder / environment.STAMP).write_text(environment.wanted())
    python = folder / "bin" / "python"
    python.write_text(f'#!/bin/sh\necho called >> "{tmp_path}/called"\nexec "{sys.executable}" "$@"\n')
    python.chmod(0o755)
    return folder


def bare(path, *words, venv):
    """Run a script with a Python that has no packages at all."""
    env = {**os.environ, "FALLBOOK_VENV": str(venv)}
    env.pop("PYTHONPATH", None)
    command = [sys.executable, "-S", str(path), *words]
    return subprocess.run(
        command, cwd=venv, env=env, capture_output=True, text=True, timeout=120, check=False
    )


def test_this_is_a_bare_python(ready):
    done = bare("-c", "import numpy", venv=ready)
    assert done.returncode == 1 and "No module named" in done.stderr


def test_there_are_benchmarks():
    assert len(SCRIPTS) >= 5


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda p: p.stem)
def test_it_starts(path, ready, tmp_path):
    done = bare(path, "--help", venv=ready)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("usage: ") and (tmp_path / "called").read_text() == "called\n"


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda p: p.stem)
def test_the_guide_names_it(path):
    assert f"python3 tests/bench/{path.name}" in (ROOT / "tests/bench/README.md").read_text(encoding="utf-8")


def test_words_reach_it_whole(ready):
    done = bare(ROOT / "tests" / "bench" / "phones.py", "no number", venv=ready)
    assert done.returncode == 2 and "invalid int value: 'no number'" in done.stderr


def test_where_the_packages_are_it_goes_on_as_it_is(ready, tmp_path):
    script = ROOT / "tests" / "bench" / "profile.py"
    env = {**os.environ, "FALLBOOK_VENV": str(ready)}
    done = subprocess.run(
        [sys.executable, script, "--quick"], env=env, capture_output=True, text=True, check=False
    )
    assert "times linear" in done.stdout, done.stderr
    assert not (tmp_path / "called").exists()

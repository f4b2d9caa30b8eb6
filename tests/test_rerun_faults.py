"""A rerun is told as a fault: which test, and what went wrong the first time; without the net it is red."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parent
SHAKY = """
import pytest, rerun_faults
seen = []

@pytest.fixture
def chromium_path():
    return "none"

def test_shaky(chromium_path):
    seen.append(1)
    assert len(seen) > 1, "asked before it was ready"
"""
CONFTEST = """
import rerun_faults
from rerun_faults import pytest_addoption, pytest_terminal_summary

def pytest_collection_modifyitems(config, items):
    for mark in filter(None, [rerun_faults.net(config)]):
        for item in items:
            item.add_marker(mark)
"""


def run(folder, *words):
    (folder / "conftest.py").write_text(CONFTEST)
    (folder / "test_shaky.py").write_text(SHAKY)
    env = {**os.environ, "PYTHONPATH": str(TESTS)}
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", f"--rootdir={folder}", *words]
    return subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("workers", ["0", "1"])
def test_the_summary_names_it_and_what_went_wrong(tmp_path, workers):
    done = run(tmp_path, "-n", workers)
    assert done.returncode == 0, done.stdout
    reported = done.stdout.split("1 RERUN: EACH IS A FAULT TO FIND")[1]
    assert "test_shaky.py::test_shaky (call)" in reported and "asked before it was ready" in reported


def test_without_the_net_the_first_failure_is_red(tmp_path):
    done = run(tmp_path, "-n", "0", "--no-reruns")
    assert done.returncode == 1 and "RERUN" not in done.stdout

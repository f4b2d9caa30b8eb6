"""Style and types of the Python side, as a test: one command finds everything."""

import subprocess
import sys
from pathlib import Path

from mypy_tool import mypy

ROOT = Path(__file__).resolve().parent.parent


def run(*command):
    """Run a tool of this environment; return its words if it found something."""
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    return done.stdout + done.stderr if done.returncode else ""


def test_ruff_finds_nothing():
    assert run("ruff", "check", "--no-cache", ".") == ""


def test_every_text_file_is_opened_with_its_encoding():
    """Another system's own encoding is not UTF-8."""
    assert run("ruff", "check", "--no-cache", "--preview", "--select", "PLW1514", ".") == ""


def test_the_code_is_formatted():
    assert run("ruff", "format", "--check", "--no-cache", "webapp", "tests", "sample_jobs") == ""


def test_types_are_sound(tmp_path_factory):
    code, words = mypy(tmp_path_factory)
    assert code == 0, words

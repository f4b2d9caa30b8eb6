"""Calls of the command by tests, and a data folder with one sample job."""

import re

import pytest
from click.testing import CliRunner

from webapp import paths
from webapp.cli import main

A = "writer-aaaa"
SAMPLE = paths.SAMPLE_JOBS / "school_foul_drain"
ERROR_LINE = re.compile(r"fallbook: .+ \[[a-z_]+\]")


@pytest.fixture
def data(tmp_path):
    return tmp_path / "data"


def run(*words, code=0):
    """Run the command and return its result; a traceback is a failure."""
    found = CliRunner().invoke(main, [str(w) for w in words])
    assert found.exception is None or isinstance(found.exception, SystemExit), found.exc_info
    assert found.exit_code == code, found.output
    assert "[unexpected]" not in found.stderr, found.stderr
    return found


def fails(*words, code, error):
    """Run a command that must fail with one clear line."""
    found = run(*words, code=code)
    last = found.stderr.strip().splitlines()[-1]
    assert ERROR_LINE.fullmatch(last) and last.endswith(f"[{error}]"), found.stderr
    assert "Traceback" not in found.output
    return found


@pytest.fixture
def filled(data):
    run("import", "--create", "--data", data, SAMPLE)
    return data

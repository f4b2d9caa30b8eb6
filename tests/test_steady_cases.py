"""The cases that Hypothesis draws hang on nothing that happened to be loaded before."""

import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
DRAW = """
import sys
sys.path.insert(0, {here!r})
import steady_cases
{before}
steady_cases.hold()
from hypothesis import given, settings, strategies as st
drawn = []
@settings(max_examples=300, derandomize=True, database=None)
@given(st.floats() | st.integers() | st.text())
def take(value):
    drawn.append(repr(value))
take()
import hashlib
print(len(drawn), hashlib.sha256("".join(drawn).encode("utf-8", "surrogatepass")).hexdigest())
"""


def drawn(before):
    code = DRAW.format(here=str(HERE), before=before)
    run = [sys.executable, "-c", code]
    env = {**os.environ, "PYTHONPATH": str(HERE.parent)}
    return subprocess.run(run, capture_output=True, text=True, check=True, env=env).stdout


def test_other_modules_change_no_case():
    """Red without ``hold``: the constants of the server's modules and of these tests come in too."""
    assert drawn("") == drawn("import webapp.app, cli_ground, phone")

"""What a command writes and reads is UTF-8, whatever encoding the system calls its own."""

import os
import re
import sys
from pathlib import Path

import pytest
from forked_calls import make_calls

from webapp import paths

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = paths.SAMPLE_JOBS / "school_foul_drain"
ODD = [
    {"PYTHONIOENCODING": "cp1252"},
    {"PYTHONIOENCODING": "ascii:strict"},
    {"PYTHONUTF8": "0", "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0"},
    {"PYTHONUTF8": "0", "LC_ALL": "POSIX", "PYTHONIOENCODING": "cp437:strict"},
]
SAID = [
    ("figures", SAMPLE),
    ("figures", SAMPLE, "--json"),
    ("codes",),
    ("codes", "--find", "crack"),
    ("grading-limits",),
    ("schema",),
    ("check", SAMPLE),
    ("sample", "list"),
    ("recipe", "systemd"),
    ("--help",),
]


@pytest.mark.parametrize("odd", ODD, ids=lambda one: "-".join(one.values()))
def test_what_goes_to_a_file_is_utf_8_whatever_the_system_s_encoding(tmp_path, odd):
    seen, calls = 0, SAID if odd == ODD[0] else SAID[:3]
    env = {**os.environ, **odd, "PYTHONPATH": str(ROOT)}
    start, made = make_calls(calls, tmp_path, env=env, cwd=tmp_path)
    assert len(made) == len(calls), start.stderr
    for words, code, out, errors in made:
        assert code in (0, 1) and b"Traceback" not in errors, (words, errors)
        text = out.decode("utf-8")
        assert "\\u2" not in text and "\ufffd" not in text, words
        seen += len(re.findall("[−≥°±×“–]", text))
    assert seen > 10, "the outputs have letters that cp1252 and ASCII lack"


def test_no_file_is_opened_in_the_system_s_own_encoding(tmp_path):
    script = (
        "import sys, warnings as w; "
        "w.filterwarnings('error', category=EncodingWarning, module=r'webapp(\\.|$)'); "
        "import forked_calls; forked_calls.run_all(sys.argv[1])"
    )
    calls = [
        *(("figures", SAMPLE), ("check", SAMPLE), ("codes",), ("schema",), ("recipe", "proxy")),
        *(("sample", "list"), ("pack", SAMPLE, "-o", "x.zip"), ("import", "--create", "--data", "d", SAMPLE)),
    ]
    start, made = make_calls(
        calls,
        tmp_path,
        start=[sys.executable, "-X", "warn_default_encoding", "-c", script],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tests")])},
    )
    assert len(made) == len(calls), start.stderr[-2000:]
    for words, code, _, errors in made:
        assert code in (0, 1) and b"EncodingWarning" not in errors, (words, errors[-2000:])
        assert b"[unexpected]" not in errors, words

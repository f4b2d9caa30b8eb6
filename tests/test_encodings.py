"""What a command writes and reads is UTF-8, whatever encoding the system calls its own."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from webapp import paths

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = paths.SAMPLE_JOBS / "school_foul_drain"
COMMAND = [sys.executable, "-c", "from webapp.cli import main; main()"]
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
    seen = 0
    for words in SAID if odd == ODD[0] else SAID[:3]:
        env = {**os.environ, **odd, "PYTHONPATH": str(ROOT)}
        out = tmp_path / "out.txt"
        with out.open("wb") as file:
            done = subprocess.run(
                [*COMMAND, *map(str, words)],
                stdout=file,
                stderr=subprocess.PIPE,
                env=env,
                cwd=tmp_path,
                check=False,
            )
        assert done.returncode in (0, 1) and b"Traceback" not in done.stderr, (words, done.stderr)
        text = out.read_bytes().decode("utf-8")
        assert "\\u2" not in text and "\ufffd" not in text, words
        seen += len(re.findall("[−≥°±×“–]", text))
    assert seen > 10, "the outputs have letters that cp1252 and ASCII lack"


@pytest.mark.parametrize(
    "words",
    [
        *(
            ("figures", SAMPLE),
            ("check", SAMPLE),
            ("codes",),
            ("schema",),
            ("recipe", "proxy"),
            ("sample", "list"),
        ),
        *(("pack", SAMPLE, "-o", "x.zip"), ("import", "--create", "--data", "d", SAMPLE)),
    ],
    ids=lambda words: words[0],
)
def test_no_file_is_opened_in_the_system_s_own_encoding(tmp_path, words):
    script = (
        "import warnings as w; w.filterwarnings('error', category=EncodingWarning, module=r'webapp(\\.|$)'); "
        "from webapp.cli import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-X", "warn_default_encoding", "-c", script, *map(str, words)],
        capture_output=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )
    assert done.returncode in (0, 1) and b"EncodingWarning" not in done.stderr, done.stderr[-2000:]
    assert b"[unexpected]" not in done.stderr

"""The JavaScript side: types, and the parts that need no browser."""

import hashlib
import os
import subprocess
from pathlib import Path

import pytest
from twin import node

HERE = Path(__file__).resolve().parent / "js"


def in_js(*command):
    """Run a command in tests/js with the Node that came with pip first on the path."""
    env = {**os.environ, "PATH": f"{Path(node()).parent}{os.pathsep}{os.environ['PATH']}", "NO_COLOR": "1"}
    return subprocess.run(
        command, cwd=HERE, env=env, capture_output=True, text=True, encoding="utf-8", check=False
    )


@pytest.fixture(scope="session")
def type_checker():
    """The type checker, installed by npm from the lock file (scripts off); once per lock file."""
    stamp = HERE / "node_modules" / ".installed-for"
    want = hashlib.sha256((HERE / "package-lock.json").read_bytes()).hexdigest()
    if not (stamp.is_file() and stamp.read_text() == want):
        npm = Path(node()).parent / "npm"
        done = in_js(str(npm) if npm.exists() else "npm", "ci", "--ignore-scripts")
        assert done.returncode == 0, done.stderr
        stamp.write_text(want)
    return HERE / "node_modules" / "typescript" / "bin" / "tsc"


@pytest.mark.parametrize("project", ["tsconfig.json", "tsconfig.worker.json"])
def test_types_are_sound(type_checker, project):
    done = in_js(node(), str(type_checker), "-p", project)
    assert done.returncode == 0, done.stdout


def test_the_type_checker_sees_a_wrong_type(type_checker, tmp_path):
    (tmp_path / "wrong.js").write_text(
        "/** @param {number} length_m */\nfunction f(length_m) { return length_m; }\nf('x');\n"
    )
    done = in_js(node(), str(type_checker), "--allowJs", "--checkJs", "--noEmit", str(tmp_path / "wrong.js"))
    assert "TS2345" in done.stdout


def test_functions_that_need_no_browser():
    files = sorted(str(p) for p in HERE.glob("*.test.js"))
    assert files
    done = in_js(node(), "--test", *files)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "# fail 0" in done.stdout or "ℹ fail 0" in done.stdout


def test_the_lock_file_names_no_host():
    assert "://" not in (HERE / "package-lock.json").read_text()

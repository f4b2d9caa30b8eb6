"""The JavaScript side: types, and the parts that need no browser."""

import pytest
from js_tools import HERE, in_js, installed
from twin import node


@pytest.fixture(scope="session")
def type_checker():
    return installed() / "typescript" / "bin" / "tsc"


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

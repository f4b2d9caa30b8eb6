"""The command that tries every Python: which it finds, what runs, and that it says what could not run."""

import os
import subprocess
import sys
from argparse import Namespace
from pathlib import Path

import debian_root
import promise
import pytest
import python_places
import pythons
from python_places import Python

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """A machine on which there are only the Pythons that a test puts there."""
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("PYENV_ROOT", str(tmp_path / "pyenv"))
    monkeypatch.setattr(python_places, "apt_has", lambda _name: False)

    def put(place, version, does="exit 0"):
        path = tmp_path / place
        path.parent.mkdir(parents=True, exist_ok=True)
        answer = f"echo {version}" if version else "echo 'no module ensurepip' >&2; exit 1"
        path.write_text(f'#!/bin/sh\nif [ "$1" = -c ]; then {answer}; exit; fi\n{does}\n')
        path.chmod(0o755)
        return str(path)

    return put


def options(**more):
    own = {
        "only": None,
        "apt": False,
        "debian": False,
        "list": False,
        "from_nothing": False,
        "no_suite": False,
        "no_browser": False,
    }
    return Namespace(**(own | {"keep": False} | more))


def test_pythons_on_the_path_and_of_pyenv_are_found_oldest_first(machine):
    new = machine("pyenv/versions/3.13.0/bin/python3", "3.13.0")
    machine("pyenv/versions/3.9.1/bin/python3", "3.9.1")
    old = machine("bin/python3.11", "3.11.7")
    machine("bin/python3", "3.11.7")
    found = python_places.find((3, 11))
    assert [(p.name, p.command, p.origin) for p in found.values()] == [
        ("3.11", old, "PATH"),
        ("3.13", new, "pyenv"),
    ]


def test_a_python_that_cannot_make_environments_or_does_not_start_is_none(machine):
    machine("bin/python3.12", None)
    machine("bin/python3.13", "3.13.1").replace("x", "x")
    (Path(os.environ["PATH"]) / "python3.13").write_text("no program at all")
    assert python_places.find((3, 11)) == {}


def test_ten_comes_after_nine(machine):
    for minor in (9, 11, 14, 20):
        machine(f"bin/python3.{minor}", f"3.{minor}.0")
    assert list(python_places.find((3, 11))) == ["3.11", "3.14", "3.20"]


def test_the_suite_runs_on_the_oldest_and_the_newest_and_a_part_between():
    found = {f"3.{n}": Python((3, n, 0), "x", "PATH") for n in (11, 12, 13, 14)}
    part = ["--no-browser", *pythons.PART]
    assert pythons.plan(found, options()) == {"3.11": [], "3.12": part, "3.13": part, "3.14": []}
    assert pythons.plan({"3.13": found["3.13"]}, options()) == {"3.13": []}
    assert set(map(tuple, pythons.plan(found, options(no_suite=True)).values())) == {tuple(part)}
    assert pythons.plan(found, options(no_browser=True))["3.11"] == ["--no-browser"]
    assert pythons.plan({}, options()) == {}


def test_the_part_names_tests_that_are_there():
    assert [p for p in pythons.PART if not (ROOT / p).exists()] == []


def test_what_is_missing_is_said_with_the_way_to_get_it(machine, tmp_path):
    machine("bin/python3.11", "3.11.7")
    found, missing = pythons.get(options(), tmp_path)
    assert list(found) == ["3.11"] and list(missing) == ["3.12", "3.13", "3.14"]
    assert "no Debian release has it" in missing["3.12"]
    assert "Debian trixie has it: try --debian" in missing["3.13"]
    assert pythons.get(options(only=["3.11"]), tmp_path)[1] == {}


def test_apt_is_asked_only_where_it_may_be(machine, tmp_path, monkeypatch):
    monkeypatch.setattr(python_places, "apt_has", lambda name: name == "3.12")
    monkeypatch.setattr(
        python_places, "install_by_apt", lambda name: bool(machine("bin/python3.12", "3.12.3"))
    )
    assert "apt has it: try --apt" in pythons.get(options(), tmp_path)[1]["3.12"]
    found, missing = pythons.get(options(apt=True), tmp_path)
    assert found["3.12"].origin == "apt" and "3.12" not in missing


def test_from_nothing_takes_no_python_that_is_here(machine, tmp_path, monkeypatch):
    machine("bin/python3.13", "3.13.0")
    monkeypatch.setattr(debian_root, "why_not", lambda: None)
    monkeypatch.setattr(debian_root, "make", lambda *_words: None)
    monkeypatch.setattr(debian_root, "prepare", lambda _root: None)
    monkeypatch.setattr(python_places, "version_of", lambda *_command, **_more: (3, 13, 5))
    found, missing = pythons.get(options(from_nothing=True, only=["3.13"]), tmp_path)
    assert found["3.13"].root == tmp_path / "debian-trixie" and not missing
    assert pythons.get(options(from_nothing=True, only=["3.12"]), tmp_path)[1] == {
        "3.12": "no Debian release has it"
    }


def test_without_root_no_debian_is_made(machine, tmp_path, monkeypatch):
    monkeypatch.setattr(debian_root.os, "geteuid", lambda: 1000, raising=False)
    assert "takes root" in pythons.get(options(debian=True), tmp_path)[1]["3.14"]


def test_a_debian_with_another_python_than_thought_is_told(machine, tmp_path, monkeypatch):
    monkeypatch.setattr(debian_root, "why_not", lambda: None)
    monkeypatch.setattr(debian_root, "make", lambda *_words: None)
    monkeypatch.setattr(debian_root, "prepare", lambda _root: None)
    monkeypatch.setattr(python_places, "version_of", lambda *_command, **_more: (3, 15, 0))
    assert "Debian forky now has Python 3.15.0" in pythons.get(options(debian=True), tmp_path)[1]["3.14"]


def test_a_folder_that_is_no_debian_made_here_is_left_alone(tmp_path):
    (tmp_path / "root").mkdir()
    (tmp_path / "root" / "letter.txt").write_text("mine")
    assert "remove it" in debian_root.make("trixie", tmp_path / "root", tmp_path / "log")
    assert (tmp_path / "root" / "letter.txt").read_text() == "mine"


def test_names_and_certificates_go_along_and_secrets_do_not(tmp_path, monkeypatch):
    trusted = tmp_path / "trusted.crt"
    trusted.write_text("a certificate")
    monkeypatch.setenv("SSL_CERT_FILE", str(trusted))
    monkeypatch.setenv("SOME_TOKEN", "secret")
    debian_root.prepare(tmp_path / "root")
    assert (tmp_path / "root" / trusted.relative_to("/")).read_text() == "a certificate"
    assert debian_root.settings()["SSL_CERT_FILE"] == str(trusted)
    assert "SOME_TOKEN" not in debian_root.settings()


@pytest.mark.parametrize(
    "held, missing, code",
    [
        ([True, True], {}, 0),
        ([True, False], {}, 1),
        ([True], {"3.12": "no Debian release has it"}, 0),
        ([True], {"3.14": "apt has none"}, 3),
        ([False], {"3.14": "apt has none"}, 1),
        ([], {}, 3),
    ],
)
def test_the_exit_code_tells_what_held_and_what_was_missing(held, missing, code, capsys):
    tried = [pythons.Tried(Python((3, 11, 2), "x", "PATH"), "the suite", one, 1.0) for one in held]
    assert pythons.report(tried, missing) == code
    output = capsys.readouterr().out
    assert output.count("  NO\n") == held.count(False) and output.count("  yes\n") == held.count(True)
    assert all(f"NOT TRIED: {why}" in output for why in missing.values())


def whole_run(machine, tmp_path, monkeypatch, does):
    """Run the command for one made-up Python, on a repository of its own."""
    repository = tmp_path / "repository"
    (repository / "tests").mkdir(parents=True)
    (repository / "tests" / "run.py").write_text("what is committed")
    real = os.defpath
    for words in (
        ["init", "-q"],
        ["add", "."],
        ["-c", "user.name=x", "-c", "user.email=x@y", "commit", "-qm", "x"],
    ):
        subprocess.run(["git", *words], cwd=repository, check=True, env={"PATH": real, "HOME": str(tmp_path)})
    machine("bin/python3.13", "3.13.0", does)
    monkeypatch.setenv("PATH", f"{tmp_path / 'bin'}{os.pathsep}{real}")
    monkeypatch.setattr(python_places, "candidates", lambda: [(str(tmp_path / "bin" / "python3.13"), "PATH")])
    monkeypatch.setattr(pythons, "ROOT", repository)
    return pythons.main(["--only", "3.13", "--folder", str(tmp_path / "work")])


def test_each_python_gets_a_clone_and_an_environment_of_its_own(machine, tmp_path, monkeypatch, capsys):
    does = 'echo "$FALLBOOK_VENV | $PWD | $* | $(cat tests/run.py)"'
    assert whole_run(machine, tmp_path, monkeypatch, does) == 0
    home = tmp_path / "work" / "python-3.13"
    output = (tmp_path / "work" / "python-3.13.log").read_text()
    for words in ("tests/promise.py", "tests/run.py"):
        assert f"{home}/venv-tests | {home}/clone | {words} | what is committed\n" in output
    assert not home.exists(), "the room is given back"
    assert "the suite" in capsys.readouterr().out


def test_what_did_not_hold_is_shown_and_does_not_stop_the_rest(machine, tmp_path, monkeypatch, capsys):
    does = 'case "$1" in *promise*) echo "the demo ended badly"; exit 1;; esac; echo ran'
    assert whole_run(machine, tmp_path, monkeypatch, does) == 1
    output = capsys.readouterr().out
    assert "the demo ended badly" in output and output.count("  NO\n") == 1 and output.count("  yes\n") == 1


def test_a_promise_that_breaks_is_told_with_the_last_words(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr(promise, "ROOT", tmp_path)
    (tmp_path / ".venv").mkdir()
    assert promise.main() == 1
    assert "this is for a fresh clone" in capsys.readouterr().out
    with pytest.raises(promise.Broken, match="ended with 3"):
        promise.run(sys.executable, "-c", "raise SystemExit(3)")
    monkeypatch.setattr(promise, "FALLBOOK", sys.executable)  # it does not know the word "demo"
    with pytest.raises(promise.Broken, match="did not start"):
        promise.demo(tmp_path)

"""tests/run.py and its environment: nothing of anybody else's is touched, and the workers stay."""

import ast
import importlib
import os
import subprocess
import sys
from pathlib import Path

import environment
import pytest
import run

ROOT = Path(__file__).resolve().parent.parent
SPREAD = f"-n {run.cores() + 2}"  # one that waits for a browser leaves its core to another


@pytest.fixture
def place(monkeypatch, tmp_path):
    """Let the environment be another folder, and nothing be installed for real."""

    def choose(folder):
        monkeypatch.setenv("FALLBOOK_VENV", str(folder))
        one = importlib.reload(environment)
        monkeypatch.setattr(one.venv.EnvBuilder, "create", lambda _self, where: made.append(Path(where)))
        monkeypatch.setattr(one, "run", lambda *command, **_more: made.append(command) or 0)
        return one

    made = []
    choose.made = made
    yield choose
    monkeypatch.undo()
    importlib.reload(environment)


def everything_in(folder):
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*"))


def started(*words, **settings):
    """Run tests/run.py as a person does; return its exit code and everything it said."""
    env = {**os.environ, **{k: str(v) for k, v in settings.items()}}
    done = subprocess.run(
        [sys.executable, str(ROOT / "tests" / "run.py"), *words],
        env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=120, check=False,
    )  # fmt: skip
    return done.returncode, done.stdout


def stand_in(folder, script='echo "RAN $*"'):
    """Make a folder that passes for a ready environment, with a Python that only says what it was told."""
    (folder / "bin").mkdir(parents=True)
    (folder / environment.MARK).write_text("made")
    (folder / environment.STAMP).write_text(environment.wanted())
    python = folder / "bin" / "python"
    python.write_text(f"#!/bin/sh\n{script}\n")
    python.chmod(0o755)
    return folder


@pytest.mark.parametrize("inside", ["letter.txt", ".installed-for", "bin/python", "pyvenv.cfg"])
def test_a_folder_of_somebody_else_is_left_as_it_is(tmp_path, inside):
    mine = tmp_path / "mine"
    (mine / inside).parent.mkdir(parents=True)
    (mine / inside).write_text("mine")
    before = everything_in(mine)
    code, output = started("--no-browser", FALLBOOK_VENV=mine)
    assert (
        code == 1 and "stays as it is" in output and "FALLBOOK_VENV" in output and "Traceback" not in output
    )
    assert everything_in(mine) == before and (mine / inside).read_text() == "mine"


def test_neither_a_file_nor_a_link_to_a_full_folder_is_taken(tmp_path):
    (tmp_path / "file").write_text("mine")
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("mine")
    (tmp_path / "link").symlink_to(tmp_path / "mine")
    (tmp_path / "nowhere").symlink_to(tmp_path / "gone")
    for name in ("file", "link", "nowhere"):
        code, output = started(FALLBOOK_VENV=tmp_path / name)
        assert code == 1 and "FALLBOOK_VENV" in output and "Traceback" not in output, output
    assert (tmp_path / "mine" / "letter.txt").read_text() == "mine" and not (tmp_path / "gone").exists()


def test_what_it_made_itself_is_made_anew_without_following_links(tmp_path, place):
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "letter.txt").write_text("mine")
    mine = tmp_path / "venv"
    one = place(mine)
    one.ensure()
    assert place.made[0] == mine and (mine / one.MARK).is_file() and f"{ROOT}[test]" in place.made[1]
    (mine / "old").mkdir()
    (mine / "old" / "package.py").write_text("old")
    (mine / "link").symlink_to(outside)
    (mine / one.STAMP).write_text("another state of pyproject.toml")
    one.ensure()
    assert everything_in(mine) == sorted([one.MARK, one.STAMP])
    assert (outside / "letter.txt").read_text() == "mine"
    (mine / "bin").mkdir()
    one.PYTHON.write_text("")
    place.made.clear()
    one.ensure()
    assert place.made == [], "it is ready: nothing is made again"


def test_an_environment_that_was_left_half_made_is_made_anew(tmp_path, place, monkeypatch):
    one = place(tmp_path / "venv")
    monkeypatch.setattr(one, "run", lambda *_command, **_more: 1)
    with pytest.raises(SystemExit, match=r"could not install"):
        one.ensure()
    assert not one.is_ready()
    monkeypatch.setattr(one, "run", lambda *_command, **_more: 0)
    one.ensure()


def test_an_empty_folder_may_be_filled(tmp_path, place):
    (tmp_path / "empty").mkdir()
    place(tmp_path / "empty").ensure()
    assert (tmp_path / "empty" / environment.STAMP).is_file()


def test_too_little_room_is_said_before_anything_is_fetched(tmp_path, place, monkeypatch):
    one = place(tmp_path / "venv")
    usage = type("Usage", (), {"free": 300_000_000})
    monkeypatch.setattr(one.shutil, "disk_usage", lambda _path: usage)
    with pytest.raises(SystemExit, match=r"needs 1\.3 GB and 0\.3 GB are free"):
        one.ensure()
    assert place.made == []


def test_its_environment_is_not_the_one_of_the_demo(monkeypatch):
    monkeypatch.delenv("FALLBOOK_VENV", raising=False)
    monkeypatch.setenv("FALLBOOK_VENV", "")
    one = importlib.reload(environment)
    try:
        name = one.FOLDER.relative_to(ROOT).as_posix()
    finally:
        monkeypatch.undo()
        importlib.reload(environment)
    first = (ROOT / "README.md").read_text(encoding="utf-8").split("python3 -m venv ")[1].split()[0]
    assert (first, name) == (".venv", ".venv-tests")
    assert f"{name}/" in (ROOT / ".gitignore").read_text().splitlines()


@pytest.mark.parametrize(
    "words, spread",
    [
        ([], f"{SPREAD} --dist worksteal"),
        (["--no-browser"], f"{SPREAD} --dist worksteal"),
        (["-k", "name", "-x"], f"{SPREAD} --dist worksteal"),
        (["tests/api", "-q", "--durations=40"], f"{SPREAD} --dist worksteal"),
        (["-s"], f"{SPREAD} --dist worksteal"),
        (["--dist", "loadfile"], SPREAD),
        (["--dist=loadfile", "-x"], SPREAD),
        (["-n", "0"], ""),
        (["-n0", "-x"], ""),
        (["-n=3"], ""),
        (["--numprocesses=2"], ""),
        (["-k", "name", "--pdb"], ""),
        (["--trace"], ""),
        (["-p", "no:xdist"], ""),
    ],
)
def test_any_argument_keeps_the_workers_but_where_one_process_is_asked_for(words, spread):
    assert " ".join(run.workers(words)) == spread


def test_the_whole_command_from_outside(tmp_path):
    env = stand_in(tmp_path / "venv")
    code, output = started("--no-browser", "-k", "name", "-x", FALLBOOK_VENV=env)
    assert code == 0 and f"Environment: {env} (1.2 GB" in output
    assert f"RAN -m pytest {SPREAD} --dist worksteal --no-browser -k name -x" in output
    code, output = started("--no-browser", FALLBOOK_VENV=env)
    assert code == 0 and "minutes on" in output


def test_what_is_compiled_is_kept_for_the_next_process(tmp_path):
    env = stand_in(tmp_path / "venv", 'echo "NOT KEPT: $PYTHONDONTWRITEBYTECODE."')
    assert "NOT KEPT: ." in started("--no-browser", FALLBOOK_VENV=env, PYTHONDONTWRITEBYTECODE=1)[1]


def test_the_exit_code_is_that_of_pytest(tmp_path):
    env = stand_in(tmp_path / "venv", "exit 5")
    assert started("--no-browser", FALLBOOK_VENV=env)[0] == 5


def test_another_state_of_the_packages_is_no_ready_environment(tmp_path, place):
    stand_in(tmp_path / "venv")
    one = place(tmp_path / "venv")
    assert one.is_ready()
    (tmp_path / "venv" / environment.STAMP).write_text("x")
    assert not one.is_ready()


@pytest.mark.parametrize("version", [(3, 8, 1), (3, 10, 13)])
def test_a_python_that_is_too_old_is_told(monkeypatch, version):
    monkeypatch.setattr(environment.sys, "version_info", version)
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or newer"):
        environment.check_python()


def test_a_python_that_nobody_has_tried_may_go_on(monkeypatch, capsys):
    for version in ((3, 11, 0), (3, 14, 9)):
        monkeypatch.setattr(environment.sys, "version_info", version)
        environment.check_python()
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(environment.sys, "version_info", (3, 15, 0))
    environment.check_python()
    assert "has not been tried yet" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["run.py", "environment.py", "browser.py"])
def test_an_older_python_can_read_it_far_enough_to_say_so(name):
    text = (ROOT / "tests" / name).read_text(encoding="utf-8")
    tree = ast.parse(text, feature_version=(3, 8))
    modern = [n for n in ast.walk(tree) if isinstance(n, ast.BinOp) and isinstance(n.op, ast.BitOr)]
    assert not modern or "from __future__ import annotations" in text


def test_pyproject_and_the_sentence_agree_on_the_oldest():
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert f'requires-python = ">={".".join(map(str, environment.OLDEST))}"' in text, "and without a cap"

"""Commands on a terminal: progress, Ctrl-C, failures in one line, and where the data folder is."""

import os
import pty
import subprocess
import sys

import pytest
from cli_data import SAMPLE, run
from click.testing import CliRunner

from webapp import paths
from webapp.cli import main
from webapp.commands import interrupt
from webapp.commands.output import one_line
from webapp.store import user_folders

# the terminal


def on_a_terminal(*words):
    """Run a command whose standard error is a terminal, and return what it showed there."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "webapp", *map(str, words)],
        cwd=paths.PACKAGE.parent, stdout=subprocess.DEVNULL, stderr=theirs,
    )  # fmt: skip
    os.close(theirs)
    seen = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # the other end was closed
            break
        if not piece:
            break
        seen += piece
    os.close(ours)
    assert process.wait(60) == 0, seen
    return seen.decode()


def test_progress_is_one_line_on_a_terminal_and_none_in_a_pipe(tmp_path):
    seen = on_a_terminal("export", SAMPLE, "-o", tmp_path / "a.zip")
    assert "photo 7 of 7" in seen and seen.count("\n") == 1, "only the line that says what was written stays"
    assert "photo" not in on_a_terminal("export", SAMPLE, "-o", tmp_path / "b.zip", "--quiet")
    assert "photo" not in run("export", SAMPLE, "-o", tmp_path / "c.zip").output
    assert run("export", SAMPLE, "-o", tmp_path / "d.zip", "--quiet").output == ""


def test_nothing_that_is_printed_can_command_the_terminal():
    assert one_line("a\x1b[2Jb\nc\td\u202e") == "a\\x1b[2Jb c d\\u202e"


def test_an_unexpected_failure_is_one_line_and_its_details_are_kept(tmp_path, monkeypatch):
    def broken(data):
        raise ZeroDivisionError("a secret of the record")

    monkeypatch.setattr("webapp.commands.run.jobs.jobs_of", broken)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    done = CliRunner().invoke(main, ["jobs"])
    log = tmp_path / "fallbook" / "last-failure.txt"
    assert done.exit_code == 1
    assert (
        done.stderr
        == f"fallbook: Something went wrong inside Fallbook. The details are in {log}. [unexpected]\n"
    )
    assert "ZeroDivisionError" in log.read_text() and log.stat().st_mode & 0o077 == 0
    monkeypatch.setenv("FALLBOOK_DEBUG", "1")
    done = CliRunner().invoke(main, ["jobs"])
    assert "Traceback" in done.stderr and done.stderr.endswith("[unexpected]\n")


def test_ctrl_c_when_the_command_is_done_already(monkeypatch):
    """As late as when click closes what the command had opened."""

    def late(self, *about):
        raise interrupt.Stopped

    monkeypatch.setattr("click.Context.__exit__", late)
    done = CliRunner().invoke(main, ["recipe", "proxy"])
    assert done.exit_code == 130
    assert done.stderr == "fallbook: Stopped before it was done. [interrupted]\n"


@pytest.mark.skipif(os.name == "nt", reason="signals are sent otherwise there")
def test_ctrl_c_where_click_itself_is_at_work_prints_one_line():
    """Click would close the terminal's ``^C`` with an empty line of its own."""
    call = """
import os, signal, sys, click
from webapp.start import fallbook
def late(self, *about):
    if sys._getframe(1).f_code is click.Command.main.__code__:
        os.kill(os.getpid(), signal.SIGINT)
click.Context.__exit__ = late
fallbook(["recipe", "proxy"])
"""
    done = subprocess.run([sys.executable, "-c", call], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (
        130,
        "fallbook: Stopped before it was done. [interrupted]\n",
    )


def test_ctrl_c_before_the_command_is_loaded(monkeypatch, capfd):
    from webapp import start

    def stopped(words):
        raise KeyboardInterrupt

    monkeypatch.setattr("webapp.cli.main", stopped)
    monkeypatch.setattr(
        "signal.signal", lambda number, handler: None
    )  # this process is not that of a command
    with pytest.raises(SystemExit) as ended:
        start.fallbook()
    assert ended.value.code == 130
    assert capfd.readouterr().err == "fallbook: Stopped before it was done. [interrupted]\n"


@pytest.mark.skipif(os.name == "nt", reason="signals are sent otherwise there")
def test_ctrl_c_that_something_else_swallowed_or_renamed():
    """A library may raise an error of its own in place of the interruption."""
    call = """
import os, signal, sys, webapp.cli
from webapp.start import fallbook
def renamed(words):
    from webapp.commands.failing import one_line_failures
    with one_line_failures():
        try:
            os.kill(os.getpid(), signal.SIGINT)
        except BaseException:
            pass
        raise RuntimeError("closing what was cut")
webapp.cli.main = renamed
fallbook([])
"""
    done = subprocess.run([sys.executable, "-c", call], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (
        130,
        "fallbook: Stopped before it was done. [interrupted]\n",
    )


@pytest.mark.skipif(os.name == "nt", reason="signals are sent otherwise there")
def test_ctrl_c_while_a_connection_is_closed_prints_one_line():
    """The pool of connections would log what cut its closing short, with a traceback."""
    call = """
import os, signal, sqlite3, webapp.cli
from sqlalchemy import NullPool, create_engine
from webapp.start import fallbook
class Cut(sqlite3.Connection):
    def close(self):
        os.kill(os.getpid(), signal.SIGINT)
def closing(words):
    opened = lambda: sqlite3.connect(":memory:", factory=Cut)
    made = create_engine("sqlite://", poolclass=NullPool, creator=opened)
    with made.connect():
        pass
webapp.cli.main = closing
fallbook([])
"""
    done = subprocess.run([sys.executable, "-c", call], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (
        130,
        "fallbook: Stopped before it was done. [interrupted]\n",
    )


# where things are


@pytest.fixture
def home(tmp_path, monkeypatch):
    for name in ("XDG_DATA_HOME", "XDG_STATE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setattr(sys, "platform", "linux")
    return tmp_path


def test_the_data_folder_is_where_the_platform_has_it(home, monkeypatch):
    usual = home / "home" / ".local" / "share"
    assert user_folders.default_folder() == usual / "fallbook"
    assert user_folders.demo_folder() == usual / "fallbook-demo"
    assert user_folders.log_folder() == home / "home" / ".local" / "state" / "fallbook"
    monkeypatch.setenv("XDG_DATA_HOME", "relative/does/not/count")
    assert user_folders.default_folder() == usual / "fallbook"
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "xdg"))
    monkeypatch.setenv("XDG_STATE_HOME", str(home / "state"))
    assert user_folders.default_folder() == home / "xdg" / "fallbook"
    assert user_folders.log_folder() == home / "state" / "fallbook"


def test_a_data_folder_in_use_stays_found(home, monkeypatch):
    earlier = home / "home" / ".local" / "share" / "fallbook"
    earlier.mkdir(parents=True)
    (earlier / "fallbook.sqlite").write_bytes(b"x")
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "xdg"))
    assert user_folders.default_folder() == earlier
    (home / "xdg" / "fallbook").mkdir(parents=True)
    (home / "xdg" / "fallbook" / "fallbook.sqlite").write_bytes(b"x")
    assert user_folders.default_folder() == home / "xdg" / "fallbook"


def test_macos_has_its_own_places(home, monkeypatch):
    monkeypatch.setattr(sys, "platform", "darwin")
    assert user_folders.default_folder() == home / "home" / "Library" / "Application Support" / "Fallbook"
    assert user_folders.log_folder() == home / "home" / "Library" / "Logs" / "Fallbook"

"""Which browser is taken: Ubuntu's snap, which sees no usual temporary folder, is the last choice."""

import subprocess

import browser
import pytest
import run

STUB = """#!/bin/sh
if ! [ -x /snap/bin/chromium ]; then
    echo "Command '$0' requires the chromium snap to be installed." >&2
    exit 1
fi
exec /snap/bin/chromium "$@"
"""


@pytest.fixture
def machine(tmp_path, monkeypatch):
    """A machine with the browsers that a test puts there."""
    monkeypatch.delenv("FALLBOOK_BROWSER", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    monkeypatch.setattr(browser, "SNAPS", tmp_path / "snap" / "bin")
    monkeypatch.setattr(browser, "playwrights_own", lambda: None)
    monkeypatch.setattr(browser, "usual_places", lambda: [])

    def put(place, text="#!/bin/sh\nexec /usr/lib/browser\n"):
        path = tmp_path / place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
        path.chmod(0o755)
        return str(path)

    return put


def test_a_package_of_its_own_is_taken(machine):
    here = machine("bin/chromium")
    assert browser.find() == here and not browser.is_snap(here)


def test_no_browser_at_all(machine):
    assert browser.find() is None


def test_the_script_that_only_asks_for_a_snap_is_no_browser(machine):
    assert browser.is_snap(machine("bin/chromium-browser", STUB))
    assert browser.find() is None, "there is no snap either"


def test_another_browser_goes_before_the_snap(machine):
    machine("bin/chromium-browser", STUB)
    machine("snap/bin/chromium")
    chrome = machine("bin/google-chrome")
    assert browser.find() == chrome


def test_playwrights_own_goes_before_the_snap(machine, monkeypatch, tmp_path):
    snap = machine("snap/bin/chromium")
    monkeypatch.setenv("PATH", f"{tmp_path / 'snap' / 'bin'}")
    assert browser.find() == snap and browser.is_snap(snap)
    monkeypatch.setattr(browser, "playwrights_own", lambda: "/own/chrome")
    assert browser.find() == "/own/chrome"


def test_a_link_to_the_snap_command_is_a_snap(machine, tmp_path):
    command = machine("usr/bin/snap", "\x7fELF")
    link = tmp_path / "bin" / "chromium"
    link.parent.mkdir(exist_ok=True)
    link.symlink_to(command)
    assert browser.is_snap(str(link)) and browser.find() is None


def test_a_wrong_setting_is_an_error_and_no_fall_through(machine, monkeypatch):
    machine("bin/chromium")
    monkeypatch.setenv("FALLBOOK_BROWSER", "/no/such/browser")
    assert browser.find() is None


@pytest.mark.parametrize(
    "candidate, real",
    [
        ("120.0.1-1~deb12u1", True),
        ("2:1snap1-0ubuntu2", False),
        ("(none)", False),
        ("", False),
    ],
)
def test_a_package_that_only_brings_the_snap_is_not_installed(monkeypatch, candidate, real):
    output = f"chromium:\n  Installed: (none)\n  Candidate: {candidate}\n  Version table:\n"
    done = subprocess.CompletedProcess([], 0, output if candidate else "", "")
    monkeypatch.setattr(run.subprocess, "run", lambda *_args, **_more: done)
    assert run.apts_chromium() is real


def test_with_a_snap_temporary_files_lie_where_it_can_see_them(machine, monkeypatch, tmp_path, capsys):
    snap = machine("snap/bin/chromium")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setattr(run, "find_browser", lambda: snap)
    monkeypatch.setattr(run, "driver_works", lambda: True)
    tried = []
    monkeypatch.setattr(run, "get_browser", lambda: tried.append(1))
    home = tmp_path / "home" / "snap" / "chromium" / "common" / "fallbook-tests"
    assert run.browser_settings() == {"TMPDIR": str(home)} and home.is_dir()
    assert tried == [1], "another browser was looked for first"
    assert "It is a snap" in capsys.readouterr().err

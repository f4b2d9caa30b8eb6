"""What commands read and write: files, pipes, links, devices; jobs by name; the data folder; progress."""

import json
import os
import pty
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from servers import entry

from webapp import paths
from webapp.cli import main
from webapp.commands import outfile
from webapp.commands.output import one_line
from webapp.errors import AppError
from webapp.records import job_file as jobfile
from webapp.store import user_folders
from webapp.store.job_list import ListedJob, named, short_length
from webapp.timesource import new_id

SAMPLE = paths.SAMPLE_JOBS / "school_foul_drain"
OTHER = paths.SAMPLE_JOBS / "tidal_creek_drain"
TITLE = "Foul drain of Tarnholt School, chambers FW1 to FW2"


def run(*words, code=0, stdin=None):
    done = CliRunner().invoke(main, [str(w) for w in words], input=stdin)
    assert done.exit_code == code, done.output
    assert "[unexpected]" not in done.stderr, done.stderr
    return done


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    folder = tmp_path_factory.mktemp("jobs") / "data"
    run("import", "--create", "--quiet", SAMPLE, OTHER, "--data", folder)
    return folder


# jobs by name


def test_jobs_are_listed_with_what_they_hold(data):
    text = run("jobs", "--data", data).stdout
    assert text.startswith("ID ") and TITLE in text and "TS/26/031" in text
    rows = json.loads(run("jobs", "--data", data, "--json").stdout)
    school = next(row for row in rows if row["title"] == TITLE)
    assert school["counts"] == {"runs": 2, "nodes": 3, "readings": 35, "observations": 18, "photos": 7}
    assert school["job_id"].startswith(school["short_id"]) and len(school["short_id"]) >= 8
    assert school["entries"] == 95 and school["set_aside"] == 0 and not school["removed"]
    assert all(run("export", row["short_id"], "--data", data).stdout for row in rows)


LISTS = {
    ("jobs",): {
        "job_id",
        "short_id",
        "title",
        "client_reference",
        "site",
        "removed",
        "last_received_at",
        "counts",
    },
    ("device", "list"): set(),
    ("link", "list"): {"id", "job_id", "name", "expires_at", "revoked_at"},
    ("credential", "list"): {"id", "role", "name", "expires_at", "revoked_at"},
    ("audit",): {"at", "who", "action", "job_id", "detail"},
}
CHECKS = {
    ("check", TITLE): {"job_id", "notes"},
    ("check-data",): {"jobs", "entries", "photos", "notes"},
}


def test_what_is_printed_for_programs_has_a_stable_shape(data, tmp_path):
    run("link", "add", TITLE, "--url", "https://book.example", "--data", data)
    run("credential", "add", "--name", "Copy", "--data", data)
    for words, keys in LISTS.items():
        rows = json.loads(run(*words, "--json", "--data", data).stdout)
        assert isinstance(rows, list) and (rows or not keys)
        assert all(keys <= set(row) for row in rows), words
        assert not any("secret" in key for row in rows for key in row)
    for words, keys in CHECKS.items():
        found = json.loads(run(*words, "--json", "--data", data).stdout)
        assert found["ok"] is True and found["faults"] == [] and keys <= set(found), words
    run("pack", SAMPLE, "-o", tmp_path / "x.zip")
    for words in (["verify", tmp_path / "x.zip"], ["backup", tmp_path / "copy", "--data", data]):
        found = json.loads(run(*words, "--json").stdout)
        assert found["ok"] is True and found["faults"] == []
    assert json.loads(run("figures", SAMPLE, "--json").stdout)["runs"]
    assert {"name", "title", "counts", "runs"} <= set(json.loads(run("sample", "list", "--json").stdout)[0])
    assert {"code", "title"} <= set(json.loads(run("codes", "--json").stdout)[0])
    assert json.loads(run("codes", "--json", "--find", "roots").stdout)[0]["code"]
    found = json.loads(run("codes", "--json", "--read", "BAB B A 3 mm at 10-2").stdout)
    assert found["ok"] and found["fields"]["code"] == "BAB"


def test_removed_records_are_not_counted(tmp_path):
    job, reading = new_id(), new_id()
    writer = "writer-aaaa"
    sent = [
        entry(job, writer, 1, "job", {"title": "One"}),
        entry(job, writer, 2, record_id=reading),
        entry(job, writer, 3),
        entry(job, writer, 4, "reading", {"removed": True}, reading, seen={"*": [f"{writer}:2"]}),
    ]
    (tmp_path / "job.json").write_bytes(jobfile.dumps(jobfile.build(job, sent, {}, [])))
    run("import", "--create", tmp_path / "job.json", "--data", tmp_path / "data")
    (row,) = json.loads(run("jobs", "--json", "--data", tmp_path / "data").stdout)
    assert row["counts"]["readings"] == 1 and row["entries"] == 4


@pytest.mark.parametrize(
    "name", ["01a1a070", "01A1A070-fdd0", TITLE, TITLE.upper(), "ts/26/031", "  TS/26/031 "]
)
def test_a_job_goes_by_several_names(data, name):
    assert json.loads(run("export", name, "--data", data).stdout)["job_id"].startswith("01a1a070")


def job_called(job_id, title="", reference="", removed=False):
    return ListedJob(job_id, job_id[:8], title, reference, "", removed, "", 1, 0)


def test_a_path_that_leads_nowhere_is_told_as_such(data):
    for name in ("none/job.json", "none.zip", "./none", "/none", "none/none"):
        assert "[file_unreadable]" in run("figures", name, "--data", data, code=2).stderr
    assert "[job_not_found]" in run("figures", "none", "--data", data, code=2).stderr


def test_a_name_that_may_mean_several_is_refused_and_they_are_listed():
    jobs = [job_called("aaaa1111-x", "One"), job_called("aaaa2222-x", "one"), job_called("bbbb3333-x", "Two")]
    for text in ("aaaa", "ONE"):
        with pytest.raises(AppError) as told:
            named(jobs, text)
        assert told.value.code == "job_ambiguous"
        assert "aaaa1111 One" in told.value.sentence and "aaaa2222" in told.value.sentence
    assert named(jobs, "aaaa1").title == "One"
    with pytest.raises(AppError) as told:
        named(jobs, "bb")
    assert told.value.code == "job_not_found", "two characters may be anything"
    with pytest.raises(AppError, match="Did you mean Two"):
        named(jobs, "Tow")
    removed = [job_called("aaaa1111-x", "One", removed=True), job_called("aaaa2222-x", "One")]
    assert named(removed, "One").job_id == "aaaa2222-x"
    assert named([*jobs, job_called("cccc4444-x", reference="aaaa1111-x")], "aaaa1111-x").title == "One"


def test_ids_are_cut_to_what_tells_them_apart():
    assert short_length([]) == 8
    assert short_length(["12345678-1", "12345678-2"]) == 10
    assert short_length(["12345678-1", "22345678-1"]) == 8


def test_completion_knows_the_commands_and_the_jobs(data):
    def completed(*words):
        env = {**os.environ, "_FALLBOOK_COMPLETE": "bash_complete", "COMP_WORDS": " ".join(words)}
        env |= {"COMP_CWORD": str(len(words) - 1), "FALLBOOK_DATA": str(data)}
        done = subprocess.run(
            [sys.executable, "-c", "from webapp.cli import main; main(prog_name='fallbook')"],
            cwd=paths.PACKAGE.parent, env=env, capture_output=True, text=True, check=True,
        )  # fmt: skip
        return done.stdout

    assert "plain,jobs" in completed("fallbook", "jo")
    assert "plain,end" in completed("fallbook", "device", "e")
    assert "plain,01a1a070" in completed("fallbook", "export", "01a1")
    assert "file," in completed("fallbook", "check", "x")
    assert f"plain,{TITLE}" in completed("fallbook", "link", "add", "Foul")
    assert "plain,--json" in completed("fallbook", "jobs", "--")


# input


def test_a_dash_is_standard_input(tmp_path):
    text = (SAMPLE / "job.json").read_bytes()
    assert "sound" in run("check", "-", stdin=text).stdout
    assert json.loads(run("export", "-", stdin=text).stdout)["job_id"]
    run("export", SAMPLE, "-o", tmp_path / "x.zip")
    whole = (tmp_path / "x.zip").read_bytes()
    assert "7 photos new" in run("import", "-", "--create", "--data", tmp_path / "data", stdin=whole).stdout
    limits = run("grading-limits").stdout
    assert "can be used" in run("grading-limits", "-", stdin=limits).stdout
    assert run("check", "-", stdin=b"", code=2).stderr.endswith("[file_kind]\n")


def test_what_comes_from_a_pipe_is_read_whole(tmp_path):
    script = f"{sys.executable} -m webapp check <(cat {SAMPLE / 'job.json'})"
    done = subprocess.run(
        ["bash", "-c", script], cwd=paths.PACKAGE.parent, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0 and "sound" in done.stdout, done.stderr


# output


def test_a_link_stays_and_what_it_leads_to_is_written(tmp_path):
    (tmp_path / "real").mkdir()
    target, link = tmp_path / "real" / "job.json", tmp_path / "link.json"
    link.symlink_to(target)
    run("export", SAMPLE, "-o", link)
    assert link.is_symlink() and target.read_bytes() == (SAMPLE / "job.json").read_bytes()
    target.write_text("mine")
    assert "[destination_exists]" in run("export", SAMPLE, "-o", link, code=2).stderr
    assert target.read_text() == "mine"
    run("export", SAMPLE, "-o", link, "--force")
    assert link.is_symlink() and target.stat().st_size > 1000
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    run("export", SAMPLE, "-o", tmp_path / "a", code=2)
    assert (tmp_path / "a").is_symlink()


def test_a_file_keeps_its_mode_and_its_place_when_it_is_replaced(tmp_path):
    out = tmp_path / "job.json"
    out.write_text("mine")
    out.chmod(0o640)
    run("export", SAMPLE, "-o", out, "--force")
    assert out.stat().st_mode & 0o777 == 0o640 and list(tmp_path.iterdir()) == [out]


def test_a_file_that_comes_meanwhile_is_not_lost(tmp_path):
    out = tmp_path / "x"
    with pytest.raises(AppError) as told, outfile.written(out, force=False) as file:
        file.write(b"ours")
        out.write_text("theirs")
    assert told.value.code == "destination_exists" and out.read_text() == "theirs"
    assert list(tmp_path.iterdir()) == [out]


def test_a_failure_leaves_nothing_half_written(tmp_path):
    out = tmp_path / "x"
    out.write_text("before")
    with pytest.raises(KeyboardInterrupt), outfile.written(out, force=True) as file:
        file.write(b"half")
        raise KeyboardInterrupt
    assert out.read_text() == "before" and list(tmp_path.iterdir()) == [out]


def test_a_device_is_written_as_it_is():
    run("export", SAMPLE, "-o", "/dev/null")
    assert Path("/dev/null").is_char_device()


def test_a_folder_is_no_output(tmp_path):
    assert "[output_folder]" in run("export", SAMPLE, "-o", tmp_path, code=2).stderr


def test_a_zip_through_a_pipe_is_the_same_as_in_a_file(tmp_path):
    run("export", SAMPLE, "-o", tmp_path / "x.zip")
    piped = run("export", SAMPLE, "--zip").stdout_bytes
    assert piped == (tmp_path / "x.zip").read_bytes()


def test_a_sample_is_copied_whole_or_not_at_all(tmp_path, monkeypatch):
    def broken(source, target, **more):
        Path(target).mkdir(parents=True, exist_ok=True)
        (Path(target) / "half").write_text("x")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copytree", broken)
    run("sample", "copy", SAMPLE.name, "-o", tmp_path / "x", code=2)
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "y").mkdir()
    run("sample", "copy", SAMPLE.name, "-o", tmp_path / "y", code=2)
    assert list((tmp_path / "y").iterdir()) == []


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

    monkeypatch.setattr("webapp.commands.jobs.jobs_of", broken)
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
        raise KeyboardInterrupt

    monkeypatch.setattr("click.Context.__exit__", late)
    done = CliRunner().invoke(main, ["recipe", "proxy"])
    assert done.exit_code == 130
    assert done.stderr.strip() == "fallbook: Stopped before it was done. [interrupted]"


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
        except KeyboardInterrupt:
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

"""The fallbook command: what it prints, where, and its exit codes."""

import inspect
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from cli_calls import SAMPLE, A, data, fails, filled, run
from servers import entries, entry

from webapp import paths
from webapp.commands.groups import load
from webapp.commands.loading import loaded
from webapp.commands.registry import EARLIER, OLD_NAMES, ROWS
from webapp.records import job_file
from webapp.store.folder_lock import lock
from webapp.timesource import new_id

__all__ = ["data", "filled"]


def test_help_tells_a_newcomer_where_to_start():
    text = run("--help").stdout
    assert "fallbook demo" in text and "Exit codes" in text
    for row in ROWS:
        assert f"  {row.words} " in text
        assert row.summary in " ".join(text.split()), "a summary is shown whole"
        one = run(*row.words.split(), "--help").stdout
        assert f"Usage: fallbook {row.words}" in one and len(one) > 150, row.words


def test_the_help_has_a_name_too():
    assert run("help").stdout == run("--help").stdout == run().stdout
    assert run("help", "link", "add").stdout == run("link", "add", "--help").stdout


def test_names_of_earlier_versions_still_work():
    text = run("--help").stdout
    for row in OLD_NAMES:
        assert f"Usage: fallbook {row.words}" in run(row.words, "--help").stdout
        assert f"  {row.words} " not in text
        assert row.summary.removeprefix("fallbook ") in {r.words for r in ROWS}


def test_a_ctrl_c_that_a_library_swallowed_stops_the_server_before_it_serves(tmp_path, monkeypatch):
    monkeypatch.setattr("webapp.commands.interrupt.came", [signal.SIGINT])
    fails("serve", "--data", tmp_path / "data", "--port", 0, code=130, error="interrupted")


def test_an_unknown_command_is_told_with_what_is_close():
    assert "Did you mean device?" in run("devicse", code=2).stderr
    assert "Did you mean list?" in run("device", "lsit", code=2).stderr


HEAVY = {
    "flask", "sqlalchemy", "alembic", "typst", "PIL", "cryptography", "fontTools", "segno", "waitress",
    "babel", "http_sf", "portalocker",
}  # fmt: skip
LIGHT = [
    ["--help"],
    ["--version"],
    ["link", "--help"],
    ["nonsense"],
    ["schema"],
    ["jobs"],
    ["sample", "list"],
]
HELPS = [[*row.words.split(), "--help"] for row in ROWS]


@pytest.mark.parametrize("row", [*ROWS, *OLD_NAMES, *EARLIER.values()], ids=lambda row: row.words)
def test_a_command_is_given_the_values_that_it_is_declared_with(row):
    declared = {one.name for one in load(row).params}
    taken = inspect.signature(loaded(row.target)).parameters.values()
    named = {one.name for one in taken if one.kind is not inspect.Parameter.VAR_KEYWORD}
    assert named <= declared
    assert named == declared or len(named) < len(taken), "what is not named goes into **options"


def test_the_command_line_starts_without_what_it_does_not_need(filled, monkeypatch):
    """One process answers for all: a module that one call had loaded would still be there after it."""
    script = """
import json, os, sys
from webapp.cli import main
seen = {}
for words in json.loads(sys.argv[1]):
    if (child := os.fork()) == 0:
        try:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1); os.dup2(1, 2)
            main(words)
        finally:
            loaded = {name.split(".")[0] for name in sys.modules}
            os.write(int(sys.argv[2]), (json.dumps([" ".join(words), sorted(loaded)]) + "\\n").encode())
            os._exit(0)
    os.waitpid(child, 0)
"""
    monkeypatch.setenv("FALLBOOK_DATA", str(filled))
    ours, theirs = os.pipe()
    command = [sys.executable, "-c", script, json.dumps([*LIGHT, *HELPS]), str(theirs)]
    process = subprocess.Popen(command, pass_fds=[theirs], cwd=paths.PACKAGE.parent)
    os.close(theirs)
    with os.fdopen(ours) as reported:
        rows = [json.loads(line) for line in reported]
    assert process.wait(60) == 0
    assert len(rows) == len(LIGHT) + len(HELPS)
    assert {words: sorted(HEAVY & set(loaded)) for words, loaded in rows if HEAVY & set(loaded)} == {}
    assert all("click" in loaded for _, loaded in rows)


def test_every_help_has_an_example_and_its_summary_is_that_of_the_list():
    for row in ROWS:
        text = run(*row.words.split(), "--help").stdout
        assert f"fallbook {row.words}" in text.split("Example:", 1)[1], row.words
        assert row.summary.endswith(".") and len(row.summary) <= 60, row.words


def test_a_data_folder_that_cannot_be_is_one_clear_line(tmp_path):
    blocker = tmp_path / "file"
    blocker.write_text("x")
    fails("serve", "--data", blocker / "data", "--port", 0, code=2, error="data_unwritable")
    fails("import", "--create", SAMPLE, "--data", blocker / "data", code=2, error="data_unwritable")
    (tmp_path / "data" / "lock").mkdir(parents=True)
    fails("serve", "--data", tmp_path / "data", "--port", 0, code=2, error="data_unwritable")


def test_a_port_that_cannot_be_is_told_as_such(data):
    assert "65535" in run("serve", "--data", data, "--port", 99999, code=2).stderr


def test_counts_have_their_words(data):
    run("import", "--create", SAMPLE, "--data", data)
    assert re.match(r"1 job, \d+ entries, \d+ photos\n", run("check-data", "--data", data).stdout)


def test_a_wrong_call_is_2():
    assert run("nonsense", code=2).stderr
    assert run("pack", code=2).stderr


def test_schema_is_a_json_schema():
    found = json.loads(run("schema").stdout)
    assert found["$schema"].endswith("2020-12/schema")
    assert found["$defs"]["reading_fields"]["properties"]["counter_m"]["x-unit"] == "m"


def test_samples_are_listed_and_written(tmp_path):
    listed = run("sample", "--list").stdout
    assert run("sample").stdout == listed
    for folder in paths.SAMPLE_JOBS.glob("*/job.json"):
        assert folder.parent.name in listed
    out = tmp_path / "school"
    run("sample", SAMPLE.name, "-o", out)
    assert (out / "job.json").read_bytes() == (SAMPLE / "job.json").read_bytes()
    assert len(list((out / "photos").iterdir())) == len(list((SAMPLE / "photos").iterdir()))
    fails("sample", SAMPLE.name, "-o", out, code=2, error="destination_exists")
    fails("sample", "nothing", "-o", tmp_path / "x", code=2, error="sample_unknown")


def test_import_check_and_import_again(data):
    assert "entries new" in run("import", "--create", "--data", data, SAMPLE, SAMPLE / "job.json").stdout
    assert re.search(
        r": 0 entries new, \d+ here already", run("import", "--create", "--data", data, SAMPLE).stdout
    )
    checked = run("check-data", "--data", data).stdout
    assert checked.startswith("1 job, ") and checked.endswith("The data folder is whole.\n")


@pytest.mark.parametrize(
    ("name", "content", "error"),
    [
        ("a.json", b"{", "file_not_json"),
        ("a.json", b"{}", "job_file_kind"),
        ("a.json", b'{"format": "fallbook-job", "version": 99}', "job_file_newer"),
        ("a.zip", b"PK\x03\x04", "zip_damaged"),
    ],
)
def test_a_file_that_cannot_be_imported(data, tmp_path, name, content, error):
    (tmp_path / name).write_bytes(content)
    code = 1 if error == "zip_damaged" else 2
    fails("import", "--create", "--data", data, tmp_path / name, code=code, error=error)


def test_a_file_that_is_not_there(data, tmp_path):
    fails("import", "--create", "--data", data, tmp_path / "none.json", code=2, error="file_unreadable")
    fails("pack", tmp_path / "none.json", "-o", tmp_path / "x.zip", code=2, error="file_unreadable")
    fails("verify", tmp_path / "none.zip", code=2, error="file_unreadable")


def test_the_folder_of_a_running_server_is_refused(data):
    run("import", "--create", "--data", data, SAMPLE)
    held = lock(data)
    try:
        fails("import", "--create", "--data", data, SAMPLE, code=2, error="folder_in_use")
        fails("serve", "--data", data, "--port", 0, code=2, error="folder_in_use")
        assert run("check-data", "--data", data).exit_code == 0, "looking is allowed"
    finally:
        held.close()


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "::", "example.org"])
def test_it_does_not_listen_to_others(data, host):
    for command in ("serve", "demo"):
        fails(command, "--data", data, "--host", host, code=2, error="address_open")
    assert not data.exists()


def test_a_port_that_is_taken(data):
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        s.listen()
        port = s.getsockname()[1]
        fails("serve", "--data", data, "--port", port, code=2, error="address_taken")


def test_a_job_of_several_files_is_imported_beside_what_is_there(data, tmp_path):
    job_id = new_id()
    sent = [entry(job_id, A, 1, "job", {"title": "Weir"}), *entries(job_id, A, 2, 4)]
    for name, part in (("one.json", sent[:2]), ("two.json", sent)):
        (tmp_path / name).write_bytes(job_file.dumps(job_file.build(job_id, part, {}, [])))
    text = run("import", "--create", "--data", data, tmp_path / "one.json", tmp_path / "two.json").stdout
    assert "2 entries new, 0 here" in text and "2 entries new, 2 here" in text


def test_the_demo_serves_the_samples(tmp_path):
    command = [sys.executable, "-u", "-m", "webapp.cli", "demo", "--data", str(tmp_path / "d"), "--port", "0"]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=Path(paths.PACKAGE).parent
    )
    try:
        seen = ""
        while "Stop with" not in seen:
            line = process.stdout.readline()
            assert line, seen
            seen += line
        url = re.search(r"http://127\.0\.0\.1:\d+/", seen)[0]
        with urllib.request.urlopen(url + "api/jobs", timeout=10) as answer:
            jobs = json.loads(answer.read())["jobs"]
        assert len(jobs) == len(list(paths.SAMPLE_JOBS.glob("*/job.json"))) >= 2
    finally:
        process.terminate()
        assert process.wait(20) == 0
        process.stdout.close()
        shutil.rmtree(tmp_path / "d", ignore_errors=True)

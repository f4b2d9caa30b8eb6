"""Jobs on the command line: listed, named in several ways, printed for programs."""

import json
import os
import subprocess
import sys

import pytest
from cli_data import SAMPLE, TITLE, data, job_called, run
from servers import entry

from webapp import paths
from webapp.errors import AppError
from webapp.records import job_file
from webapp.store.job_list import named, short_length
from webapp.timesource import new_id

__all__ = ["data"]

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
    (tmp_path / "job.json").write_bytes(job_file.dumps(job_file.build(job, sent, {}, [])))
    run("import", "--create", tmp_path / "job.json", "--data", tmp_path / "data")
    (row,) = json.loads(run("jobs", "--json", "--data", tmp_path / "data").stdout)
    assert row["counts"]["readings"] == 1 and row["entries"] == 4


@pytest.mark.parametrize(
    "name", ["01a1a070", "01A1A070-fdd0", TITLE, TITLE.upper(), "ts/26/031", "  TS/26/031 "]
)
def test_a_job_goes_by_several_names(data, name):
    assert json.loads(run("export", name, "--data", data).stdout)["job_id"].startswith("01a1a070")


def test_a_path_that_leads_nowhere_is_told_as_such(data):
    for name in ("none/job.json", "none.zip", "./none", "/none", "none/none"):
        assert "[file_unreadable]" in run("figures", name, "--data", data, code=2).stderr
    assert "[job_not_found]" in run("figures", "none", "--data", data, code=2).stderr


def test_a_name_that_may_mean_several_is_refused_and_they_are_listed():
    jobs = [job_called("aaaa1111-x", "One"), job_called("aaaa2222-x", "one"), job_called("bbbb3333-x", "Two")]
    for text in ("aaaa", "ONE"):
        with pytest.raises(AppError) as reported:
            named(jobs, text)
        assert reported.value.code == "job_ambiguous"
        assert "aaaa1111 One" in reported.value.sentence and "aaaa2222" in reported.value.sentence
    assert named(jobs, "aaaa1").title == "One"
    with pytest.raises(AppError) as reported:
        named(jobs, "bb")
    assert reported.value.code == "job_not_found", "two characters may be anything"
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

"""Every command in the registry with every kind of bad input: no traceback, one line with a code."""

import os
import re
import signal

import pytest
from cli_ground import LISTS, NAMES, SPECS, ground
from cli_matrix import COLUMNS, Cells, all_held

from webapp.commands.registry import OLD_NAMES

ERROR = re.compile(r"fallbook: .+ \[[a-z_]+\]")
# Lines beside the error that name the faults one by one, or say what happened.
BESIDE = re.compile(
    r"(faulty|damaged|missing|note|photo|Invitation|Link|Credential|It is shown)\b.*"
    r"|.*\.(json|zip|csv): .*|fallbook: .*: value \d+: .*|.*: [\d,]+ entr(y|ies)"
    r"|\d+ photos? not in the pack.*|\d+ faults? in the records: .*"
    r"|Nobody has .*|No (jobs|script).*|There are no (links|erasures)\."
    r"|Nothing has been done yet\.|\{\"time\".*"
)
STRANGE = ("Traceback", "Exception ignored", "Error:", "Warning", "[unexpected]")


@pytest.fixture(scope="module")
def place():
    with ground() as found:
        yield found


def test_every_command_is_walked():
    assert set(NAMES) == set(SPECS)
    assert len(COLUMNS) > 30


def fault_of(name, column, done):
    """Return what a call did that it must not; None if all is well."""
    lines = done.stderr.splitlines()
    if done.code not in (0, 1, 2, 130):
        return f"exit code {done.code}"
    if strange := [word for word in STRANGE if word in done.stderr + done.stdout]:
        return f"{strange} in {done.stderr[-2000:]}"
    if column == "all_full":
        return None
    gone = column in ("reader_gone", "stdout_full") and done.code == 1
    if done.code == 0 and any(ERROR.fullmatch(line) for line in lines):
        return "an error, and exit code 0"
    if done.code and not gone and not (lines and ERROR.fullmatch(lines[-1])):
        return f"no error with a code in the last line: {lines[-3:]}"
    if beyond := [line for line in lines if not ERROR.fullmatch(line) and not BESIDE.fullmatch(line)]:
        return f"more than the error on standard error: {beyond[:3]}"
    if sum(bool(ERROR.fullmatch(line)) for line in lines) > (30 if name == "selfcheck" else 1):
        return f"several errors: {lines}"
    if done.code == 2 and done.stdout and name not in LISTS and column != "word_too_many":
        return f"output before it was refused: {done.stdout[:200]}"
    return None


MUST_BE_DONE = {"good", "help", "data_good", "on_a_file", "stdin_good", "out_new"}
MUST_BE_REFUSED = {
    "option_unknown", "word_too_many", "in_missing", "in_empty", "in_wrong_kind", "in_other_json",
    "in_not_utf8", "in_half_json", "in_half_zip", "in_too_deep", "in_huge", "in_unreadable", "in_device",
    "in_name_not_utf8", "stdin_empty", "stdin_closed", "pipe_cut", "data_empty",
    "data_is_a_file", "data_below_a_file", "data_damaged", "data_unreadable", "out_there", "out_folder",
    "out_nowhere", "out_only_to_read", "out_full",
}  # fmt: skip


def wanted(name, column, code):
    """Say whether the exit code is one of those that the column allows."""
    if column in MUST_BE_DONE:
        return code == 0
    if column == "word_too_many" and name == "import":
        return code == 2
    if column in MUST_BE_REFUSED:
        return code in (1, 2)
    if column == "in_folder":
        return code in (1, 2)
    if column == "data_missing":
        return code == (0 if SPECS[name].makes else 2)
    if column == "data_only_to_read":
        return code == (2 if SPECS[name].changes else 0)
    return True


def test_a_database_that_another_process_holds(place):
    found = all_held(place)
    assert len(found) > 20
    assert found.pop("salvage").code == 0  # it reads the pages of the file, whoever holds it
    for name, done in found.items():
        assert not fault_of(name, "data_held", done), (name, fault_of(name, "data_held", done))
        assert done.code == 2 and "[busy]" in done.stderr, (name, done)


def test_a_command_that_is_ended_leaves_nothing_half_written(place):
    out = place.new("ended")
    out.mkdir()
    call = place.runner.start(["pack", place.folder / "good" / "job.json", "-o", out / "x.zip"])
    while not list(out.iterdir()):
        assert not call.over()
    os.kill(call.pid, signal.SIGTERM)
    done = call.result()
    assert done.code == 128 + signal.SIGTERM and done.stderr == "", done
    assert list(out.iterdir()) == []


# A name of an earlier version is the same function under another word.
OF_AN_OLD_NAME = ("good", "data_good", "help", "option_unknown", "in_missing", "data_missing", "data_damaged")


@pytest.mark.parametrize("name", NAMES)
def test_no_input_brings_a_traceback(place, name):
    cells, found = Cells(place, name), []
    for column in OF_AN_OLD_NAME if name in {row.words for row in OLD_NAMES} else COLUMNS:
        done = getattr(cells, column)()
        if done is None:
            continue
        if fault := fault_of(name, column, done):
            found.append(f"{column}: {fault}")
        elif not wanted(name, column, done.code):
            found.append(f"{column}: exit code {done.code}: {done.stderr[-300:]}")
    assert not found, "\n".join(found)
    left = [p.name for p in (place.folder / "tmp").iterdir()]
    assert not left, left

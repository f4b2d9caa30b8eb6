"""fallbook check: every fault of a job file is told with its place, and nothing of a sound one."""

import copy
import json
import random
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from planted_faults import (
    PLANTED,
    PLANTED_ENTRIES,
    SAMPLE,
    SAMPLES,
    STRANGER,
    bare,
    codes,
    continuous,
    drop,
    of,
    photo_of,
    set_field,
)

from webapp import jobcheck
from webapp.cli import main
from webapp.errors import AppError
from webapp.jobcheck.places import lines_of
from webapp.messages import messages
from webapp.records import job_file
from webapp.schemas import KINDS, schema_for
from webapp.schemas.base import Ref


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_fault_is_told_and_no_other(name):
    plant, expected = PLANTED[name]
    value = bare()
    plant(value)
    assert codes(value) == expected


@pytest.mark.parametrize("name", PLANTED_ENTRIES)
def test_a_planted_fault_among_the_entries_is_told(name):
    plant, expected = PLANTED_ENTRIES[name]
    value = copy.deepcopy(SAMPLE)
    value["entries"].sort(key=lambda e: (e["writer"], e["number"]))
    plant(value)
    assert codes(value) == expected


def test_the_same_in_one_run_is_a_note():
    value = bare()
    mine = [r for r in value["records"] if r["kind"] == "observation" and not r.get("removed")]
    by_run = {}
    for one in mine:
        by_run.setdefault(one["fields"]["run_id"], []).append(one)
    first, second = next(some for some in by_run.values() if len(some) > 1)[:2]
    second["fields"]["same_as"] = first["id"]
    assert codes(value) == [] and "same_in_own_run" in codes(value, "note")


def test_notes_make_nothing_unsound():
    value = bare()
    set_field(value, "run", "run_ref", of(value, "run", 1)["fields"]["run_ref"])
    value["photos"].append({"sha256": "0" * 64, "size_bytes": 1, "media_type": "image/png"})
    continuous(value, ("start", 5.0))
    of(value, "job")["removed"] = True
    assert codes(value) == []
    assert {"job_removed", "name_twice", "photo_unnamed", "continuous_odd"} <= set(codes(value, "note"))


def test_photos_that_nobody_sent_along_are_a_note_and_lost_ones_a_fault():
    value = bare()
    assert codes(value, photo=lambda _: None, carried=False) == []
    assert codes(value, "note", photo=lambda _: None, carried=False) == ["photo_missing"]
    assert codes(value, photo=lambda _: None) == ["photo_missing"]
    assert codes(value, photo=lambda _: b"other") == ["photo_damaged"]


def test_several_faults_are_all_told_each_with_its_line():
    value = bare()
    drop(value, "job", "title")
    set_field(value, "reading", "run_id", STRANGER)
    set_field(value, "observation", "code", "ZZZ")
    text = json.dumps(value, indent=1)
    faults = jobcheck.check_text(text.encode(), photo_of, carried=True)[1]
    assert len(faults) == 3
    lines = text.splitlines()
    for one in faults:
        printed = lines[one.line - 1]
        if one.code == "reference_dangling":
            assert "run_id" in printed and STRANGER in printed and one.title.startswith("Reading")
        elif one.code == "code_not_in_table":
            assert '"code": "ZZZ"' in printed
        else:
            assert "fields" in printed and one.kind == "job"


def test_every_reference_of_every_kind_is_looked_at():
    for kind in KINDS:
        for name, field in schema_for(kind).fields.items():
            if not isinstance(field, Ref):
                continue
            value = bare()
            if not any(r["kind"] == kind and not r.get("removed") for r in value["records"]):
                value["records"].append({"kind": kind, "id": STRANGER[:-1] + "1", "fields": {}})
            set_field(value, kind, name, STRANGER)
            assert "reference_dangling" in codes(value), (kind, name)


def test_a_name_that_stands_twice_in_an_object():
    text = json.dumps(bare()).replace('"version": 1', '"version": 1, "photos": []', 1)
    faults = jobcheck.check_text(text.encode(), photo_of, carried=True)[1]
    assert [one.code for one in faults if one.severity == "fault"] == ["key_twice"]


def test_every_sentence_can_be_told():
    planted = {code for table in (PLANTED, PLANTED_ENTRIES) for _, found in table.values() for code in found}
    elsewhere = {
        "job_removed",
        "key_twice",
        "photo_damaged",
        "name_twice",
        "photo_unnamed",
        "observation_odd",
        "photo_type",
        "same_in_own_run",
    }
    code_of_fault = re.compile(r"\bfault\(\s*\"(\w+)\"")
    modules = Path(jobcheck.__file__).parent.glob("*.py")
    faults = {code for path in modules for code in code_of_fault.findall(path.read_text(encoding="utf-8"))}
    assert faults - planted - elsewhere <= {"seen_unknown", "entry_kept_out"} and len(faults) > 40
    for code in faults:
        assert messages()[f"jobcheck.{code}"].strip() and code == code.lower()


def changed(value, draw):
    """Change one thing at random, anywhere."""
    holder = value
    while True:
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        if not keys:
            return
        key = draw.choice(keys)
        inner = holder[key]
        if isinstance(inner, dict | list) and inner and draw.random() < 0.8:
            holder = inner
            continue
        action = draw.random()
        if action < 0.3 and isinstance(holder, dict):
            del holder[key]
        else:
            holder[key] = draw.choice([None, 0, -1, 1e9, "", "x", [], {}, [1], True, STRANGER, {"a": 1}])
        return


@pytest.mark.parametrize("with_entries", [False, True])
def test_what_cannot_be_taken_is_always_told_and_nothing_crashes(with_entries):
    draw = random.Random(7)
    refused = reported = 0
    for _ in range(250):
        value = copy.deepcopy(SAMPLE) if with_entries else bare()
        for _ in range(draw.choice((1, 1, 2, 5))):
            changed(value, draw)
        text = json.dumps(value).encode()
        try:
            job_file.read(text)
            taken = True
        except AppError as error:
            taken = False
            kind = error.code
        try:
            faults = jobcheck.check_text(text, photo_of, carried=True)[1]
        except AppError as error:
            assert not taken and error.code == kind
            continue
        refused += not taken
        reported += bool(faults)
        assert taken or [one for one in faults if one.severity == "fault"], text[:300]
    assert refused > 50 and reported > 60


def test_lines_of_places():
    text = '{"a": [1,\n {"b/c": 2,\n  "d": {"e": 3}}],\n "f": 4}\n'
    wanted = ["", "/a", "/a/1", "/a/1/b~1c", "/a/1/d/e", "/f", "/a/1/d/missing", "/none", "/a/7"]
    assert lines_of(text, wanted) == dict(zip(wanted, [1, 1, 2, 2, 3, 4, 3, 1, 1], strict=True))


def run(*words, code):
    done = CliRunner().invoke(main, [str(w) for w in words])
    assert done.exit_code == code and "[unexpected]" not in done.stderr, done.output
    return done


def test_a_pack_and_a_hand_over_file_that_were_damaged(tmp_path):
    for made, words in (("x.zip", ("export", SAMPLES[0].parent)), ("y.zip", ("pack", SAMPLES[0].parent))):
        run(*words, "-o", tmp_path / made, code=0)
        whole = bytearray((tmp_path / made).read_bytes())
        for photo in (SAMPLES[0].parent / "photos").iterdir():
            at = whole.rfind(photo.read_bytes())
            whole[at + 5000] ^= 1
        (tmp_path / made).write_bytes(whole)
        found = json.loads(run("check", "--json", tmp_path / made, code=1).stdout)["faults"]
        assert [one["code"] for one in found].count("photo_damaged") == 7, found
        assert ("pack_mismatch" in {one["code"] for one in found}) == (made == "y.zip")
    assert "[pack_mismatch]" in run("figures", tmp_path / "y.zip", code=1).stderr


def test_the_command(tmp_path):
    assert "sound, 90 records" in run("check", SAMPLES[0].parent, code=0).stdout
    value = bare()
    drop(value, "job", "title")
    set_field(value, "reading", "run_id", STRANGER)
    (tmp_path / "job.json").write_text(json.dumps(value, indent=1), encoding="utf-8")
    done = run("check", tmp_path / "job.json", code=1)
    faults = [line for line in done.stdout.splitlines() if "note:" not in line]
    assert len(faults) == 2 and all(f"{tmp_path / 'job.json'}:" in line for line in faults)
    assert done.stderr == "fallbook: The job is not sound. 2 faults, listed above. [job_file_faulty]\n"
    as_json = json.loads(run("check", "--json", tmp_path / "job.json", code=1).stdout)
    assert as_json["ok"] is False and {one["code"] for one in as_json["faults"]} == {
        "field_missing",
        "reference_dangling",
    }
    assert all(one["line"] > 1 and one["pointer"].startswith("/records/") for one in as_json["faults"])
    reported = run("pack", tmp_path / "job.json", "-o", tmp_path / "x.zip", code=0).stderr
    assert re.search(r"^2 faults in the records: .+ fallbook check tells each\.$", reported, re.M)
    assert "faults" not in run("pack", SAMPLES[0].parent, "-o", tmp_path / "y.zip", code=0).stderr
    (tmp_path / "bad.json").write_text('{"format": "fallbook-job",\n "version" 1}')
    assert "line 2, column 12" in run("check", tmp_path / "bad.json", code=2).stderr

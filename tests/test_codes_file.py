"""A client's own codes by a file: every fault named by its row, and the codes known wherever codes are."""

import copy
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp import tables
from webapp.app import create_app
from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.errors import AppError
from webapp.pack import observations_csv, words
from webapp.survey.coding import code_search, codes
from webapp.survey.plan import turns
from webapp.tables import codes_file
from webapp.web import shell

ROOT = Path(__file__).resolve().parent.parent
LADDER = {
    "code": "XLA", "title": "Step iron", "group": "inventory", "help": "A step iron in the wall.",
    "search_words": "ladder rung, climbing iron", "clock_references": 1, "clock_needed": True,
    "characterisation_1": [{"value": "A", "label": "Sound"},
                         {"value": "Z", "label": "Other", "remark": True}],
    "quantification_1": {"label": "How far it stands out", "unit": "mm",
                         "least": 10, "most": 400, "usual": [150]},
}  # fmt: skip
OWN = {
    "format": "fallbook-codes", "version": 1, "client": "Vale Water (invented)",
    "rows": [LADDER, {"code": "XNO", "title": "Nothing special"},
             {"code": "BDB", "title": "Note", "replaces": True}],
}  # fmt: skip


def with_row(**changes):
    own = copy.deepcopy(OWN)
    own["rows"][0].update(changes)
    return own


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "codes.json"
    path.write_text(json.dumps(OWN), encoding="utf-8")
    return path


def run(*args):
    return CliRunner().invoke(main, ["codes", *map(str, args)])


@pytest.mark.parametrize(
    ("first", "second", "sides"),
    [
        ({"label": "Turns left"}, {"label": "Turns right"}, (-1, 1)),
        ({"label": "Turns right"}, {"label": "Turns left"}, (1, -1)),
        ({"label": "Nach links", "side": "left"}, {"label": "Nach rechts", "side": "right"}, (-1, 1)),
        ({"label": "Left of the wall", "side": "right"}, {"label": "Left or right"}, (1, None)),
    ],
)
def test_a_clients_bend_turns_to_the_side_that_its_letter_states(first, second, sides):
    letters = [{"value": "A", **first}, {"value": "B", **second}]
    bend = {"code": "BCC", "title": "Bend", "replaces": True, "characterisation_1": letters}
    own = OWN | {"rows": [bend]}
    assert codes_file.check(own) == []
    (row,) = (
        r for r in codes_file.merged(tables.shipped("observation_codes"), own)["rows"] if r["code"] == "BCC"
    )
    assert (turns.side_of(row, "A"), turns.side_of(row, "B")) == sides


def test_a_side_that_is_none_is_a_fault():
    wrong = with_row(characterisation_1=[{"value": "A", "label": "Sound", "side": "up"}])
    assert codes_file.check(wrong) == [
        'row 1 (XLA): characterisation_1: choice 1: side is "left" or "right".'
    ]


def test_a_sound_file_can_be_used(file):
    assert codes_file.check(OWN) == []
    done = run(file)
    assert done.exit_code == 0 and "Vale Water (invented): 3 codes." in done.output
    assert "BDB takes the place" in done.output and "XNO has no search_words" in done.output
    found = run(file, "--find", "ladder")
    assert "XLA      Step iron" in found.output
    printed = run(file, "--read", "XLA A 600 mm at 3")
    assert "XLA (Step iron)" in printed.output and "10 to 400 mm is common" in printed.output
    bad = run("--read", "XLA three")
    assert (
        bad.exit_code == 1
        and "three cannot be read" in bad.output
        and "XLA is not in the table" in bad.output
    )


def test_rows_of_a_client_are_whole_rows(file):
    table = codes_file.read(file)
    ladder, note = (codes.find_code(table["rows"], code) for code in ("XLA", "BDB"))
    assert set(tables.shipped("observation_codes")["rows"][0]) - {
        "characterisation_2_with",
        "page_one",
    } <= set(ladder)
    assert len(table["rows"]) == len(tables.shipped("observation_codes")["rows"]) + 2
    assert note["client"] == "Vale Water (invented)" and "replaces" not in note
    assert [f["code"] for f in codes.check_observation(table["rows"], {"code": "XLA"})] == [
        "characterisation_missing", "clock_missing",
    ]  # fmt: skip
    assert code_search.search_codes(table, "climbing irn", 1) == [ladder]


def test_the_example_of_the_guide_can_be_used():
    text = (ROOT / "webapp/tables/README.md").read_text(encoding="utf-8")
    example = re.search(r'```json\n(\{"format": "fallbook-codes".*?)```', text, re.DOTALL)
    assert codes_file.check(json.loads(example[1])) == []


FAULTS = [
    ([], "its format is not fallbook-codes"),
    ({**OWN, "version": 2}, "Only version 1"),
    ({**OWN, "client": " "}, "client: the name"),
    ({**OWN, "rows": []}, "rows: a list"),
    ({**OWN, "rows": ["XLA"]}, "row 1: not an object"),
    ({**OWN, "rows": [LADDER, LADDER]}, "row 2 (XLA): row 1 has the same code"),
    ({**OWN, "colour": 1}, "colour: not known here"),
    (with_row(code="ladder"), "row 1 (ladder): code: 1 to 8 capital letters"),
    (with_row(code="BAB"), "row 1 (BAB): this is a code of the standard"),
    (with_row(replaces=True), "row 1 (XLA): replaces is for codes of the standard"),
    (with_row(title=""), "row 1 (XLA): title: a text"),
    (with_row(titel="x"), "row 1 (XLA): titel: not known here"),
    (with_row(group="water"), "group: one of fabric, operation, inventory, other"),
    (with_row(joint=True), "joint: one of"),
    (with_row(continuous="yes"), "continuous: true or false"),
    (with_row(clock_references=3), "clock_references: 0, 1 or 2"),
    (with_row(clock_references=0), "clock_needed: with clock_references 0"),
    (with_row(characterisation_1="AB"), "characterisation_1: a list of value and label"),
    (with_row(characterisation_1=[{"value": "a", "label": "x"}]), "characterisation_1: choice 1"),
    (with_row(characterisation_1=[{"value": "A", "label": "x", "key": 1}]), "choice 1: besides value"),
    (with_row(characterisation_1=[{"value": "A", "label": "x"}] * 2), "A stands there twice"),
    (with_row(characterisation_2_needed=True), "characterisation_2_needed: there is nothing to choose"),
    (with_row(quantification_1=5), "quantification_1: an object with label and unit"),
    (with_row(quantification_1={"label": "Size"}), "no number goes without its unit"),
    (with_row(quantification_1={"label": "a", "unit": "mm", "least": 1}), "least and most go together"),
    (
        with_row(quantification_1={"label": "a", "unit": "mm", "least": 9, "most": 1}),
        "two numbers, the second",
    ),
    (with_row(quantification_1={"label": "a", "unit": "mm", "usual": ["x"]}), "usual: a list of numbers"),
    (with_row(quantification_2={"label": "a", "unit": "mm", "big": 1}), "big: not known here"),
    (with_row(quantification_2={"label": "a", "unit": "mm", "needed": 1}), "needed is true or false"),
]


@pytest.mark.parametrize(("own", "printed"), FAULTS, ids=range(len(FAULTS)))
def test_every_fault_is_named(own, printed):
    faults = codes_file.check(own)
    assert any(printed in fault for fault in faults), faults


def test_a_faulty_file_ends_in_sentences(tmp_path):
    path = tmp_path / "bad.json"
    path.write_text(json.dumps(with_row(group="water", joint=1)), encoding="utf-8")
    done = run(path)
    assert done.exit_code == 1 and done.output.count("faulty: row 1 (XLA)") == 2 and "2 faults" in done.output
    path.write_text('{"format"')
    assert "[file_not_json]" in run(path).output and "[file_unreadable]" in run(tmp_path / "none").output
    path.write_bytes(b" " * (codes_file.MAX_BYTES + 1))
    assert "larger than 2 MB" in run(path).output


def test_a_server_with_a_faulty_file_does_not_start(tmp_path, monkeypatch):
    path = tmp_path / "bad.json"
    path.write_text(json.dumps(with_row(group="water")), encoding="utf-8")
    monkeypatch.setenv("FALLBOOK_CODES", str(path))
    with pytest.raises(AppError) as reported:
        create_app({"DATA_FOLDER": tmp_path / "data"})
    assert reported.value.code == "codes_faulty" and "row 1 (XLA): group" in reported.value.sentence


def test_phones_are_served_the_codes(file, monkeypatch):
    before = shell.release().name
    monkeypatch.setenv("FALLBOOK_CODES", str(file))
    after, files = shell.release().name, shell.release().files
    (data,) = [file.body for path, file in files.items() if path.endswith(".json")]
    for rows in (
        json.loads(shell.made()["/tables/observation_codes.json"])["rows"],
        json.loads(data)["tables"]["observation_codes"]["rows"],
    ):
        assert "Step iron" in [row["title"] for row in rows]
    assert after != before and shell.release_name() == after


values = st.recursive(
    st.none() | st.booleans() | st.integers(-2, 5) | st.sampled_from(["A", "XLA", "BAB", "mm", ""]),
    lambda inner: (
        st.lists(inner, max_size=2)
        | st.dictionaries(st.sampled_from(["value", "label", "unit", "least", "most"]), inner, max_size=3)
    ),
    max_leaves=4,
)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(codes_file.KNOWN)), values))
def test_any_row_is_judged_and_what_is_sound_can_be_used(changes):
    own = with_row(**changes)
    faults = codes_file.check(own)
    assert all(fault.endswith(".") for fault in faults)
    if not faults:
        table = codes_file.merged(tables.shipped("observation_codes"), own)
        row = codes.find_code(table["rows"], own["rows"][0]["code"])
        assert all(
            one["code"]
            for one in codes.check_observation([row], {"code": row["code"], "quantification_1": 5})
        )


def test_server_phones_and_packs_know_the_codes(file, monkeypatch):
    monkeypatch.setenv("FALLBOOK_CODES", str(file))
    job = json.loads((ROOT / "sample_jobs" / "school_foul_drain" / "job.json").read_bytes())
    first = next(r for r in job["records"] if r["kind"] == "observation" and not r.get("removed"))
    first["fields"] = {k: first["fields"][k] for k in ("run_id", "counter_m")}
    first["fields"] |= {
        "code": "XLA",
        "characterisation_1": "A",
        "quantification_1": 150,
        "clock": {"hour_from": 3},
    }
    first.pop("conflicts", None)
    job.pop("entries", None)
    contents = assemble(job)
    seen = [o for one in contents.runs for o in one.observations if o.code == "XLA"]
    assert [(o.title, o.words, o.code_from) for o in seen] == [("Step iron", ("Sound",), OWN["client"])]
    assert "Vale Water (invented),XLA A 150 mm at 3" in observations_csv.render(contents).decode("utf-8-sig")
    printed = "Codes of Vale Water (invented), which are not of EN 13508-2:2003+A1:2011: XLA (Step iron)."
    assert printed in words.limits(contents)
    monkeypatch.delenv("FALLBOOK_CODES")
    assert any("kept as given: XLA" in line for line in words.limits(assemble(job)))

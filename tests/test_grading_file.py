"""A firm's own limits: every fault told by its row, a sound file used by pack, figures and phones alike."""

import copy
import functools
import json

import pytest
from click.testing import CliRunner

from webapp import tables
from webapp.app import create_app
from webapp.cli import main
from webapp.errors import AppError
from webapp.survey.table_types import GradingLimits
from webapp.tables import grading_file
from webapp.tables.fit import misfits
from webapp.web import shell


@pytest.fixture
def scheme():
    return copy.deepcopy(tables.shipped("grading_limits"))


def row_of(scheme, code, goal="stability", rule=None):
    rows = scheme["rows"]
    return next(r for r in rows if (r["code"], r["goal"]) == (code, goal) and rule in (None, r["rule"]))


def test_the_shipped_limits_are_sound(scheme):
    assert grading_file.check(scheme) == []


FAULTS = {
    "a unit that is not recorded": (
        lambda s: row_of(s, "BAB", rule="limits").update(unit="cm"),
        "recorded in mm, not in cm",
    ),
    "a smaller size that is worse": (
        lambda s: row_of(s, "BAB", rule="limits").update(limits={"1": 0, "3": 5, "4": 4}),
        "more severe class begins at a greater size",
    ),
    "no beginning": (
        lambda s: row_of(s, "BAB", rule="limits").update(limits={"2": 1}),
        "mildest class begins at 0",
    ),
    "a class beyond five": (lambda s: row_of(s, "BAO").update({"class": 6}), "class: 1 to 5"),
    "a goal of its own": (lambda s: row_of(s, "BAO").update(goal="beauty"), "goal: one of tightness"),
    "a rule of its own": (lambda s: row_of(s, "BAO").update(rule="guess"), "rule: flat, limits or capacity"),
    "a form of its own": (lambda s: row_of(s, "BBA", "operation").update(form="round"), "form: one of"),
    "no source": (lambda s: row_of(s, "BAO").update(source=" "), "source: a text is needed"),
    "a size where none is recorded": (
        lambda s: row_of(s, "BAO").update(rule="limits", limits={"1": 0}, unit="mm"),
        "carries no size",
    ),
    "text for a limit": (
        lambda s: row_of(s, "BAB", rule="limits").update(limits={"1": "0"}),
        "every limit is a number",
    ),
    "letters that are no list": (
        lambda s: row_of(s, "BAO").update(characterisation_1="A"),
        "a list of letters",
    ),
    "a share that grows": (
        lambda s: s.update(capacity_left_pct={"2": 50, "3": 60}),
        "begins at a smaller share",
    ),
    "five classes": (lambda s: s["classes"].pop(), "classes: six are needed"),
    "numbers that do not grow": (lambda s: s["classes"][3].update(number=5), "classes, row 4: its number"),
    "an input nobody records": (lambda s: s["extra_points"][0].update(input="moon"), "no input 'moon'"),
    "a material nobody knows": (lambda s: s["pipes"]["rigid"].append("cheese"), "no material 'cheese'"),
    "a length of nothing": (lambda s: s.update(point_length_m=0), "point_length_m: a length above 0 m"),
    "a condition without a code": (lambda s: s["immediate"][0].update(code=None), "immediate, row 1: a code"),
    "no name": (lambda s: s.update(name=""), "name: a text is needed"),
    "another version": (lambda s: s.update(version=2), "Only version 1"),
    "another format": (lambda s: s.update(format="x"), "its format is not fallbook-grading"),
    "a material that is no text": (lambda s: s["pipes"]["rigid"].append([]), "no material []"),
    "an input that is no text": (lambda s: s["extra_points"][0].update(value={}), "with the value {}"),
    "zones that are no list": (
        lambda s: next(r for r in s["immediate"] if r.get("zones")).update(zones=7),
        "zones: not of the form",
    ),
    "no rows": (lambda s: s.update(rows={}), "rows: a list is needed"),
}


@pytest.mark.parametrize("fault", sorted(FAULTS))
def test_a_fault_is_told_by_its_row(scheme, fault):
    spoil, words = FAULTS[fault]
    spoil(scheme)
    found = grading_file.check(scheme)
    assert any(words in one for one in found), found
    assert len(found) <= 2
    if words.startswith(("class:", "goal:", "rule:")):
        place = 1 + next(
            k for k, r in enumerate(scheme["rows"]) if r["code"] == "BAO" and (r["goal"] != "tightness")
        )
        assert found[0].startswith(f"rows, row {place} (BAO):")


@pytest.mark.parametrize(
    "junk", [None, 3, [], "x", {}, {"format": "fallbook-grading", "version": 1, "rows": [None, 3, {}]}]
)
def test_anything_at_all_is_answered_with_sentences(junk):
    assert grading_file.check(junk) and all(isinstance(one, str) for one in grading_file.check(junk))


def parts_of(value, path=()):
    yield path
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            yield from parts_of(value[key], (*path, key))


def one_of_each_form(rows):
    return list({tuple(sorted(row)): row for row in rows}.values())


def test_whatever_is_accepted_is_of_the_type(scheme):
    """Each part left out or made something else: it is refused in a sentence, or what comes of it fits."""
    for name in ("rows", "immediate", "extra_points"):
        scheme[name] = one_of_each_form(scheme[name])
    scheme["pipes"] = {name: scheme["pipes"][name][:1] for name in ("rigid", "flexible")}
    accepted = 0
    for *path, key in filter(None, list(parts_of(scheme))):
        for change in (None, [], {}, 3, "x", [{}], True, "left out"):
            spoilt = copy.deepcopy(scheme)
            inside = functools.reduce(lambda value, name: value[name], path, spoilt)
            if change == "left out" and isinstance(inside, dict):
                del inside[key]
            else:
                inside[key] = change
            if not grading_file.check(spoilt):
                accepted += 1
                whole = grading_file.whole(spoilt)
                assert [w for w, form in misfits(whole, GradingLimits) if form is not None] == [], (path, key)
    assert accepted > 50


def test_rows_that_leave_out_their_letters_grade_as_with_none(tmp_path, scheme):
    for row in (*scheme["rows"], *scheme["immediate"]):
        for name in ("characterisation_1", "characterisation_2"):
            if not row.get(name, True):
                del row[name]
    file = tmp_path / "firm.json"
    file.write_text(json.dumps(scheme), encoding="utf-8")
    assert grading_file.read(file) == tables.shipped("grading_limits")


def command(*words):
    return CliRunner().invoke(main, ["grading-limits", *(str(w) for w in words)])


def test_the_command_prints_checks_and_refuses(tmp_path, scheme):
    printed = command()
    assert printed.exit_code == 0 and json.loads(printed.stdout) == scheme
    file = tmp_path / "ours.json"
    scheme["name"] = "Limits of Example Surveys"
    scheme["rows"] = [r for r in scheme["rows"] if r["code"] != "BAN"]
    file.write_text(json.dumps(scheme), encoding="utf-8")
    good = command(file)
    assert good.exit_code == 0 and "Limits of Example Surveys" in good.stdout
    assert "no limits for BAN" in good.stdout
    scheme["rows"][4]["goal"] = "beauty"
    file.write_text(json.dumps(scheme), encoding="utf-8")
    bad = command(file)
    assert (
        bad.exit_code == 1 and "faulty: rows, row 5" in bad.stderr and "[grading_limits_faulty]" in bad.stderr
    )
    file.write_text("{", encoding="utf-8")
    assert command(file).exit_code == 2 and command(tmp_path / "none.json").exit_code == 2


def test_the_setting_puts_a_firm_s_limits_in_place(tmp_path, scheme, monkeypatch):
    file = tmp_path / "firm.json"
    scheme["name"] = "Limits of Example Surveys"
    row = row_of(scheme, "BAO")
    row.update(
        {"class": 2, "basis": "sourced", "source": "Handbook of Example Surveys", "certainty": "our own"}
    )
    file.write_text(json.dumps(scheme), encoding="utf-8")
    monkeypatch.setenv("FALLBOOK_GRADING", str(file))
    assert tables.load("grading_limits")["name"] == "Limits of Example Surveys"
    assert b"Limits of Example Surveys" in shell.made()["/tables/grading_limits.json"]
    from pack_jobs import Maker

    from webapp.assembly.job import assemble

    job = Maker()
    job.add("job", title="Firm")
    run = job.add("run", run_ref="R1")
    job.add("observation", run_id=run, code="BAO", counter_m=4.0)
    found = assemble(job.job_file()).runs[0].condition
    assert found.scheme == "Limits of Example Surveys"
    stability = next(c for c in found.classes if c.goal == "stability")
    assert (stability.high, stability.basis) == (2, "Handbook of Example Surveys (our own)")


def test_a_faulty_setting_is_told_before_anything_starts(tmp_path, monkeypatch):
    file = tmp_path / "firm-faulty.json"
    file.write_text('{"format": "fallbook-grading", "version": 1}', encoding="utf-8")
    monkeypatch.setenv("FALLBOOK_GRADING", str(file))
    with pytest.raises(AppError) as caught:
        create_app({"DATA_FOLDER": tmp_path / "data"})
    assert caught.value.code == "grading_limits_faulty" and "name: a text is needed" in caught.value.sentence
    assert not (tmp_path / "data").exists()

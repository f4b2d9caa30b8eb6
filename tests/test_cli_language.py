"""What commands print in a second language: no word outside the catalogue, no decimal point."""

import json

import pytest
import second_language

from webapp import tables

CODES = {"usage", "code", "characterisation", "quantification", "clock", "hour", "from", "to", "fallbook"}
CALLS = [
    (("figures", "JOB"), 0),
    (("check", "JOB"), 0),
    (("pack", "JOB", "-o", "OUT/pack.zip"), 0),
    (("grading-limits", "OUT/limits.json"), 0),
    (("import", "--create", "--data", "OUT/data", "JOB"), 0),
    (("jobs", "--data", "OUT/data"), 0),
    (("check-data", "--data", "OUT/data"), 0),
    (("device", "list", "--data", "OUT/data"), 0),
    (("export", "01a1a070", "--data", "OUT/data", "-o", "OUT/job.zip"), 0),
    (("codes", "--read", "BAB B A 3 mm at 10-2"), 0),
    (("nothing",), 2),
]


@pytest.fixture(scope="module")
def spoken(tmp_path_factory):
    """What each call prints, one after the other in the same folder."""
    out = tmp_path_factory.mktemp("said")
    root = second_language.app_in_it(tmp_path_factory.mktemp("app"))
    (out / "limits.json").write_text(json.dumps(tables.shipped("grading_limits")), "utf-8")
    job = str(root / "sample_jobs" / "school_foul_drain")
    found = {}
    for call, ends in CALLS:
        words = [word.replace("OUT", str(out)).replace("JOB", job) for word in call]
        found[call[0]] = second_language.fallbook(root, *words, ends=ends)
    return found


@pytest.mark.parametrize("name", [call[0] for call, _ in CALLS])
def test_a_command_prints_nothing_but_sentences_and_data(spoken, name):
    said = spoken[name]
    assert second_language.OPENS in said
    assert set(second_language.outside(said)) <= CODES, said[:2000]
    assert second_language.points(said, second_language.recorded()) == []


def test_a_word_outside_is_seen():
    assert second_language.outside("‹Run ‹F1› ends› stray door at ‹3,5 m›") == ["at", "door", "stray"]
    assert second_language.points("at 3.5 m", []) == ["3.5"]

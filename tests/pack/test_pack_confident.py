"""Nothing false with a confident face: small jobs of one awkward thing each; see ``confident_cases``."""

import json

import pytest
from agreement import disagreements
from confident_cases import CASES
from pack_jobs import built

from webapp.assemble import assemble
from webapp.commands.figures import _lines
from webapp.pack.report import report_data


def words(value):
    """Every text in plain data, one after another."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        return "\n".join(words(one) for one in value)
    return str(value)


def pictures(contents):
    from webapp.pack.pictures import Picture

    return {p.sha256: ("", Picture(None, "missing")) for p in contents.photos}


@pytest.mark.parametrize("name", CASES)
def test_what_is_not_so_is_not_said(name):
    case = CASES[name]
    contents = assemble(case.maker.job_file())
    page, text = words(report_data(contents, pictures(contents), {})), "\n".join(_lines(contents))
    flat = " ".join(page.split())
    for said in case.said:
        assert said in flat or said[:1].upper() + said[1:] in flat, (case.why, said)
    for unsaid in case.unsaid:
        assert unsaid not in page and unsaid not in text, (case.why, unsaid)
    (run,) = contents.runs
    if case.capacity:
        assert run.figures.whole_run is None
        numbers = [row.left_out for row in run.figures.capacities]
        assert case.capacity == "none" or set(numbers) == {case.capacity}, (case.why, numbers)
    if case.forbidden:
        told = " ".join(line for part in run.condition.parts for line in part.forbidden)
        acts = {"jet": "Do not jet", "load": "No vehicles", "enter": "Nobody enters", "cut": "Do not cut",
                "pull": "Do not pull"}  # fmt: skip
        assert all(acts[act] in told for act in case.forbidden), (case.why, told)


@pytest.mark.parametrize("name", CASES)
def test_and_all_files_say_the_same(name):
    job = CASES[name].maker.job_file()
    assert disagreements(built(job)[0], job) == []


def test_there_are_thirty_and_each_says_what_would_be_false():
    assert len(CASES) >= 30 and all(case.why for case in CASES.values())
    assert len({json.dumps(case.maker.entries) for case in CASES.values()}) == len(CASES)

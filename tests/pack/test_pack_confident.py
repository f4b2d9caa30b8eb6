"""Nothing false with a confident face: small jobs of one awkward thing each; see ``confident_cases``."""

import json

import pytest
from agreement import disagreements
from confident_cases import CASES
from generated_jobs import jobs
from hypothesis import given, settings
from pack_jobs import built

from webapp import tables
from webapp.assembly.job import assemble
from webapp.commands.run.figures import figure_lines
from webapp.pack.report import report_data

ACTIONS = tables.load("actions")
FORBIDS = {row["act"]: row["words"] for row in ACTIONS["acts"]}
NEEDS = {row["action"]: set(row["acts"]) for row in ACTIONS["actions"]}


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
    page, text = words(report_data(contents, pictures(contents), {})), "\n".join(figure_lines(contents))
    flat = " ".join(page.split())
    for output in case.stated:
        assert output in flat or output[:1].upper() + output[1:] in flat, (case.why, output)
    for unsaid in case.unsaid:
        assert unsaid not in page and unsaid not in text, (case.why, unsaid)
    (run,) = contents.runs
    if case.capacity:
        assert run.figures.whole_run is None
        numbers = [row.left_out for row in run.figures.capacities]
        assert case.capacity == "none" or set(numbers) == {case.capacity}, (case.why, numbers)
    if case.forbidden:
        reported = " ".join(line for part in run.condition.parts for line in part.forbidden)
        acts = {"jet": "Do not jet", "load": "No vehicles", "enter": "Nobody enters", "cut": "Do not cut",
                "pull": "Do not pull"}  # fmt: skip
        assert all(acts[act] in reported for act in case.forbidden), (case.why, reported)


@pytest.mark.parametrize("name", CASES)
def test_and_all_files_say_the_same(name):
    job = CASES[name].maker.job_file()
    assert disagreements(built(job)[0], job) == []


def test_there_are_thirty_and_each_says_what_would_be_false():
    assert len(CASES) >= 30 and all(case.why for case in CASES.values())
    assert len({json.dumps(case.maker.entries) for case in CASES.values()}) == len(CASES)


def hidden_of(run):
    """The lengths that could not be seen; all of it where nobody looked."""
    if not run.sight.looked or run.sight.total_m is None:
        return [(0.0, run.surveyed_m or 0.0)]
    return [(part.from_m, part.to_m) for part in run.sight.parts if part.sight == "hidden"]


def overlap_m(one, other):
    return min(one[1], other[1]) - max(one[0], other[0])


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_nothing_is_known_over_a_length_not_seen(maker):
    contents = assemble(maker.job_file())
    output = words(report_data(contents, pictures(contents), {}))
    for run in contents.runs:
        hidden = [span for span in hidden_of(run) if span[1] - span[0] > 0.01]
        blind_m = sum(to_m - from_m for from_m, to_m in hidden)
        if run.sight.total_m is None or (hidden and not run.sight.looked):
            assert "No defect was seen" not in run.sight.words
        for row in run.figures.capacities:
            ends = (row.from_m, row.to_m)
            seen = run.sight.looked and run.sight.total_m is not None
            if seen and None not in ends and any(overlap_m(ends, span) > 0.01 for span in hidden):
                assert row.mean_m3_s is None and row.left_out
        if hidden and run.condition:
            for found in run.condition.classes:
                assert "not known" in found.words or "as far as recorded" in found.words
            parts = [part for part in run.condition.parts if part.from_m is not None]
            for part in parts:
                ends = (part.from_m, part.to_m if part.to_m is not None else run.surveyed_m or 0.0)
                if any(overlap_m(ends, span) > 0.01 for span in hidden):
                    assert all("not known" in c.words for c in part.classes), part
                    assert not any(act.action == "none" for act in part.suggested)
        if blind_m > 0.01:
            assert f"No defect was seen in the {run.sight.total_m or 0:.2f} m surveyed" not in output


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_no_number_exceeds_a_stretch_and_no_do_contradicts_a_do_not(maker):
    for run in assemble(maker.job_file()).runs:
        rows, whole = run.figures.capacities, run.figures.whole_run
        means = [row.mean_m3_s for row in rows if row.mean_m3_s is not None]
        if whole is not None and whole.mean_m3_s is not None:
            assert whole.mean_m3_s <= min(means) * (1 + 1e-9) and not run.figures.limits
            assert not any(row.left_out for row in rows)
        for row in rows:
            if row.mean_m3_s is not None:
                assert row.low_m3_s <= row.mean_m3_s <= row.high_m3_s
                assert not any(one.size is None for one in row.narrowed_by)
        for part in run.condition.parts if run.condition else ():
            reported = " ".join(part.forbidden)
            acts = {act for act, sentence in FORBIDS.items() if sentence in reported}
            for one in part.suggested:
                assert not NEEDS[one.action] & acts, (one, reported)
            assert not (part.waiting and not part.forbidden)
            names = [one.action for one in part.suggested]
            assert len(names) == len(set(names)) and not ("none" in names and len(names) > 1)

"""One length surveyed in pieces: the pack tells of it once, with what was not surveyed between."""

import csv
import io
import json

import pdf_facts
import pytest
from agreement import disagreements
from click.testing import CliRunner
from generated_jobs import jobs
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from pack_jobs import Maker, built
from two_ended import nodes_of, piece, two_ended

from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.pack import inspection_txt, observations_csv, report_pdf, summary


def page_one(maker):
    return " ".join(pdf_facts.text(report_pdf.render(assemble(maker.job_file())))[0].split())


def only(maker):
    (run,) = assemble(maker.job_file()).runs
    return run


def test_obstructed_and_surveyed_on_from_the_other_end_is_one_length():
    maker, _, _ = two_ended()
    contents = assemble(maker.job_file())
    (run,) = contents.runs
    assert (run.ref, run.surveyed_m, run.end_m, run.remaining_m) == ("R1 + R2", 45.0, 45.0, None)
    assert (run.length.closing_m, run.length.not_surveyed_m, run.length.twice_m) == (0.0, 0.0, 0.0)
    assert (run.sight.hidden_m, run.sight.clear_m) == (0.0, pytest.approx(45.0))
    printed = summary.summary(contents, 0)
    assert printed["unseen"] == []
    assert sum("obstruction" in line for line in printed["next"]) == 1
    page = page_one(maker)
    assert page.count("remove the obstruction") == 1 and "beyond 28.40 m" not in page
    assert "Closing difference, the length expected less what was surveyed from either end: 0.00 m." in page
    assert "everything beyond" not in page and "Surveyed from both ends" in page


def test_its_records_lie_along_the_length_and_are_turned_round():
    run = only(two_ended()[0])
    cracks = [o for o in run.observations if o.code == "BAB"]
    assert [(o.run_ref, o.counter_m, o.chainage_m, o.clock_from) for o in cracks] == [
        ("R1", 1.0, 1.0, 3), ("R2", 1.0, 44.0, 9),
    ]  # fmt: skip
    assert [(s.from_m, s.to_m) for s in run.stretches] == [(0.0, 28.4), (28.4, 45.0)]
    far = run.readings[-1]
    assert (far.run_ref, far.counter_m, far.chainage_m, far.deg) == ("R2", 0.0, 45.0, -0.5)
    assert far.inclination["sense"] == "rising"  # as typed


def test_levels_from_both_ends_are_adjusted_together():
    both = only(two_ended()[0])
    levels = {round(v.chainage_m, 3): v for v in both.figures.levels}
    assert levels[0.0].level_m == pytest.approx(8.5, abs=0.005)
    assert levels[45.0].level_m == pytest.approx(8.1, abs=0.005)
    alone = Maker()
    alone.add("job", title="From one end")
    piece(alone, "R1", nodes_of(alone), 28.4, expected_length_m=45.0)
    assert levels[28.0].sd_m < 0.7 * only(alone).figures.levels[-2].sd_m


def test_a_gap_between_the_runs_is_unseen_and_withholds_the_capacity():
    maker, _, _ = two_ended(b_m=10.0)
    contents = assemble(maker.job_file())
    (run,) = contents.runs
    assert run.length.between == ((28.4, pytest.approx(35.0)),)
    assert (run.surveyed_m, run.end_m) == (pytest.approx(38.4), 45.0)
    assert run.sight.hidden_m == pytest.approx(6.6) and run.sight.total_m == 45.0
    printed = summary.summary(contents, 0)
    assert printed["unseen"] == ["Run R1 + R2: from 28.40 m to 35.00 m nothing could be seen: not surveyed."]
    assert run.figures.bottleneck.index is None
    assert any(
        "what it carries is not given. Of the length 6.60 m were not surveyed." in n
        for n in printed["numbers"]
    )
    assert not any("the run carries" in line or "carries least" in line for line in printed["numbers"])
    assert {c.words.rpartition(", ")[2] for c in run.condition.classes} == {"not known over 6.60 m"}
    assert "then survey the 6.60 m between" in " ".join(printed["next"])
    reported = " ".join(" ".join(pdf_facts.text(report_pdf.render(contents))).split())
    assert "Where the whole length carries least is not known: not all of it was surveyed." in reported
    assert "Those of R2 were typed looking from the other end." in reported
    assert reported.count("recorded in run R2") == 2
    between = [g for g in run.figures.gaps if g.length_m == pytest.approx(6.6)]
    assert between[0].status == "solved"  # by the levels at both ends
    edges = {round(v.chainage_m, 2): v.known for v in run.figures.levels}
    assert (edges[28.4], edges[35.0]) == ("assumed", "computed")  # a reading stands at 35.00 m, none at 28.40


def test_where_a_run_ended_is_in_dispute_in_a_length_too():
    maker, one, _ = two_ended()
    maker.add("run", record_id=one, writer="writer-two", end_counter_m=20.0)
    maker.entries = [e for e in maker.entries if e["fields"].get("code") != "BDC"]
    for number, entry in enumerate((e for e in maker.entries if e["writer"] == "writer-one"), 1):
        entry["number"] = number
    run = only(maker)
    assert run.length.runs[0].surveyed_m in (20.0, 28.4)
    assert not any(p.sight == "clear" and p.from_m < 24.0 < p.to_m for p in run.sight.parts)


@pytest.mark.parametrize("reason", ["obstruction", "end_of_cable"])
def test_what_stopped_both_runs_and_has_no_size_leaves_no_number_for_the_whole(reason):
    contents = assemble(two_ended(reason=reason)[0].job_file())
    (run,) = contents.runs
    assert (run.figures.whole_run is None) == (reason == "obstruction")
    lines = " ".join(summary.summary(contents, 0)["numbers"])
    assert ("the run carries as a whole is not given" in lines) == (reason == "obstruction")


def test_without_a_level_at_the_far_end_what_lies_beyond_a_gap_is_bounded():
    maker = Maker()
    maker.add("job", title="No level at the far end")
    ends = nodes_of(maker, levels=False)
    one = piece(maker, "R1", ends, 28.4, expected_length_m=45.0)
    piece(maker, "R2", ends[::-1], 10.0, turned=True, continues_run_id=one)
    far = only(maker).figures.levels[-1]
    assert far.level_m is None and far.high_m - far.low_m > 2 * 6.5


def test_an_overlap_is_stated_and_counted_once():
    run = only(two_ended(b_m=20.0)[0])
    assert (run.length.closing_m, run.length.twice_m) == (pytest.approx(-3.4), pytest.approx(3.4))
    assert run.sight.total_m == 45.0 == run.surveyed_m
    assert "Either the runs overlap, or a counter or the length expected is wrong." in run.length.words


def test_a_join_that_is_not_known_is_said_once():
    contents = assemble(two_ended(b_m=10.0, expected_m=None)[0].job_file())
    assert [r.ref for r in contents.runs] == ["R1", "R2"]
    printed = summary.summary(contents, 0)
    assert sum("not known, nor what lies between" in line for line in printed["unseen"]) == 1
    assert sum("obstruction" in line for line in printed["next"]) == 1
    assert not any("l/s" in line for line in printed["numbers"])


@pytest.mark.parametrize("same", [True, False])
def test_crossed_twice_a_defect_seen_from_both_sides_counts_once_if_marked(same):
    maker = Maker()
    maker.add("job", title="Crossed twice")
    ends = nodes_of(maker)
    one = piece(maker, "R1", ends, 30.0, "node_reached", expected_length_m=30.0)
    two = piece(maker, "R2", ends[::-1], 30.2, "node_reached", turned=True, continues_run_id=one)
    roots = {"code": "BBA", "characterisation_1": "B"}
    there = maker.add("observation", run_id=one, counter_m=12.0, quantification_1=25, **roots)
    mark = {"same_as": there} if same else {}
    maker.add("observation", run_id=two, counter_m=18.1, quantification_1=30, **roots, **mark)
    contents = assemble(maker.job_file())
    (run,) = contents.runs
    tile = dict((t[0], t[2]) for t in summary.summary(contents, 0)["runs"][0]["tiles"])
    assert tile["Observations"] == ("3 of them defects" if same else "4 of them defects")
    assert sum("may have been recorded in two runs" in words for words in run.length.words) == (not same)
    graded = [g for g in run.condition.graded if g.code == "BBA" and g.goal == "operation"]
    assert len(graded) == (1 if same else 2)
    if same:  # both views widen the class
        assert graded[0].low < graded[0].high and graded[0].known == "bounded"
        assert run.length.how == "seen_from_both"
        assert run.length.length_m == pytest.approx(30.1)
    else:
        assert (run.length.how, run.length.length_m) == ("counter", 30.2)
    assert run.sight.hidden_m == pytest.approx(0.0, abs=0.11)


def test_what_one_run_could_not_see_the_other_saw():
    maker = Maker()
    maker.add("job", title="Crossed twice")
    ends = nodes_of(maker)
    one = piece(maker, "R1", ends, 30.0, "node_reached", expected_length_m=30.0)
    for role, at_m in (("start", 10.0), ("finish", 20.0)):
        maker.add("observation", run_id=one, code="BDG", characterisation_1="A", counter_m=at_m,
                  continuous={"role": role, "number": 1})  # fmt: skip
    assert only(maker).sight.hidden_m == 10.0
    piece(maker, "R2", ends[::-1], 14.0, turned=True, continues_run_id=one)
    run = only(maker)
    assert (run.sight.hidden_m, run.sight.total_m) == (pytest.approx(6.0), 30.0)
    assert any("from 10.00 m to 16.00 m" in p.words.lower() for p in run.sight.parts)


def test_a_run_continued_on_another_day_from_the_same_end():
    maker = Maker()
    maker.add("job", title="Two days")
    ends = nodes_of(maker)
    one = piece(maker, "R1", ends, 28.4, expected_length_m=45.0)
    two = piece(maker, "R2", ends, 40.0, "end_of_cable", continues_run_id=one)
    contents = assemble(maker.job_file())
    (run,) = contents.runs
    assert (run.surveyed_m, run.remaining_m, run.end_reason) == (40.0, pytest.approx(5.0), "end_of_cable")
    assert run.length.how == "same_start" and two != run.record_id
    printed = summary.summary(contents, 0)
    assert not any("obstruction" in line for line in printed["next"])  # it was passed
    assert sum("survey the rest from the other end" in line for line in printed["next"]) == 1
    assert printed["unseen"] == [
        "Run R1 + R2: about 5.0 m beyond 40.00 m (expected length less surveyed length)."
    ]


def test_something_continuous_seen_from_the_other_end_is_turned_round():
    maker, _, two = two_ended()
    for role, at_m, size in (("start", 4.0, 10), ("change", 6.0, 30), ("finish", 9.0, None)):
        more = {} if size is None else {"quantification_1": size}
        maker.add("observation", run_id=two, code="BBC", characterisation_1="A", counter_m=at_m,
                  continuous={"role": role, "number": 1}, **more)  # fmt: skip
    run = only(maker)
    start = next(o for o in run.observations if o.code == "BBC" and o.continuous_role == "start")
    assert (start.chainage_m, start.finish_m, start.counter_m) == (36.0, 41.0, 9.0)
    lengths = {(g.from_m, g.to_m): g.left_low_pct for g in run.condition.graded if g.code == "BBC"}
    assert set(lengths) == {(36.0, 39.0), (39.0, 41.0)}
    partly = [(p.from_m, p.to_m, p.depth_pct) for p in run.sight.parts if p.sight == "part"]
    assert partly == [(36.0, 39.0, 30)] or partly == [(36.0, 39.0, 30), (39.0, 41.0, 10)]


def test_photos_and_files_agree_with_the_report(tmp_path):
    maker, _, two = two_ended(b_m=10.0)
    maker.photo(b"a picture", run_id=two, counter_m=5.0, caption="Joint")
    contents = assemble(maker.job_file())
    assert (contents.photos[0].chainage_m, contents.photos[0].run_ref) == (40.0, "R1 + R2")
    rows = list(csv.DictReader(io.StringIO(observations_csv.render(contents).decode("utf-8-sig"))))
    mine = [(r["recorded_in_run"], r["counter_m"], r["chainage_m"]) for r in rows if r["code"] == "BAB"]
    assert mine == [("R1", "1.0", "1.0"), ("R2", "1.0", "44.0")]
    file = tmp_path / "job.json"
    file.write_text(json.dumps(maker.job_file()))
    text = CliRunner().invoke(main, ["figures", str(file)]).output
    assert "Not surveyed: from 28.40 m to 35.00 m." in text
    plain = json.loads(CliRunner().invoke(main, ["figures", "--json", str(file)]).stdout)["runs"][0]
    assert plain["length"]["not_surveyed_m"] == pytest.approx(6.6) == plain["sight"]["hidden_m"]
    assert plain["choke"]["index"] is None
    exchange = inspection_txt.render(contents).decode("iso-8859-1")
    assert exchange.count("#B01") == 2  # two inspections, each from its own start
    assert any("continues another" in words for words in inspection_txt.not_carried(contents))


def test_the_order_of_the_two_runs_does_not_matter():
    maker = Maker()
    maker.add("job", title="The other first")
    ends = nodes_of(maker)
    one = piece(maker, "R1", ends[::-1], 10.0, turned=True, expected_length_m=45.0)
    piece(maker, "R2", ends, 28.4, continues_run_id=one)
    run, other = only(maker), only(two_ended(b_m=10.0)[0])
    assert run.sight.hidden_m == pytest.approx(other.sight.hidden_m)
    assert run.length.between[0] == pytest.approx((10.0, 16.6))
    assert run.figures.rise.value_m == pytest.approx(-other.figures.rise.value_m)
    assert run.figures.rise.sd_m == pytest.approx(other.figures.rise.sd_m)


@pytest.mark.parametrize(("b_m", "expected_m"), [(16.6, 45.0), (10.0, 45.0), (20.0, 45.0), (10.0, None)])
def test_all_files_of_a_length_agree(b_m, expected_m):
    maker, _, two = two_ended(b_m=b_m, expected_m=expected_m)
    maker.add("observation", run_id=two, code="BBD", counter_m=5.0, characterisation_1="A")
    job = maker.job_file()
    data, _ = built(job)
    assert disagreements(data, job) == []


@settings(max_examples=8, deadline=None, phases=(Phase.explicit, Phase.reuse, Phase.generate))
@given(jobs(), st.sampled_from(["other", "other", "same"]))
def test_the_files_of_any_length_agree(maker, end):
    """Any two runs put together: every file says the same, and what was seen and not makes the length."""
    runs = [e for e in maker.entries if e["kind"] == "run" and "run_ref" in e["fields"]]
    assume(len(runs) == 2)
    nodes = [e["record_id"] for e in maker.entries if e["kind"] == "node"]
    one, two = runs
    two["fields"] |= {"continues_run_id": one["record_id"]}
    if end == "other":
        two["fields"] |= {"start_node_id": nodes[1], "finish_node_id": nodes[0]}
    job = maker.job_file()
    data, _ = built(job)
    assert disagreements(data, job) == []
    for run in assemble(job).runs:
        if run.length.joined:
            found = run.sight.clear_m + run.sight.part_m + run.sight.hidden_m
            assert found == pytest.approx(run.length.length_m)
            assert run.sight.hidden_m >= run.length.not_surveyed_m - 1e-6


def test_every_page_of_a_length_is_made():
    for b_m in (16.6, 10.0, 20.0):
        text = pdf_facts.text(report_pdf.render(assemble(two_ended(b_m=b_m)[0].job_file())))
        assert "Surveyed in pieces" in " ".join(" ".join(text).split())

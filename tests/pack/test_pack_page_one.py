"""Page one of a job with many runs: the worst first, warnings capped and linked, what presses in sight."""

import io
import re

import pdf_facts
import pikepdf
import pytest
from pack_jobs import Maker, sample

from webapp.assembly.job import assemble
from webapp.pack import report_pdf, summary, warned
from webapp.pack.report import report_data
from webapp.pack.worst import worst_first

ROOTS = {"code": "BBA", "characterisation_1": "B", "quantification_1": 5, "clock": {"hour_from": 12}}
COLLAPSE = {"code": "BAC", "characterisation_1": "C", "clock": {"hour_from": 12}}
MASS = {"code": "BBA", "characterisation_1": "C", "quantification_1": 80, "clock": {"hour_from": 12}}
SOIL = {"code": "BAO"}


def job(*runs):
    """A job with a run for each list of observations."""
    maker = Maker()
    maker.add("job", title="Many runs")
    node = maker.add("node", node_ref="A", node_type="manhole")
    for number, observations in enumerate(runs, 1):
        ends = {"end_reason": "node_reached", "end_counter_m": 20.0}
        run = maker.add(
            "run", run_ref=f"R{number}", start_node_id=node, direction="with_flow", counter_zero_m=0, **ends
        )
        maker.add("stretch", run_id=run, from_counter_m=0, to_counter_m=20, shape="circular", height_mm=150)
        maker.readings(run, *((4 * n, -0.7) for n in range(6)))
        for place, fields in enumerate(observations):
            maker.add("observation", run_id=run, counter_m=5 + place, **fields)
    return assemble(maker.job_file())


def page_one(contents):
    return pdf_facts.text(report_pdf.render(contents))[0]


@pytest.mark.parametrize("worst", [0, 5, 11])
def test_the_worst_run_comes_first_wherever_it_was_recorded(worst):
    runs = [[ROOTS] for _ in range(12)]
    runs[worst] = [COLLAPSE]
    runs[(worst + 3) % 12] = [MASS]
    contents = job(*runs)
    order = [run.ref for run in worst_first(contents)]
    assert order[:2] == [f"R{worst + 1}", f"R{(worst + 3) % 12 + 1}"]
    shown = summary.summary(contents, 0)
    assert [run["ref"] for run in shown["runs"]] == order[: summary.MAX_RUNS]
    assert shown["findings"][0]["run"] == order[0]
    assert shown["runs_more"] == "The worst stand here first; 4 more runs follow in this report."
    page = page_one(contents)
    assert "Collapse at 5.00 m" in page and "What is needed next" in page and "What could not be seen" in page


def test_runs_that_are_alike_stand_as_they_were_recorded():
    contents = job(*[[ROOTS]] * 6)
    assert [run.ref for run in worst_first(contents)] == ["R1", "R2", "R3", "R4", "R5", "R6"]
    assert "The worst" not in summary.summary(contents, 0)["runs_more"]


def test_the_report_itself_keeps_the_order_of_recording():
    contents = job([ROOTS], [ROOTS], [ROOTS], [ROOTS], [COLLAPSE])
    assert [run["ref"] for run in report_data(contents, {}, {})["runs"]] == ["R1", "R2", "R3", "R4", "R5"]


def test_many_warnings_are_capped_and_all_of_them_are_in_the_report():
    contents = job(*[[COLLAPSE, SOIL]] * 9)
    data = report_data(contents, {}, {})
    assert len(data["warnings"]) == warned.MAX_WARNINGS
    words, to = data["warnings"][-1]
    count = len(data["all_warnings"])
    left = count - warned.MAX_WARNINGS + 1
    assert words == f"And {left} more warnings: all {count} are listed further on."
    assert to == "all-warnings" and count >= 18
    assert data["all_warnings"][: warned.MAX_WARNINGS - 1] == data["warnings"][:-1]
    pdf = report_pdf.render(contents)
    assert pdf_facts.faults(pdf) == []
    pages = [" ".join(page.split()) for page in pdf_facts.text(pdf)]
    behind = next(page for page in pages[1:] if "All warnings" in page)
    assert (
        all(f"Run R{n}. Collapse at 5.00 m" in " ".join(pages) for n in range(1, 10)) and "Run R9" in behind
    )


def test_few_warnings_are_not_said_twice():
    data = report_data(job([COLLAPSE]), {}, {})
    assert data["all_warnings"] == [] and 0 < len(data["warnings"]) <= warned.MAX_WARNINGS


def test_a_warning_leads_to_the_page_that_says_more():
    pdf = report_pdf.render(job([ROOTS], [COLLAPSE]))
    with pikepdf.open(io.BytesIO(pdf)) as document:
        links = [a for a in document.pages[0].get("/Annots", []) if a.Subtype == "/Link"]
        pages = {page.objgen: n for n, page in enumerate(document.pages)}
        ends = {pages[_target(document, link)[0].objgen] for link in links}
    assert len(links) >= 2 and ends and 0 not in ends
    texts = [" ".join(page.split()) for page in pdf_facts.text(pdf)]
    assert any("Run R2" in texts[n] for n in ends)


def _target(document, link):
    """Return where a link leads: the array of a page and a place on it."""
    where = link.get("/Dest") if "/Dest" in link else link.A.D
    if isinstance(where, pikepdf.Array):
        return where
    names = document.Root.Names.Dests
    found = pikepdf.NameTree(names)[str(where)]
    return found.D if isinstance(found, pikepdf.Dictionary) else found


def test_what_must_not_be_done_and_what_presses_comes_before_the_rest():
    shown = summary.summary(job(*[[MASS]] * 5, [COLLAPSE]), 0)["next"]
    forbidden = ("nobody enters", "do not", "stop")
    assert shown[0].startswith("Run R6") and any(word in shown[0].lower() for word in forbidden), shown


def test_medium_term_actions_stand_on_page_one():
    contents = assemble(sample("school_foul_drain")[0])
    output = [one for one in summary.summary(contents, 0)["next"] if "medium term" in one]
    assert output and output[0] in " ".join(page_one(contents).split())


def test_the_water_that_the_levels_explain_least_stands_on_page_one():
    contents = assemble(sample("school_foul_drain")[0])
    seen = contents.runs[0].figures.water
    strongest = max(
        (one for one in seen if one.verdict != "agrees"), key=lambda one: abs(one.difference_m) / one.sd_m
    )
    page = " ".join(page_one(contents).split())
    reported = re.search(
        r"water seen at ([\d.]+) m: ([\d.]+) m \(sd [\d.]+ m\) above the running water; the levels", page
    )
    assert reported and float(reported[1]) == pytest.approx(strongest.chainage_m, abs=0.006)
    assert float(reported[2]) == pytest.approx(strongest.observed_m, abs=0.0006)


def test_water_that_agrees_is_not_brought_up():
    contents = job([ROOTS])
    assert not any("water seen" in one for one in summary.summary(contents, 0)["numbers"])


def test_of_many_runs_those_of_which_most_was_not_seen_are_named_first():
    blind = {
        "code": "BDD",
        "characterisation_1": "C",
        "quantification_1": 95,
        "continuous": {"role": "start", "number": 1},
    }
    end = blind | {"continuous": {"role": "finish", "number": 1}}
    shown = summary.summary(job(*[[ROOTS]] * 6, [blind, ROOTS, end]), 0)["seen"]
    assert shown[0].startswith("Run R7") and shown[-1] == "And 4 more; see the runs."

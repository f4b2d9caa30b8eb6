"""A pipe recorded as going on ends where the run ends, in every table and under the drawing."""

import re

import pytest
from pack_jobs import Maker

from webapp import exchange, tables
from webapp.assembly.job import assemble
from webapp.pack.drawing import run_svgs
from webapp.pack.report import report_data
from webapp.records.fold import fold

WORDS = tables.messages()


def open_pipe(end=True, **more):
    made = Maker()
    made.add("job", title="Open")
    run = made.add("run", run_ref="R1", direction="with_flow", counter_zero_m=0,
                   **({"end_counter_m": 28.4, "end_reason": "obstruction"} if end else {}))  # fmt: skip
    made.readings(run, *((m, -1.0) for m in (0, 10, 20, 28)))
    made.add("stretch", run_id=run, from_counter_m=0, shape="circular", height_mm=300, material="concrete",
             size_known="measured")  # fmt: skip
    made.add("stretch", run_id=run, from_counter_m=12, shape="circular", height_mm=225,
             material="vitrified_clay", size_known="measured")  # fmt: skip
    if more:
        made.add("observation", run_id=run, **more)
    return made.job_file()


ENDS = [{}, {"end": False, "counter_m": 28.4, "code": "BDC", "characterisation_1": "A"}]


@pytest.mark.parametrize("more", ENDS)
def test_the_stretches_reach_the_end_of_the_run(more):
    contents = assemble(open_pipe(**more))
    (run,) = contents.runs
    assert [(s.from_m, s.to_m, s.to_counter_m, s.to_known) for s in run.stretches] == [
        (0, 12, None, "start_of_next"), (12, 28.4, None, "end_of_run"),
    ]  # fmt: skip
    rows = report_data(contents, {}, {})["runs"][0]["stretches"]
    assert [row[0] for row in rows] == [
        "0.00 to 12.00 m, where the next begins",
        "12.00 to 28.40 m, where the run ends",
    ]


@pytest.mark.parametrize("more", ENDS)
def test_both_are_drawn_under_the_levels(more):
    (run,) = assemble(open_pipe(**more)).runs
    svg = "".join(run_svgs(WORDS, run))
    bars = [float(w) for w in re.findall(r'<rect [^>]*width="([\d.]+)" height="20"', svg)]
    assert len(bars) == 2 and bars[1] / bars[0] == pytest.approx(16.4 / 12, rel=0.02)


def test_no_bore_is_assumed_where_it_was_recorded():
    (run,) = assemble(open_pipe()).runs
    assert [(c.bore, c.size_known) for c in run.figures.capacities] == [
        ("Circular 300 mm", "Measured here"), ("Circular 225 mm", "Measured here"),
    ]  # fmt: skip
    assert run.figures.capacities[-1].to_m == 28.4
    assert not [one for one in assemble(open_pipe()).not_closed.items if one.code == "stretch_missing"]


def rows_of(job):
    (inspection,) = exchange.inspections_of(fold(job["entries"])).inspections
    return [(row["A"], row["B"], row["I"]) for row in inspection.rows if row["A"] in ("BCE", "BDC")]


@pytest.mark.parametrize("more", ENDS)
def test_the_exchange_file_tells_of_the_end_once_whichever_way_it_was_entered(more):
    assert rows_of(open_pipe(**more)) == [("BDC", "A", 28.4)]


def test_entered_both_ways_it_is_still_one():
    both = open_pipe(counter_m=28.4, code="BDC", characterisation_1="A")
    assert rows_of(both) == [("BDC", "A", 28.4)]

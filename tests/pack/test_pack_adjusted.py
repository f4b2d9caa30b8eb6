"""A tie's level, measured and adjusted, in every table; one extent for a reading beyond the range."""

import csv
import io
import json
import re

import pytest
from click.testing import CliRunner
from pack_jobs import Maker

from webapp import tables
from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.pack import levels_csv, observations_csv, readings_csv
from webapp.pack.figure_tables import sections
from webapp.pack.report import report_data

WORDS = tables.messages()


def tied():
    """A fall of 10 mm too much between two ties, so that 1.470 measured is not what is adjusted."""
    made = Maker()
    made.add("job", title="Ties")
    run = made.add("run", run_ref="R1", direction="with_flow", counter_zero_m=0, end_counter_m=20,
                   end_reason="node_reached")  # fmt: skip
    made.readings(run, (0, -1.0), (4, -1.0), (10, -1.0), (20, -1.0))
    made.add("level_tie", run_id=run, counter_m=0, invert_level_m=1.470, sd_m=0.01, method="levelled")
    made.add("level_tie", run_id=run, counter_m=20, invert_level_m=0.700, sd_m=0.01, method="levelled")
    made.add("observation", run_id=run, counter_m=0, code="BCD", characterisation_1="A")
    return made.job_file()


def rows(module, contents):
    return list(csv.DictReader(io.StringIO(module.render(contents).decode("utf-8-sig"))))


@pytest.fixture(scope="module")
def contents():
    return assemble(tied())


def test_no_adjusted_level_is_called_measured(contents):
    (run,) = contents.runs
    first, last = run.figures.levels[0], run.figures.levels[-1]
    assert (first.known, first.measured_m) == ("adjusted", (1.47,))
    assert abs(first.level_m - 1.47) > 0.002 and abs(last.level_m - 0.7) > 0.002
    assert {v.known for v in run.figures.levels} == {"adjusted", "computed"}
    assert all(v.measured_m == () for v in run.figures.levels if v.known == "computed")
    (near, far) = run.figures.ties
    assert near.adjusted_m == first.level_m and far.adjusted_m == last.level_m
    assert near.invert_level_m - near.adjusted_m == pytest.approx(near.after_m)


def test_both_levels_stand_in_the_tables_and_the_report(contents):
    (run,) = contents.runs
    adjusted = f"{run.figures.levels[0].level_m:.3f}"
    found = {s.key: s for s in sections(WORDS, run)}
    levels, ties = found["levels"].rows[0], found["ties"].rows[0]
    assert levels[1] == adjusted and levels[-1] == "adjusted; measured 1.470 m"
    assert (ties[1], ties[3]) == ("1.470", adjusted)
    data = report_data(contents, {}, {})["runs"][0]
    start = dict((name, value) for name, value in data["facts"])["Start level"]
    assert adjusted in start and "adjusted; measured 1.470 m" in start
    assert "adjusted; measured 1.470 m" in data["readings"][0][-1]
    details = data["observations"][0]["details"]
    assert f"invert of the main pipe {adjusted} m (adjusted; measured 1.470 m)" in details


def test_both_levels_stand_in_the_csv_files(contents):
    (run,) = contents.runs
    adjusted = round(run.figures.levels[0].level_m, 4)
    found = rows(levels_csv, contents)
    assert (float(found[0]["level_m"]), float(found[0]["measured_m"])) == (adjusted, 1.47)
    tie = next(row for row in found if row["meaning"] == "level tie")
    assert (float(tie["tie_level_m"]), float(tie["tie_adjusted_m"])) == (1.47, adjusted)
    for module in (readings_csv, observations_csv):
        row = rows(module, contents)[0]
        reported = (float(row["level_m"]), row["level_how_known"], float(row["level_measured_m"]))
        assert reported == (adjusted, "adjusted", 1.47)
    assert rows(observations_csv, contents)[0]["place_of_level"] == "invert of the main pipe"


def test_both_levels_are_printed_by_the_command(tmp_path, contents):
    path = tmp_path / "job.json"
    path.write_text(json.dumps(tied()), "utf-8")
    adjusted = f"{contents.runs[0].figures.levels[0].level_m:.3f}"
    text = CliRunner().invoke(main, ["figures", str(path)]).output
    assert re.search(rf"0\.00 +{adjusted} .*adjusted; measured 1\.470 m", text)
    plain = json.loads(CliRunner().invoke(main, ["figures", str(path), "--json"]).stdout)["runs"][0]
    assert plain["levels"][0]["known"] == "adjusted" and plain["levels"][0]["measured_m"] == [1.47]
    assert plain["observations"][0]["level_of"] == "invert of the main pipe"


def beyond(*places):
    made = Maker()
    made.add("job", title="Beyond")
    run = made.add("run", run_ref="R1", direction="with_flow", counter_zero_m=0, end_counter_m=20,
                   end_reason="obstruction")  # fmt: skip
    marks = {place: "-" for place in places}
    made.readings(run, *((m, marks.get(m, -1.0)) for m in (0, 4, 7, 10, 14, 20)))
    return assemble(made.job_file())


@pytest.mark.parametrize(
    "places,spans",
    [((7,), [(4, 10)]), ((0,), [(0, 4)]), ((20,), [(14, 20)]), ((7, 10), [(4, 14)]),
     ((4, 14), [(0, 7), (10, 20)])],
)  # fmt: skip
def test_a_reading_beyond_the_range_has_one_place_and_one_extent(places, spans):
    contents = beyond(*places)
    (run,) = contents.runs
    assert list(run.over_range) == spans
    gaps = run.figures.gaps
    assert [g.chainage_m for g in gaps] == list(places)
    assert min(g.from_m for g in gaps) == spans[0][0] and max(g.to_m for g in gaps) == spans[-1][1]
    table = next(s for s in sections(WORDS, run) if s.key == "gaps")
    assert [(float(r[0]), float(r[1]), float(r[2])) for r in table.rows] == [
        (g.chainage_m, g.from_m, g.to_m) for g in gaps
    ]
    bounded = [(r.from_m, r.to_m) for r in run.figures.lengths if r.known == "bounded"]
    assert bounded[0][0] == spans[0][0] and bounded[-1][1] == spans[-1][1]
    first = f"from {spans[0][0]:.2f} to {spans[0][1]:.2f} m"
    assert first in json.dumps(report_data(contents, {}, {})["summary"], default=str)


def test_in_single_pipes_it_stands_where_it_was_read():
    """A single pipe that holds one reading is straight: the reading acts from its beginning to its end."""
    made = Maker()
    made.add("job", title="Pipes")
    run = made.add("run", run_ref="R1", direction="with_flow", counter_zero_m=0, end_counter_m=8,
                   end_reason="obstruction")  # fmt: skip
    made.add("stretch", run_id=run, from_counter_m=0, to_counter_m=8, shape="circular", height_mm=150,
             pipe_unit_length_m=1)  # fmt: skip
    made.readings(run, (0.5, -1.0), (2.4, -1.0), (3.3, "-"), (6.6, -1.0))
    (run,) = assemble(made.job_file()).runs
    (over,) = [r for r in run.readings if r.over]
    (gap,) = run.figures.gaps
    assert gap.chainage_m == over.chainage_m == pytest.approx(3.3)
    assert gap.from_m <= gap.chainage_m <= gap.to_m and run.over_range == ((gap.from_m, gap.to_m),)

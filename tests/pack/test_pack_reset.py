"""A counter that was reset part-way, in every file that says where something lies."""

import dataclasses
import json

import pytest
from click.testing import CliRunner
from pack_jobs import Maker
from test_pack_tables import rows

from webapp import tables
from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.pack import inspection_txt, observations_csv, readings_csv, report, texts

WORDS = tables.messages()


@pytest.fixture(scope="module")
def job():
    maker = Maker()
    maker.add("job", title="Reset")
    run = maker.add("run", run_ref="R1", direction="with_flow", counter_zero_m=0.5, end_counter_m=8.0)
    maker.add(
        "stretch",
        run_id=run,
        from_counter_m=0.5,
        to_counter_m=8.0,
        to_part=2,
        height_mm=150,
        shape="circular",
    )
    maker.readings(run, (0.5, -1.0), (12.5, -1.0))
    shown = {"size": 1.0, "unit": "deg", "sense": "falling"}
    reset = {"had_shown_m": 13.0, "set_to_m": 0.0}
    maker.add("reading", run_id=run, counter_m=1.0, inclination=shown, counter_reset=reset)
    maker.readings(run, (8.0, -1.0))
    maker.add("observation", run_id=run, counter_m=7.0, code="BAB", characterisation_1="B")
    maker.add("remark", run_id=run, counter_m=2.0, text="Water drips.")
    maker.photo(b"\xff\xd8", run_id=run, counter_m=3.0)
    return maker.job_file()


def test_raw_counters_stay_and_chainages_count_on(job):
    contents = assemble(job)
    (run,) = contents.runs
    read = rows(readings_csv, contents)
    assert [r["counter_m"] for r in read] == ["0.5", "12.5", "1.0", "8.0"]
    assert [float(r["chainage_m"]) for r in read] == [0.0, 12.0, 13.5, 20.5]
    assert [(r["counter_had_shown_m"], r["counter_set_to_m"]) for r in read][1:3] == [
        ("", ""),
        ("13.0", "0.0"),
    ]
    (seen,) = rows(observations_csv, contents)
    assert (seen["counter_m"], float(seen["chainage_m"])) == ("7.0", 19.5)
    assert (run.end_counter_m, run.surveyed_m) == (8.0, 20.5)
    assert (run.stretches[0].to_counter_m, run.stretches[0].to_m) == (8.0, 20.5)
    assert (run.remarks[0].counter_m, run.remarks[0].chainage_m) == (2.0, 14.5)
    assert (run.photos[0].counter_m, run.photos[0].chainage_m) == (3.0, 15.5)
    assert [(r.had_shown_m, r.set_to_m, r.chainage_m) for r in run.counter_resets] == [(13.0, 0.0, 12.5)]
    assert not [words for _, words in run.findings if "less than" in words]
    record = next(r for r in contents.records if r.fields.get("counter_reset"))
    assert record.fields["counter_m"] == 1.0  # job.json holds what was recorded


def test_the_report_and_the_exchange_file_tell_of_it(job):
    contents = assemble(job)
    words = texts.counter_resets(WORDS, contents.runs[0])
    assert words == (
        "at chainage 12.50 m (computed) it had shown 13.00 m and was set to 0.00 m (recorded). "
        "Chainages count on through it."
    )
    bare = dataclasses.replace(contents, runs=(dataclasses.replace(contents.runs[0], photos=()),), photos=())
    reported = report.report_data(bare, {}, {})["runs"][0]["facts"]
    assert ["Counter reset", words] in reported
    text = inspection_txt.render(contents).decode("latin-1")
    assert "19.50" in text and "7.00" not in text
    assert any("resets of the counter" in line for line in inspection_txt.not_carried(contents))


def test_the_figures_command_tells_of_it(job, tmp_path):
    path = tmp_path / "job.json"
    path.write_text(json.dumps(job))
    found = json.loads(CliRunner().invoke(main, ["figures", str(path), "--json"]).stdout)
    (run,) = found["runs"]
    assert run["counter_resets"][0]["chainage_m"] == 12.5 and run["surveyed_m"] == 20.5
    assert run["readings"][2]["counter_m"] == 1.0
    assert "Counter reset: at chainage 12.50 m" in CliRunner().invoke(main, ["figures", str(path)]).output

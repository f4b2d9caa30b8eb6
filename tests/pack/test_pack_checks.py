"""A pack says what each check comes to, what is usual, and where a check was first made."""

import json

from click.testing import CliRunner
from pack_jobs import Maker

from webapp import tables
from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.pack.figure_tables import sections
from webapp.pack.report import report_data

WORDS = tables.messages()

VERDICT = "Counter reads 0.5 % long, within the usual. Distances are shortened by 0.5 %."


def checked(**more):
    made = Maker()
    made.add("job", title="Checks")
    node = made.add("node", node_ref="A")
    run = made.add("run", run_ref="R1", direction="with_flow", counter_zero_m=0, start_node_id=node)
    made.readings(run, (0, -1.0), (4, -1.0))
    tape = {"counter_from_m": 0, "counter_to_m": 20.1, "taped_length_m": 20}
    made.add("check", check_type="counter_tape", **(tape | more))
    return made.job_file()


def test_the_verdict_stands_at_the_check_and_wherever_what_was_typed_is_corrected():
    contents = assemble(checked())
    data = report_data(contents, {}, {})
    assert data["checks"][0][2].startswith(VERDICT)
    run = data["runs"][0]
    assert ["Instrument checks", VERDICT] in run["facts"]
    assert VERDICT in run["readings_note"]
    instruments = next(s for s in sections(WORDS, contents.runs[0]) if s.key == "instruments")
    assert instruments.lines == (VERDICT,) and "common practice, no source" in instruments.note


def test_without_a_check_there_is_no_verdict():
    job = checked()
    job["records"] = [r for r in job["records"] if r["kind"] != "check"]
    job["entries"] = [e for e in job["entries"] if e["kind"] != "check"]
    for number, entry in enumerate(job["entries"], 1):
        entry["number"] = number
    data = report_data(assemble(job), {}, {})["runs"][0]
    assert "usual" not in json.dumps([data["facts"], data["readings_note"]])


def test_a_check_taken_over_says_where_and_when_it_was_made():
    contents = assemble(checked(first_made_for="Morning", first_made_at="2026-11-25T08:40:00.000+00:00"))
    follows = report_data(contents, {}, {})["checks"][0][2]
    assert "Made on 25 Nov 2026, 08:40 UTC, for the job “Morning”, and taken over here" in follows
    assert "Morning" not in report_data(contents, {}, {})["checks"][0][1]


def test_the_command_prints_it(tmp_path):
    path = tmp_path / "job.json"
    path.write_text(json.dumps(checked()), "utf-8")
    assert VERDICT in CliRunner().invoke(main, ["figures", str(path)]).output


def test_a_check_beyond_the_usual_is_a_finding_of_every_run_that_it_corrects():
    usual, far = (assemble(checked(taped_length_m=m)) for m in (20, 19))
    assert not [words for _, words in usual.runs[0].findings if "usual" in words]
    (words,) = [words for _, words in far.runs[0].findings if "usual" in words]
    assert words.startswith("Counter reads 5.8 % long, beyond the usual.") and "Check it again" in words

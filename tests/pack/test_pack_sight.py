"""What was seen, in the pack: a blind survey claims nothing, and hazards to people come first."""

import dataclasses
import io
import json

import pdf_facts
import pytest
from click.testing import CliRunner
from pack_jobs import NO_PHOTOS, SAMPLES, Maker, built, sample

from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.pack import report_pdf, summary

PIPE = {"from_counter_m": 0.0, "to_counter_m": 40.0, "shape": "circular", "height_mm": 300}
PIPE |= {"size_known": "measured", "material": "concrete"}


def run_of(maker, **more):
    fields = {"run_ref": "R1", "direction": "with_flow", "counter_zero_m": 0.0, "end_reason": "node_reached"}
    run_id = maker.add("run", **fields, end_counter_m=40.0, **more)
    maker.readings(run_id, *((m, -0.6) for m in range(0, 41, 4)))
    return run_id


def continuous(maker, run_id, code, from_m, to_m, number, **more):
    for role, at_m in (("start", from_m), ("finish", to_m)):
        mark = {"role": role, "number": number}
        maker.add("observation", run_id=run_id, code=code, counter_m=at_m, continuous=mark, **more)


def blind(gas=True):
    """A camera under water from 1 to 39 m of 40, and hydrogen sulphide."""
    maker = Maker()
    maker.add("job", title="A culvert under water")
    run_id = run_of(maker)
    maker.add("stretch", run_id=run_id, **PIPE)
    maker.add("observation", run_id=run_id, code="BCD", counter_m=0.0, characterisation_1="A")
    maker.add("observation", run_id=run_id, code="BCA", counter_m=0.5, characterisation_1="A")
    continuous(maker, run_id, "BDG", 1.0, 39.0, 1, characterisation_1="A")
    if gas:
        continuous(maker, run_id, "BDF", 3.0, 12.0, 2, characterisation_1="B")
    return maker


def page_one(maker):
    return " ".join(pdf_facts.text(report_pdf.render(assemble(maker.job_file())))[0].split())


def test_a_blind_survey_says_so_on_page_one():
    page = page_one(blind())
    assert "No defect was recorded" not in page
    assert "No defect was seen in the 2.00 m of 40.00 m that could be seen." in page
    assert "from 1.00 m to 39.00 m nothing could be seen: view lost, camera under water" in page
    assert "No action" not in page
    hazard = page.index("Bad air from 3.00 m to 12.00 m. Bad air was recorded in this pipe. Nobody enters")
    assert hazard < page.index("What was surveyed")


def test_its_classes_and_next_steps_leave_the_unseen_open():
    (run,) = assemble(blind().job_file()).runs
    assert [c.words for c in run.condition.classes] == [
        "nothing recorded in what could be seen, not known over 38.00 m"
    ] * 3
    actions = [a.action for part in run.condition.parts for a in part.suggested]
    assert "survey_again" in actions and "none" not in actions
    assert {"hazard", "not_seen"} <= {one.code for one in assemble(blind().job_file()).not_closed.items}


def test_figures_say_the_same(tmp_path):
    file = tmp_path / "job.json"
    file.write_text(json.dumps(blind().job_file()))
    text = CliRunner().invoke(main, ["figures", str(file)]).output
    assert "Bad air from 3.00 m to 12.00 m." in text
    assert "No defect was seen in the 2.00 m of 40.00 m that could be seen." in text
    plain = json.loads(CliRunner().invoke(main, ["figures", "--json", str(file)]).stdout)["runs"][0]["sight"]
    assert (plain["clear_m"], plain["hidden_m"], plain["total_m"]) == (2.0, 38.0, 40.0)


def test_a_run_of_readings_alone_claims_no_sound_pipe():
    maker = Maker()
    maker.add("job", title="Levels only")
    run_of(maker)
    page = page_one(maker)
    assert "No defect" not in page
    assert "nothing recorded shows that the camera looked at the wall of the 40.00 m surveyed" in page
    (run,) = assemble(maker.job_file()).runs
    assert {c.words for c in run.condition.classes} == {"not known"}


def test_a_pipe_that_goes_on_is_closed_by_the_run_for_every_figure():
    ends = []
    for to_m in (40.0, None):
        maker = Maker()
        run_id = run_of(maker)
        maker.add(
            "stretch",
            run_id=run_id,
            **{k: v for k, v in (PIPE | {"to_counter_m": to_m}).items() if v is not None},
        )
        maker.add("observation", run_id=run_id, code="BAB", counter_m=5.0, characterisation_1="B")
        (run,) = assemble(maker.job_file()).runs
        row = run.figures.capacities[0]
        ends.append((row.to_m, row.mean_m3_s, row.left_out, [s.to_m for s in run.figures.sags]))
    assert ends[0] == ends[1] and ends[0][1] is not None


def test_a_run_abandoned_by_its_observation_has_ended_there():
    maker = Maker()
    run_id = maker.add("run", run_ref="R1", direction="with_flow", counter_zero_m=0.0, expected_length_m=45.0)
    maker.add("observation", run_id=run_id, code="BAB", counter_m=5.0)
    maker.add("observation", run_id=run_id, code="BDC", counter_m=28.4, characterisation_1="A")
    contents = assemble(maker.job_file())
    (run,) = contents.runs
    assert (run.surveyed_m, run.end_reason, run.remaining_m) == (28.4, "obstruction", pytest.approx(16.6))
    assert not {"end_missing", "end_reason_missing"} & {one.code for one in contents.not_closed.items}
    assert "remove the obstruction at 28.40 m" in " ".join(summary.summary(contents, 0)["next"])


@pytest.mark.parametrize("name", SAMPLES)
def test_no_pack_says_no_defect_over_what_was_not_seen(name):
    job, photos = sample(name)
    contents = dataclasses.replace(assemble(job), photo_bytes=photos)
    for run in contents.runs:
        lengths = run.sight.clear_m + run.sight.part_m + run.sight.hidden_m
        assert lengths == pytest.approx(run.sight.total_m)
    assert "No defect was recorded" not in " ".join(pdf_facts.text(report_pdf.render(contents)))


def test_the_pack_of_a_blind_survey_is_whole():
    data, manifest = built(blind().job_file(), NO_PHOTOS)
    assert io.BytesIO(data).read(2) == b"PK" and manifest["not_closed_on_site"]


def test_a_photo_is_captioned_with_the_place_of_its_observation():
    maker = Maker()
    maker.add("job", title="A hole")
    run_id = run_of(maker)
    hole = maker.add("observation", run_id=run_id, code="BAC", characterisation_1="B", counter_m=0.95)
    maker.photo(b"a picture", run_id=run_id, belongs_to=hole, counter_m=0.95, caption="Hole")
    before = assemble(maker.job_file()).photos[0].chainage_m
    maker.add("observation", record_id=hole, writer="writer-two", counter_m=0.6)
    maker.entries[-1]["seen"] = {"counter_m": ["writer-one:14"]}
    contents = assemble(maker.job_file())
    assert (before, contents.photos[0].chainage_m) == (0.95, contents.runs[0].observations[0].chainage_m)
    assert contents.photos[0].chainage_m == 0.6

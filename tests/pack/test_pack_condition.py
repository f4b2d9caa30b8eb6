"""Condition classes and what to do next in the pack: said with their causes, whose they are, preliminary."""

import csv
import io
import re
from itertools import pairwise
from pathlib import Path

import pytest
from pack_jobs import SAMPLES, Maker, sample

from webapp import tables
from webapp.assembly.job import assemble
from webapp.pack import condition_csv
from webapp.pack.condition_report import condition_data
from webapp.pack.condition_tables import condition_sections
from webapp.pack.pictures import Picture
from webapp.pack.report import report_data
from webapp.pack.warned import all_warnings
from webapp.schemas import pipe, schema_for
from webapp.schemas.composites import URGENCIES, NextSteps
from webapp.tables import load

WORDS = tables.messages()

ROOT = Path(__file__).resolve().parents[2]
INDICATIVE = "indicative, limits set by Fallbook"


def small(**steps):
    """A job with a collapse, and what the surveyor says of it."""
    job = Maker()
    job.add("job", title="Small", surveyor="R. Example")
    run = job.add("run", run_ref="R1")
    stretch = job.add(
        "stretch", run_id=run, from_counter_m=0, to_counter_m=10, shape="circular", height_mm=300
    )
    job.add("observation", run_id=run, code="BAC", characterisation_1="C", counter_m=4.0)
    if steps:
        job.add("stretch", record_id=stretch, next_steps=steps)
    return assemble(job.job_file())


@pytest.mark.parametrize("name", SAMPLES)
def test_every_class_says_whose_limit_it_is_and_that_it_is_preliminary(name):
    contents = assemble(sample(name)[0])
    rows = list(csv.DictReader(io.StringIO(condition_csv.render(contents).decode("utf-8-sig"))))
    assert rows and all(row["limits"] == INDICATIVE and "Preliminary" in row["standing"] for row in rows)
    graded = [g for run in contents.runs for g in run.condition.graded]
    assert [(r["record_id"], r["goal"], int(r["class_most"])) for r in rows] == [
        (g.record_id, g.goal, g.high) for g in graded
    ]
    data = report_data(contents, {p.sha256: ("", Picture(None, "missing")) for p in contents.photos}, {})
    for block, run in zip(data["condition"], contents.runs, strict=True):
        assert block["note"].startswith("Preliminary until an engineer confirms it.")
        assert all(c["basis"] == INDICATIVE for c in block["classes"] if c["high"])
        titles = [s.title for s in condition_sections(WORDS, run)]
        assert "What to do next" in titles and "Condition classes" in titles
    assert all(run["condition"]["words"].startswith("Preliminary.") for run in data["summary"]["runs"])


def test_what_calls_for_action_at_once_stands_first():
    contents = small()
    nothing = dict.fromkeys(("missing", "damaged", "file_only"), 0)
    hazard, immediate = (one.words for one in all_warnings(contents, nothing))
    assert hazard.startswith("Run R1. Collapse at 4.00 m. The pipe has collapsed here.")
    assert [immediate] == [
        "Run R1. At once: danger of collapse, Broken, missing or collapsed wall at 4.00 m."
    ]
    assert report_data(contents, {}, {})["warnings"][:2] == [[hazard, "run-0"], [immediate, "condition"]]
    block = condition_data(contents)[0]
    assert (
        block["immediate"][0].startswith("Danger of collapse: ") and "BFR Abwasser" in block["immediate"][0]
    )
    part = block["parts"][0]
    assert [line[0] for line in part["suggested"][:2]] == [
        "Check the ground above, without delay", "Dig and expose, without delay",
    ]  # fmt: skip
    assert part["forbidden"][1] == "Do not jet: collapse at 4.00 m."


def test_the_suggestion_and_the_surveyor_s_version_both_stand():
    part = condition_data(small(renew="short_term", why="The road is to be rebuilt."))[0]["parts"][0]
    assert part["suggested"][1][0] == "Dig and expose, without delay"
    assert part["who"] == "By the surveyor, R. Example"
    assert part["chosen"] == ["Renew, short term", "“The road is to be rebuilt.”"]
    untouched = condition_data(small())[0]["parts"][0]
    assert untouched["chosen"] == ["The surveyor has not said otherwise."]


@pytest.mark.parametrize(
    ("steps", "fault"),
    [({"why": "x"}, "Choose an action"), ({"no_action": True, "clean": "no_term"}, "Either no action"),
     ({"clean": "soon"}, "Must be one of"), ({}, "Choose an action"), ({"no_action": True}, ""),
     ({"clean": "at_once", "why": "x"}, "")],
)  # fmt: skip
def test_a_version_is_whole(steps, fault):
    found = str(schema_for("stretch").validate({"next_steps": steps}, partial=True))
    assert (fault in found) if fault else found == "{}"


def test_schema_and_tables_name_the_same_things():
    actions = load("actions")
    named = {row["action"] for row in actions["actions"]} - {"none"}
    assert set(NextSteps().fields) - {"no_action", "why"} == named
    assert [row["urgency"] for row in actions["urgencies"]] == list(URGENCIES)
    inputs = {
        "water_carried": pipe.WATER,
        "protection_zone": pipe.ZONES,
        "groundwater": pipe.GROUNDWATER,
        "soil": pipe.SOILS,
    }
    for name, choices in inputs.items():
        rows = {row["value"] for row in load("grading_limits")["extra_points"] if row["input"] == name}
        assert rows == set(choices) - {"unknown"}


def luminance(colour):
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize(
    ("place", "sheet", "sign"), [(0, "#fffdf7", -1), (1, "#162124", 1)], ids=["day", "night"]
)
def test_the_scale_reads_without_colour(place, sheet, sign):
    css = (ROOT / "static/css/condition.css").read_text(encoding="utf-8")
    block = re.findall(r":root[.\w]* \{(.*?)\}", css, flags=re.S)[place]
    tokens = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", block))
    shades = [tokens[f"class-{n}"] for n in range(1, 6)]
    for n, shade in enumerate(shades, 1):
        assert contrast(shade, tokens[f"on-class-{n}"]) >= 4.5, n
    steps = [sign * luminance(shade) for shade in shades]
    assert steps == sorted(steps)
    assert all(contrast(a, b) >= 1.25 for a, b in pairwise(shades))
    assert contrast(tokens["class-edge"], sheet) >= 3
    report = (ROOT / "templates/print/report.typ").read_text(encoding="utf-8")
    if place == 0:
        assert all(f'rgb("{shade}")' in report for shade in shades)

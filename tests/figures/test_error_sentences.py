"""What the figures of a run refuse, of records that the schemas take, is told in a sentence."""

import re
from pathlib import Path

import pytest
from extreme_cases import extreme
from hypothesis import HealthCheck, Phase, given, settings
from run_made import figures_of
from test_figures_parity import every_figure

from webapp import tables
from webapp.figures.run_records import RunRecords
from webapp.survey.wording.figures import code_reason

SURVEY = Path(__file__).resolve().parents[2] / "webapp" / "survey"
RAISED = re.compile(r'SurveyError\(\s*"(\w+)"')
CODES = {code for path in SURVEY.rglob("*.py") for code in RAISED.findall(path.read_text("utf-8"))}
WORDS = tables.messages()
STRETCH = {"from_counter_m": 0.0, "to_counter_m": 20.0, "height_mm": 300, "width_mm": 600}
RUN = {"counter_zero_m": 0.0, "end_counter_m": 20.0, "direction": "with_flow"}


def said(value):
    """Every code of a refusal that stands somewhere in the figures."""
    if isinstance(value, dict):
        return {
            code for name, one in value.items() if name not in ("source", "records") for code in said(one)
        }
    if isinstance(value, list):
        return {code for one in value for code in said(one)}
    return {value} & CODES if isinstance(value, str) else set()


def without_sentence(figures):
    return {code for code in said(every_figure(figures)) if f"survey.reason.{code}" not in WORDS}


@settings(max_examples=120, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
@given(extreme())
def test_what_extreme_records_refuse_has_its_sentence(case):
    for run in case["runs"]:
        figures = figures_of(
            run["recorded"]["id"], run["recorded"]["fields"], case["job"], RunRecords(**run["records"])
        )
        assert without_sentence(figures) == set()


@pytest.mark.parametrize(
    ("shape", "code"),
    [("circular", "circle_not_round"), ("egg", "egg_too_low"), ("oval", "oval_too_low")],
)  # fmt: skip
def test_a_size_that_a_shape_cannot_have_is_told(shape, code):
    stretch = {"id": "s", "fields": STRETCH | {"shape": shape}}
    figures = figures_of("r", RUN, {}, RunRecords(stretches=[stretch]))
    assert [row["left_out"] for row in figures.capacity["rows"]] == [code]
    assert code_reason(WORDS, code) == WORDS[f"survey.reason.{code}"]


@pytest.mark.parametrize(
    ("job", "finish", "code"),
    [
        ({"grid_central_meridian_deg": 120.0}, None, "too_far_from_meridian"),
        ({}, {"lat_deg": 20.0, "lon_deg": 30.0}, "distance_out_of_range"),
        ({}, {"lat_deg": -51.0, "lon_deg": 179.999}, "geodesic_not_settled"),
    ],
)
def test_positions_that_cannot_be_together_are_told(job, finish, code):
    north = "grid" if job else "true"
    run = RUN | {"start_node_id": "a", "finish_node_id": "b", "end_reason": "node_reached"}
    run["start_bearing"] = {"bearing_deg": 10.0, "north": north}
    start = {"lat_deg": 51.0, "lon_deg": 0.0, "accuracy_m": 3.0}
    ends = [{"id": "a", "fields": {"position": start}}]
    ends += [{"id": "b", "fields": {"position": finish | {"accuracy_m": 3.0}}}] if finish else []
    figures = figures_of("r", run, job, RunRecords(nodes=ends))
    assert figures.trace is None and figures.refused["trace"] == code
    assert without_sentence(figures) == set()

"""The types of the records: generated from the schemas, fresh, and strict enough to find a misspelt name."""

import copy
import re
from pathlib import Path
from typing import get_type_hints

import pytest
from mypy_tool import mypy
from test_js import HERE as JS
from test_js import in_js, type_checker  # noqa: F401 a fixture
from twin import node

from webapp import tables
from webapp.schemas import KINDS, schema_for, table_types, types
from webapp.survey.table_types import Tables
from webapp.tables.fit import misfits

ROOT = Path(__file__).resolve().parents[1]

PYTHON_PROBE = """
from webapp import tables
from webapp.figures.run_figures import RunFigures
from webapp.survey.coding.run_end import ended_run
from webapp.survey.flow.backwater import carried_full
from webapp.survey.flow.invert_line import InvertLine
from webapp.survey.flow.run_backwater import stretch_carries
from webapp.survey.instruments.gradient import gradient_of
from webapp.survey.plan.run_trace import TraceFacts, run_trace
from webapp.survey.records import ObservationFields, ObservationRecord, ReadingRecord, RunFields
from webapp.survey.section.bore import Bore


def right(f: ObservationFields, one: ObservationRecord, run: RunFields) -> int | None:
    clock = f.get("clock")
    ended_run(run, [one, {"id": "b", "fields": {"code": "BCE", "counter_m": 9.0}}])
    if run.get("direction") == "against_flow" and f.get("turns_to") == "left_up":
        run["end_reason"] = "water"
    return clock["hour_from"] if clock else None


def right_table() -> float:
    rows = tables.load("observation_codes")["rows"]
    assert tables.by_name("hazards")["hazards"]["rows"][0]["do_not"] and rows[0].get("page_one")
    return tables.load("grading_limits")["point_length_m"]


def wrong_table() -> None:
    tables.load("grading_limits")["point_lenght_m"]  # red
    tables.load("observation_codes")["rows"][0].get("titel")  # red
    tables.by_name("hazards")["hazzards"]  # red
    if tables.load("actions")["actions"][0]["action"] == "cleen":  # red
        pass


def right_figures(figures: RunFigures, line: InvertLine, facts: TraceFacts) -> float | None:
    capacity, trace = figures.capacity, run_trace(facts)
    carried = stretch_carries(line, Bore("circular", 0.3), 1.5)
    if capacity and capacity["bottleneck"] and capacity["rows"][0]["disputed"]:
        return capacity["rows"][0]["gradient_low"]
    return trace["bends"][0]["plan_m"] if trace["bends"] else carried["low_m3_s"]


def wrong_figures(figures: RunFigures, line: InvertLine, facts: TraceFacts) -> None:
    capacity = figures.capacity
    if capacity is None or capacity.get("bottlneck"):  # red
        return
    for row in capacity["rows"]:
        row.get("bottlneck")  # red
        row["gradient_lo"]  # red
        if row["gradient_low"] < 0.0:  # red
            pass
    found = carried_full([], 0.1)
    found["discharge_m3_ss"]  # red
    stretch_carries(line, Bore("circular", 0.3), 1.5)["mean_m3s"]  # red
    run_trace(facts)["declination"]["sd"]  # red
    run_trace(facts.run, facts.nodes)  # red
    (figures.water or {}).get("sag")  # red
    for item in figures.items:
        item["parts"][0]["from_m"]  # red
    gradient_of(1.0).get("percent")  # red


def wrong(f: ObservationFields, one: ObservationRecord, run: RunFields, other: ReadingRecord) -> None:
    f.get("clok")  # red
    if one["fields"].get("counter") is not None:  # red
        pass
    f["clok"]  # red
    (f.get("clock") or {}).get("hour")  # red
    ended_run({"end_reson": "obstruction"}, [one])  # red
    ended_run(run, [other])  # red
    if run.get("direction") == "upstrem":  # red
        run["end_reason"] = "watter"  # red
    if (other["fields"].get("inclination") or {}).get("unit") == "pc":  # red
        pass
"""

JS_PROBE = """
/** @typedef {import('STATIC/ui/types.js').App} App */
/** @typedef {import('STATIC/ui/types.js').JobView} JobView */
/** @typedef {import('STATIC/survey/plan/run_trace.js').TraceFacts} TraceFacts */
import { carriedFull } from 'STATIC/survey/flow/backwater.js';
import { runTrace } from 'STATIC/survey/plan/run_trace.js';

/** @param {App} app */
export function wrongTable({ tables }) {
  tables.grading_limits.point_lenght_m;  // red
  tables.observation_codes.rows[0].titel;  // red
  tables.observation_codes.rows[0].page_one;  // red
  tables.hazzards;  // red
  if (tables.actions.actions[0].action === 'cleen') return 0;  // red
  return tables.grading_limits.point_length_m + tables.hazards.rows.length;
}

/** @param {import('STATIC/figures/run_figures.js').RunFigures} figures @param {TraceFacts} facts */
export function rightFigures({ capacity, water, trace }, facts) {
  const carried = carriedFull([], 0.1);
  if (capacity?.bottleneck?.index === 0) return capacity.rows[0].gradient_low;
  const plan = runTrace(facts).bends[0]?.plan_m ?? trace?.length_m;
  return water?.sags[0].depth_m ?? plan ?? carried.discharge_m3_s;
}

/** @param {import('STATIC/figures/run_figures.js').RunFigures} figures @param {TraceFacts} facts */
export function wrongFigures({ capacity, water, items }, facts) {
  const carried = carriedFull([], 0.1);
  carried.discharge_m3ss;  // red
  capacity?.bottlneck;  // red
  capacity?.rows[0].gradient_lo;  // red
  capacity?.rows[0].bore?.height_mm;  // red
  runTrace(facts).declination?.sd;  // red
  runTrace(facts.run, facts.nodes);  // red
  water?.sag;  // red
  items[0].parts[0].from_m;  // red
}

/** @param {App} app @param {JobView} view */
export async function right(app, view) {
  const [run] = view.records('run');
  await app.store.draft(run.fields.run_ref ?? '');
  await app.go('/', { replace: true });
  if (run.fields.direction === 'against_flow') run.fields.end_reason = 'water';
  return view.records('observation').map((one) => one.fields.clock?.hour_from ?? null);
}

/** @param {App} app @param {JobView} view */
export async function wrong(app, view) {
  await app.store.draftt('/');  // red
  app.shelf.read();  // red
  view.records('observaton');  // red
  view.record('observation', 'a')?.fields.clok;  // red
  view.records('run').map((one) => one.fields.counter_m);  // red
  await app.store.save('j', 'readng', null, {});  // red
  const { fields } = view.records('run')[0];
  if (fields.direction === 'upstrem') return;  // red
  fields.end_reason = 'watter';  // red
  if (view.records('reading')[0].fields.inclination?.unit === 'pc') return;  // red
}
"""


def marked(probe):
    """The numbers of the lines that must be red."""
    return {
        n for n, line in enumerate(probe.split("\n"), 1) if line.endswith("# red") or line.endswith("// red")
    }


def test_the_files_are_what_the_schemas_say():
    assert types.stale_files() == [], "run: python -m webapp.schemas.types"


def test_a_file_that_is_behind_the_schemas_is_named(tmp_path):
    types.write_files(tmp_path)
    assert types.stale_files(tmp_path) == []
    path = tmp_path / types.PYTHON_FILE
    path.write_text(path.read_text().replace("    run_ref: str | None\n", ""))
    assert types.stale_files(tmp_path) == [types.PYTHON_FILE]


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_of_a_kind_is_in_both_files(kind):
    name = types.type_name(kind)
    python = re.search(rf"class {name}Fields\(.*?(?=\n\n\n)", types.python_types(), re.S).group()
    javascript = re.search(
        rf"@typedef \{{object\}} {name}Fields\n.*?\*/", types.javascript_types(), re.S
    ).group()
    fields = [one for one in schema_for(kind).fields if one != "removed"]
    assert fields
    for field in fields:
        assert f"    {field}: " in python
        assert f"[{field}]" in javascript


TABLES = get_type_hints(Tables)


def test_every_table_has_a_type():
    assert set(TABLES) == set(tables.NAMES)
    text = (ROOT / "webapp" / "tables" / "by_name.py").read_text()
    named = dict(re.findall(r'name: Literal\["(\w+)"\]\) -> table_types\.(\w+):', text))
    assert named == {name: form.__name__ for name, form in TABLES.items()}


@pytest.mark.parametrize("name", sorted(TABLES))
def test_a_table_is_what_its_type_says(name):
    assert list(misfits(tables.shipped(name), TABLES[name])) == []


def test_a_table_that_is_not_what_its_type_says_is_found():
    table = copy.deepcopy(tables.shipped("hazards"))
    del table["note"]
    table["rows"][0]["code"] = 7
    table["rows"][1]["do_not"] = ["sing"]
    table["rows"][2]["shade"] = "grey"
    found = [where for where, _ in misfits(table, TABLES["hazards"])]
    assert found == ["note", "rows[1].code", "rows[2].do_not[1]", "rows[3].shade"]


def test_phones_have_no_type_of_what_they_do_not_get():
    text = table_types.table_types()
    code = re.search(r"@typedef \{object\} ObservationCode\n.*?\*/", text, re.S).group()
    assert "help" in code and "page_one" not in code and "certainty" not in code
    assert "ExchangeHeader" not in text


def test_what_is_computed_is_not_a_field_that_is_stored():
    for kind, computed in types.COMPUTED.items():
        assert not computed.keys() & schema_for(kind).fields.keys()


def test_mypy_sees_a_misspelt_field(tmp_path, tmp_path_factory):
    probe = tmp_path / "fields_probe.py"
    probe.write_text(PYTHON_PROBE)
    words = mypy(tmp_path_factory, str(probe))[1]
    assert {int(n) for n in re.findall(r"probe\.py:(\d+): error", words)} == marked(PYTHON_PROBE), words
    assert 'ObservationFields has no field "clok"' in words


def test_tsc_sees_a_misspelt_field_or_method(type_checker, tmp_path):  # noqa: F811 the fixture
    probe = tmp_path / "probe.js"
    probe.write_text(JS_PROBE.replace("STATIC", (ROOT / "static" / "js").as_posix()))
    config = tmp_path / "tsconfig.json"
    config.write_text(
        f'{{"extends": "{(JS / "tsconfig.json").as_posix()}", "include": ["probe.js"], "exclude": []}}'
    )
    done = in_js(node(), str(type_checker), "-p", str(config))
    red = {int(n) for n in re.findall(r"probe\.js\((\d+),\d+\): error", done.stdout)}
    assert red == marked(JS_PROBE), done.stdout
    assert not re.search(r"^(?!.*probe\.js).*error TS", done.stdout, re.M), done.stdout

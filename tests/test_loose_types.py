"""JavaScript says what its values are: `any` only becomes rarer, and a misspelt name is red in every room."""

import collections
import re
import shutil

import pytest
from js_tools import HERE, in_js, in_node
from test_js import type_checker  # noqa: F401 a fixture
from twin import node

ROOT = HERE.parents[1]
SCRIPTS = ROOT / "static" / "js"

# By room of static/js, how often a type in JSDoc is `any`. It stands where data comes in unchecked. Lower a
# number when you have brought it down; a room that is not here has none.
MAX_LOOSE = {
    ".": 26,
    "files": 8,
    "records": 9,
    "screens": 2,
    "store": 2,
    "survey": 141,
    "sync": 1,
}

# In a copy of the app, what each file has once and what is written in its place.
MISSPELT = [
    ("forms/carried.js", "here?.fields.clock", "here?.fields.clok"),
    ("forms/record_form.js", "app.store.draft(", "app.store.draftt("),
    ("forms/observation_form.js", "fields.continuous,", "fields.continous,"),
    ("forms/counter_reset.js", "value.had_shown_m", "value.had_shown"),
    ("forms/fields/field_node.js", "fields.node_type =", "fields.node_typ ="),
    ("forms/fields/field_place.js", "lon.setValue(value?.lon_deg)", "lon.setValue(value?.lng_deg)"),
    ("screens/observation/observation.js", "height_mm, size_known:", "heigth_mm, size_known:"),
    ("screens/job/safety.js", "question_id: questionId", "question: questionId"),
    ("screens/run/reading.js", "sense: fields.inclination.sense", "sense: fields.inclination.sens"),
    ("screens/run/log_rows.js", "one.fields.invert_level_m", "one.fields.invert_level"),
    ("screens/sync/outbox.js", "entry.recorded_at), entry", "entry.recorded), entry"),
    ("screens/figures/trace.js", "`trace.mend_${code}`", "`trace.mends_${code}`"),
    ("screens/figures/capacity.js", "run.fields.run_ref", "run.fields.run_reff"),
    ("figures/leave.js", "one.run_id, fields", "one.runn_id, fields"),
    ("store/entry_rows.js", "entry.number ===", "entry.numbr ==="),
    ("store/local_state.js", "this.db.has('photos',", "this.db.has('photo',"),
    ("sync/exchange.js", "answer.photos_wanted", "answer.photos_wnted"),
    ("sync/engine.js", "'last_ok_at', last_ok_at)", "'last_ok', last_ok_at)"),
    ("files/readings_file.js", "counter_added_m: added", "counter_addd_m: added"),
    ("survey/readings_file/readings_taken.js", "fields.counter_m ??", "fields.counter ??"),
    ("survey/instruments/counter_offer.js", "run.counter_zero_m", "run.counter_zero"),
]


def loose(folder):
    """Where a type is `any`: pairs of file and line."""
    return [(path, line) for path, line in in_node("loose_types.mjs", {"folder": str(folder)})]


def room(path):
    return path.split("/")[0] if "/" in path else "."


def test_no_room_has_more_loose_types_than_before():
    found = loose(SCRIPTS)
    counts = collections.Counter(room(path) for path, _ in found)
    over = {name: n for name, n in counts.items() if n > MAX_LOOSE.get(name, 0)}
    assert not over, [one for one in found if room(one[0]) in over]


def test_every_way_of_saying_any_is_counted(tmp_path):
    (tmp_path / "loose.js").write_text(
        "/** @typedef {Object<string, any>} One */\n"
        "/** @param {*} a @param {Function} b @returns {Array} */\n"
        "export function two(a, b) {\n"
        "  return [a, b, (/** @type {any} */ c) => /** @type {any} */ (c)]; // any of them\n"
        "}\n"
        "/** Sees whether any is there. @type {Array<string>} */\n"
        "export const three = [];\n"
    )
    assert sorted(line for _, line in loose(tmp_path)) == [1, 2, 2, 2, 4, 4]


@pytest.fixture
def misspelt_app(tmp_path):
    """A copy of the scripts with every misspelling; the lines where they stand."""
    shutil.copytree(SCRIPTS, tmp_path / "static" / "js")
    messages = "webapp/tables/messages"
    shutil.copytree(ROOT / messages, tmp_path / messages)
    lines = set()
    for name, right, wrong in MISSPELT:
        path = tmp_path / "static" / "js" / name
        text = path.read_text(encoding="utf-8")
        assert text.count(right) == 1, (name, right)
        path.write_text(text.replace(right, wrong), encoding="utf-8")
        lines.add((name, text[: text.index(right)].count("\n") + 1))
    return tmp_path, lines


def test_a_misspelt_name_is_red_in_every_room(type_checker, misspelt_app):  # noqa: F811 the fixture
    folder, lines = misspelt_app
    config = folder / "tsconfig.json"
    base = (HERE / "tsconfig.json").as_posix()
    config.write_text(
        f'{{"extends": "{base}", "include": ["static/js/**/*.js"], "exclude": ["static/js/sw.js"]}}'
    )
    done = in_js(node(), str(type_checker), "-p", str(config), "--pretty", "false")
    red = {
        (name, int(line))
        for name, line in re.findall(r"static/js/(\S+?)\((\d+),\d+\): error TS", done.stdout)
    }
    assert lines <= red, (sorted(lines - red), done.stdout)

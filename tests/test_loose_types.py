"""JavaScript says what its values are: `any` only becomes rarer, and a misspelt name is red in every file."""

import collections
import re
import shutil

import pytest
from js_tools import HERE, in_js, in_node
from test_js import type_checker  # noqa: F401 a fixture
from twin import node

from webapp.schemas import KINDS, schema_for

ROOT = HERE.parents[1]
SCRIPTS = ROOT / "static" / "js"

# By room of static/js, how often a type in JSDoc is `any`. It stands where data comes in unchecked. Lower a
# number when you have brought it down; a room that is not here has none.
MAX_LOOSE = {
    ".": 12,
    "files": 8,
    "records": 9,
    "screens": 1,
    "store": 2,
    "survey": 2,
    "sync": 1,
}

# Files in which a misspelt field of a record still passes: there a name is a value, or the type is any.
LOOSE_FILES = {
    "records/fold.js",
    "survey/lengths/records.js",
}

# What is misspelt in a copy of the app, wherever it stands first in a file: a field of a record that is read,
# and a method of the store.
FIELDS = {name for kind in KINDS for name in schema_for(kind).fields}
FIELD_READ = re.compile(r"\bfields\??\.(\w+)")
METHOD = re.compile(r"\bapp\.store\.(\w+)(?=\()")


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


def first_of(pattern, lines, wanted):
    """The first place of code where the pattern finds a wanted name: its line from 0 and the name's end."""
    for at, line in enumerate(lines):
        if line.lstrip().startswith(("*", "/*", "//")):
            continue
        for found in pattern.finditer(line):
            if wanted(found.group(1)):
                return at, found.end(1)
    return None


@pytest.fixture
def misspelt_app(tmp_path):
    """A copy of the scripts, misspelt once or twice a file; the files and lines where that is."""
    shutil.copytree(SCRIPTS, tmp_path / "static" / "js")
    messages = "webapp/tables/messages"
    shutil.copytree(ROOT / messages, tmp_path / messages)
    places = set()
    for path in sorted((tmp_path / "static" / "js").rglob("*.js")):
        lines = path.read_text(encoding="utf-8").split("\n")
        for pattern, wanted in ((FIELD_READ, FIELDS.__contains__), (METHOD, bool)):
            found = first_of(pattern, lines, wanted)
            if found:
                at, end = found
                lines[at] = f"{lines[at][:end]}x{lines[at][end:]}"
                places.add((path.relative_to(tmp_path / "static" / "js").as_posix(), at + 1))
        path.write_text("\n".join(lines), encoding="utf-8")
    return tmp_path, places


def test_a_misspelt_name_is_red_in_every_file(type_checker, misspelt_app):  # noqa: F811 the fixture
    folder, places = misspelt_app
    rooms = {room(path) for path, _ in places}
    assert {"forms", "screens", "figures", "survey", "store", "files"} <= rooms, rooms
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
    passed = {path for path, line in places - red}
    more = sorted(passed - LOOSE_FILES)
    assert not more, " ".join(more)

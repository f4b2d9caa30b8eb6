"""Pieces of a sentence are put together by the catalogue: a sign that code puts between them is red."""

import ast
import re
from pathlib import Path

import pytest
from js_tools import in_node

ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = ROOT / "static" / "js"
SIGN = re.compile(r"[.,;:·–—+()/]")
BETWEEN = re.compile(r"[ ;:·]")
SAYS = re.compile(r"(t|message|rich|\w+_(text|words|word|line|lines|note)|sentence|label|words|line|note)")
DATA = {  # what no person reads as a sentence, by file of the server
    "access/granting.py": "a name in one line",
    "access/who.py": "names of links, as the audit log stores them",
    "api/joining.py": "a cookie",
    "assembly/lengths.py": "a run's name, stored in files; what surveyors wrote",
    "config.py": "a setting; sentences that the command puts in one line",
    "exchange": "a file of data",
    "lan": "a fingerprint",
    "jobcheck": "a line of a terminal",
    "commands": "lines and columns of a terminal",
    "pack/not_closed.py": "lines of a terminal",
    "pack/observations_csv.py": "a file of data",
    "pack/readings_csv.py": "a file of data",
    "pack/svg.py": "places of a drawing",
    "records": "a file of data",
    "schemas": "the description of the interface; types",
    "store": "SQL, and names in a folder",
    "survey/coding/code_search.py": "text that is searched, never shown",
    "survey/coding/codes.py": "a written code",
    "survey/coding/written_form.py": "a written code",
    "survey/readings_file/csv_profile.py": "how a file's heading is kept",
    "sync": "JSON",
    "tables": "faults of a firm's own file, told on a terminal",
    "upkeep": "lines of a terminal",
    "web/app_files.py": "a contributor's mistake",
    "web/headers.py": "HTTP",
    "web/joiner": "a contributor's mistake",
    "web/openapi": "the description of the interface, for programmers",
    "app.py": "a fault at the start, told on a terminal",
}
MACHINE = {  # the same of the scripts, by file
    "screens/parts/figures_of.js": "a run's name, as in the pack's files",
    "sync/transport.js": "HTTP",
}


def says(value):
    """Whether an expression brings words of a sentence."""
    if isinstance(value, ast.Call):
        value = value.func
    name = getattr(value, "id", getattr(value, "attr", ""))
    return bool(SAYS.fullmatch(name))


def fixed_text(made):
    return "".join(str(one.value) for one in made.values if isinstance(one, ast.Constant))


def glue(source):
    """Yield line and sign of each place in a module where pieces are held together by a literal."""
    for one in ast.walk(ast.parse(source)):
        if isinstance(one, ast.Call) and getattr(one.func, "attr", "") == "join":
            sign = getattr(one.func.value, "value", None)
            if isinstance(sign, str) and sign.strip("\n") and not re.search(r"\w", sign):
                yield one.lineno, sign
        elif isinstance(one, ast.JoinedStr):
            sign = fixed_text(one)
            values = [part.value for part in one.values if isinstance(part, ast.FormattedValue)]
            if BETWEEN.search(sign) and not re.search(r"\w", sign) and any(map(says, values)):
                yield one.lineno, sign
        elif isinstance(one, ast.BinOp | ast.AugAssign) and isinstance(one.op, ast.Add):
            sides = [one.left, one.right] if isinstance(one, ast.BinOp) else [one.value]
            signs = [str(side.value) for side in sides if isinstance(side, ast.Constant)]
            if any(re.fullmatch(r"[ .,;:·–—()]+", sign) and " " in sign for sign in signs):
                yield one.lineno, signs[0]


def glue_in_scripts(sources):
    found = in_node("glue.mjs", sources)
    return {path: [(line, sign) for line, sign in some if SIGN.search(sign)] for path, some in found.items()}


def listed(name, table):
    return any(name == one or name.startswith(f"{one}/") for one in table)


def test_no_sentence_is_glued_on_the_server():
    found = []
    for path in sorted((ROOT / "webapp").rglob("*.py")):
        name = path.relative_to(ROOT / "webapp").as_posix()
        if not listed(name, DATA):
            found += [f"{name}:{line}: {sign!r}" for line, sign in glue(path.read_text("utf-8"))]
    assert found == [], "put a template, or a list, into webapp/tables/messages/en.json"


def test_no_sentence_is_glued_on_the_phone():
    sources = {p.relative_to(SCRIPTS).as_posix(): p.read_text("utf-8") for p in sorted(SCRIPTS.rglob("*.js"))}
    found = glue_in_scripts(sources)
    stray = [
        f"{name}:{line}: {sign!r}"
        for name, some in found.items()
        for line, sign in some
        if name not in MACHINE
    ]
    assert stray == [], "put a template, or a list, into webapp/tables/messages/en.json"
    assert {name for name in MACHINE if not found[name]} == set()


def test_every_exception_is_needed():
    bare = []
    for one in DATA:
        place = ROOT / "webapp" / one
        paths = [place] if place.suffix else sorted(place.rglob("*.py"))
        if not any(list(glue(path.read_text("utf-8"))) for path in paths):
            bare.append(one)
    assert bare == []


@pytest.mark.parametrize(
    "source",
    [
        '"; ".join(lines)',
        '" · ".join(facts)',
        '". ".join(part.chosen)',
        "f\"{t('a.b')} {t('a.c')}\"",
        'f"{message(words, key)}: {value}"',
        'f"{line} {more}"',
        'note + " " + more',
    ],
)
def test_glue_is_seen(source):
    assert len(list(glue(source))) >= 1


@pytest.mark.parametrize("source", ['"\\n".join(lines)', '"".join(parts)', 'f"{name}_{key}"', 'f"{a}{t(1)}"'])
def test_what_is_no_glue_is_left_alone(source):
    assert list(glue(source)) == []


@pytest.mark.parametrize(
    "script",
    [
        "const a = names.join('; ');",
        "h('p', null, t('a.b'), ' · ', t('a.c'));",
        "h('p', null, `${t('a.b')}: ${value}`);",
        "const under = `${fixedText(1)}, ${label}`;",
        "h('p', null, sure ? null : ` (${t('a.b')})`);",
    ],
)
def test_glue_in_a_script_is_seen(script):
    assert glue_in_scripts({"x.js": script})["x.js"], script


@pytest.mark.parametrize(
    "script",
    [
        "h('p', null, t('a.b'), ' ', t('a.c'));",
        "s('path', { d: `M${x} ${y} L${words}` });",
        "const key = `${locale()} ${type}`;",
        "text.split('; ');",
    ],
)
def test_what_is_no_glue_in_a_script_is_left_alone(script):
    assert not glue_in_scripts({"x.js": script})["x.js"], script

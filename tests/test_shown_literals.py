"""Words that a person reads stand in the catalogue: a literal in a script that looks like some is red."""

import re
from pathlib import Path

import pytest
from js_tools import in_node

from webapp import tables

ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = ROOT / "static" / "js"
# The path of a drawing: letters one by one, some of them capitals, and numbers.
DRAWING = re.compile(r"(?=.*[A-Z])[\sMLHVCSQTAZmlhvcsqtaz\d.,*-]+")
ELSEWHERE = {
    "survey": "the twins' words: compared with the server's, where another test finds them",
}
EXCEPTIONS = {
    "files/unzip_file.js": {"no end": "thrown and caught within the file"},
    "forms/photo_input.js": {"main-act action": "a class, handed on"},
    "screens/figures/capacity.js": {"Pa": "a unit"},
    "screens/figures/culvert.js": {"culvert *": "names a setting of the phone"},
    "screens/parts/figures_of.js": {"length *": "names what is kept in memory"},
    "screens/run/readings_file.js": {"main-act action wide": "a class, handed on"},
    "sw.js": {
        "keeping": "a step that the page is told of",
        "ready": "a step that the page is told of",
        "waiting": "a step that the page is told of",
    },
    "ui/class_mark.js": {" class-open": "a class beside another"},
    "watchdog.js": {"start_silent": "a code", "start_slow": "a code"},
}


def literals(sources):
    """Return {path: [[line, text], ...]} of what a person may come to read."""
    keys = tables.messages()
    return {
        path: [[line, text] for line, text in found if text not in keys and not DRAWING.fullmatch(text)]
        for path, found in in_node("shown_literals.mjs", sources).items()
    }


@pytest.fixture(scope="module")
def shown():
    paths = [p.relative_to(SCRIPTS) for p in sorted(SCRIPTS.rglob("*.js"))]
    ours = [p for p in paths if p.parts[0] not in ELSEWHERE]
    return literals({str(p): (SCRIPTS / p).read_text("utf-8") for p in ours})


def test_no_words_stand_in_the_scripts(shown):
    stray = [
        f"{path}:{line}: {text}"
        for path, found in shown.items()
        for line, text in found
        if text not in EXCEPTIONS.get(path, {})
    ]
    assert stray == [], "words for people belong into webapp/tables/messages/en.json"


def test_every_exception_is_still_there(shown):
    gone = {
        (path, text) for path, texts in EXCEPTIONS.items() for text in texts
        if text not in [one for _, one in shown.get(path, [])]
    }  # fmt: skip
    assert gone == set()


@pytest.mark.parametrize(
    "script",
    [
        "h('p', null, 'nothing');",
        "h('p', null, ready ? t('a.b') : 'not yet');",
        "h('p', null, t('a.b'), ' m');",
        "h('button', { 'aria-label': 'close' });",
        "h('p', { title: `${x} readings` });",
        "button('Save', { key: 'save' });",
        "place.textContent = 'gone';",
        "const words = { full: 'The phone is full.' };",
        "throw new Error('Choose another file.');",
        "const f = (m) => `${m} m`;",
        "const of = (a, b) => `${a} of ${b}`;",
        "const list = names.join(' or ');",
        "app.announce('saved');",
        "note('fault', 'no');",
        "const label = 'Depth';",
    ],
)
def test_words_are_seen(script):
    assert literals({"x.js": script}).get("x.js"), script


@pytest.mark.parametrize(
    "script",
    [
        "h('p', { class: 'card stack' }, t('a.b'));",
        "document.querySelector('main [data-field] input');",
        "if (kind === 'Not A Word') go();",
        "answer.headers.get('Content-Type');",
        "const headers = { 'Content-Type': 'application/json' };",
        "s('path', { d: `M${x} ${y} L${x} ${y}` });",
        "console.warn('draft not kept', error);",
        "h('span', null, ' · ');",
        "import { a } from './Some File.js';",
        "'use strict';",
    ],
)
def test_what_only_the_machine_reads_is_let_be(script):
    assert not literals({"x.js": script}).get("x.js"), script

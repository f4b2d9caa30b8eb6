"""A second language is one file: with one made here, each sentence in brackets, no screen says a word outside them."""

import json
import os
import re
import subprocess
import sys

import pytest
from phone import VIEWPORT, Watched
from server_process import ServerProcess, copy_of_the_app
from test_screens import PATHS, SAMPLES, TAKE_SAMPLES, show

from webapp import tables

OPENS, CLOSES = "⟦", "⟧"
# What is said in no language: units, letters of codes, the name of a file.
# Words that still stand outside: a unit of the schemas, the first letters of the three goals.
KNOWN = {"degrees", "T", "S", "O"}
LISTS = {"und", "oder"}  # the browser's own, for the language
UNITS = {
    "m",
    "mm",
    "cm",
    "km",
    "l",
    "s",
    "l/s",
    "m/s",
    "Pa",
    "°",
    "%",
    "‰",
    "deg",
    "mag",
    "×",
    "px",
    "kB",
    "MB",
    "m³",
}
SAID = """() => {
  const found = [document.title];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const { parentElement, textContent } = walker.currentNode;
    if (!parentElement.closest('script, style, noscript')) found.push(textContent);
  }
  for (const one of document.body.querySelectorAll('*')) {
    for (const name of ['aria-label', 'title', 'alt', 'placeholder', 'aria-valuetext', 'aria-roledescription']) {
      if (one.getAttribute(name)) found.push(one.getAttribute(name));
    }
  }
  return found.filter((text) => /\\p{L}/u.test(text));
}"""


# The screens of jobs, sheets and nodes, down to a new run, but for the words of checks.
BEFORE_RUNS = PATHS[: PATHS.index("/jobs/{job}/runs/new") + 1]
SCREENS = [path for path in BEFORE_RUNS if path not in ("/jobs/{job}/checks", "/jobs/{job}/checks/{check}")]


def bracketed(template):
    """A template of the language made here: the other's, in brackets."""
    if isinstance(template, dict):
        return {category: bracketed(one) for category, one in template.items()}
    return f"{OPENS}{template}{CLOSES}"


def second_language():
    words = tables.messages()
    made = {key: template if key[0] == "_" else bracketed(template) for key, template in words.items()}
    return made | {"_language": "de", "_locale": "de-DE"}


@pytest.fixture(scope="module")
def german(tmp_path_factory, one_browser):
    """A phone on a server that speaks the language made here, with both sample jobs."""
    root = copy_of_the_app(tmp_path_factory.mktemp("second"))
    setting = root / "webapp" / "messages.py"
    text = setting.read_text("utf-8")
    assert text.count('LANGUAGE = "en"') == 1
    setting.write_text(text.replace('LANGUAGE = "en"', 'LANGUAGE = "de"'), "utf-8")
    words = json.dumps(second_language(), ensure_ascii=False)
    (root / "webapp" / "tables" / "messages" / "de.json").write_text(words, "utf-8")
    server = ServerProcess(tmp_path_factory.mktemp("german") / "data", root=root)
    jobs = [str(one / "job.json") for one in SAMPLES]
    command = [sys.executable, "-c", "from webapp.cli import main; main()", "import", "--create"]
    env = {**os.environ, "PYTHONPATH": str(root)}
    subprocess.run([*command, "--data", str(server.folder), *jobs], cwd=root, env=env, check=True)
    server.start()
    one = Watched(server.url)
    one.watch(one_browser.new_context(viewport=VIEWPORT, has_touch=True, service_workers="block"))
    one.goto("/")
    yield one, one.app(TAKE_SAMPLES)
    one.close()
    one.check()
    server.kill()


def texts_in(value):
    """Every text within a JSON value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from texts_in(one)
    elif isinstance(value, list):
        for one in value:
            yield from texts_in(one)


@pytest.fixture(scope="module")
def recorded():
    """What the surveyors of the samples typed, and the tables' own content with its source; longest first."""
    found = set().union(*(texts_in(tables.shipped(name)) for name in tables.NAMES))
    found |= {one[:1].upper() + one[1:] for one in found}  # as a heading
    for folder in SAMPLES:
        found |= set(texts_in(json.loads((folder / "job.json").read_text("utf-8"))))
    return sorted((one for one in found if re.search(r"\w", one)), key=len, reverse=True)


def outside(text, recorded):
    """What stands outside every bracket and was typed by nobody."""
    depth, rest = 0, ""
    for sign in text:
        depth += (sign == OPENS) - (sign == CLOSES)
        rest += sign if depth == 0 and sign != CLOSES else " " if depth == 0 else ""
    for one in recorded:
        rest = re.sub(rf"(?<!\w){re.escape(one)}(?!\w)", " ", rest)
    rest = re.sub(r"\d{1,2}\. \w+\.? \d{4}|[A-Z]{3}( [A-Z])*|http\S+", " ", rest)  # a day, a code, an address
    left = [one for one in re.split(r"[\s,;.:·()\[\]“”+×–—−=/#\d]+", rest) if re.search(r"[^\W\d_]", one)]
    return [one for one in left if one not in UNITS | LISTS | KNOWN]


def test_no_screen_speaks_outside_the_catalogue(german, recorded):
    one, (ids, *_) = german
    assert one.page.evaluate("document.documentElement.lang") == "de"
    leaks = {}
    for path in SCREENS:
        show(one, path, ids)
        for text in one.page.evaluate(SAID):
            if left := outside(text, recorded):
                leaks.setdefault(text.strip()[:120], [path, *left])
    assert leaks == {}, json.dumps(leaks, indent=1, ensure_ascii=False)


def test_numbers_and_days_are_those_of_the_language(german):
    one, (ids, *_) = german
    show(one, "/jobs/{job}/runs/{run}/readings/{reading}", ids)
    shown = one.app(
        "async () => { const f = fallbook.module('ui/format.js'); return [f.fixed(1.25, 2), f.bytesText(2.5e6), f.clockTime('2026-11-25T10:31:00')]; }"
    )
    assert shown == ["1,25", f"{OPENS}2,5 MB{CLOSES}", "10:31"]


def test_a_word_outside_is_seen(recorded):
    assert outside(f"{OPENS}Open {OPENS}12,5 m{CLOSES} on{CLOSES} · {recorded[0]}, 3,5 m", recorded) == []
    assert outside(f"{OPENS}Open{CLOSES} stray door 3 m", recorded) == ["stray", "door"]

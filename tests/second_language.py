"""A second language, made here: every template of the catalogue in brackets, numbers as Germany writes them.

What a reader sees outside the brackets stands outside the catalogue: the language would not be one file.
"""

import functools
import json
import os
import re
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest
from server_process import copy_of_the_app

from webapp import messages, tables
from webapp.schemas import entry
from webapp.schemas.describe import described, further_fields
from webapp.tables.shipped import shipped_in

OPENS, CLOSES = "‹", "›"
SETTING = 'LANGUAGE = "en"'
JOBS = sorted((Path(__file__).resolve().parent.parent / "sample_jobs").glob("*/job.json"))
STANDARD = re.compile(r"\b(CFR|OSHA|Regel 103-003,|and) [0-9]+[.][0-9.]+")  # a section of one
DAY = re.compile(r"\d{1,2}\.\s+\w+\.?\s+\d{4}")  # 3. Nov. 2026
WORD = re.compile(r"[^\W\d_]{2,}")
UNITS = {"mm"}  # of fields
# What is read out of a page, beside its text.
SPOKEN = re.compile(r'\s(?:alt|aria-label|data-ask|placeholder|title)="([^"]*)"')
CACHES = (
    messages.messages.cache_clear,
    shipped_in.cache_clear,
    entry.instance_of.cache_clear,
    described.cache_clear,
    further_fields.cache_clear,
)
POINT = re.compile(r"(?<![\w.])[+−-]?\d+\.\d+(?![\w.])")


def bracketed(template):
    """A template of the language made here: the other's, in brackets, with decimal commas."""
    if isinstance(template, dict):
        return {category: bracketed(one) for category, one in template.items()}
    return f"{OPENS}{re.sub(r'(?<=[0-9])[.](?=[0-9])', ',', template)}{CLOSES}"


def second_language():
    """The catalogue of the language made here."""
    words = tables.messages()
    made = {key: template if key[0] == "_" else bracketed(template) for key, template in words.items()}
    return made | {"_language": "de", "_locale": "de-DE"}


@contextmanager
def spoken_here(words, folder):
    """Let this process speak from other words; the caches that hold sentences are emptied around it."""
    (folder / "en.json").write_text(json.dumps(words, ensure_ascii=False), encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(messages, "MESSAGES", folder)
        for clear in CACHES:
            clear()
        yield
    for clear in CACHES:
        clear()


def app_in_it(folder):
    """A copy of the app in a folder, which speaks the language made here; return its root."""
    root = copy_of_the_app(folder)
    setting = root / "webapp" / "messages.py"
    text = setting.read_text("utf-8")
    assert text.count(SETTING) == 1
    setting.write_text(text.replace(SETTING, 'LANGUAGE = "de"'), "utf-8")
    words = json.dumps(second_language(), ensure_ascii=False)
    (root / "webapp" / "tables" / "messages" / "de.json").write_text(words, "utf-8")
    return root


def fallbook(root, *words, ends=0, given=None):
    """What a command of such a copy prints, on both streams."""
    command = [sys.executable, "-c", "from webapp.cli import main; main()", *map(str, words)]
    env = {**os.environ, "PYTHONPATH": str(root), "COLUMNS": "400"}
    done = subprocess.run(
        command, cwd=root, env=env, input=given, capture_output=True, text=True, encoding="utf-8", check=False
    )
    assert done.returncode == ends, done.stdout + done.stderr
    return done.stdout + done.stderr


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


@functools.cache
def recorded():
    """What the surveyors of the samples typed, longest first."""
    found = set().union(*(texts_in(json.loads(path.read_text("utf-8"))) for path in JOBS))
    return sorted((one for one in found if re.search(r"\w", one)), key=len, reverse=True)


def sources():
    """Where the tables have their content from: documents go by the name that they have, longest first."""
    found = set()
    for name in tables.NAMES:
        found |= set(sources_in(tables.shipped(name)))
    return sorted(found, key=len, reverse=True)


def sources_in(value):
    """The texts of a table that stand under ``source``, ``law`` and the like."""
    if isinstance(value, dict):
        for name, one in value.items():
            if isinstance(one, str) and one and name.endswith(("source", "law", "standard")):
                yield one
            else:
                yield from sources_in(one)
    elif isinstance(value, list):
        for one in value:
            yield from sources_in(one)


def without(text, known):
    """A text without what is known to stand in it."""
    for one in known:
        if one in text:
            text = re.sub(rf"(?<!\w){re.escape(one)}(?!\w)", " ", text)
    return text


def points(text, known):
    """The numbers of a text that have a decimal point, but for what was typed so, and standards."""
    return POINT.findall(STANDARD.sub(" ", without(text, known)))


def outside(text):
    """The words of a text that stand in no brackets, were typed by nobody and name no source."""
    inner = re.sub(r"‹[^‹›]*›", " ", text)
    while inner != text:
        text, inner = inner, re.sub(r"‹[^‹›]*›", " ", inner)
    text = DAY.sub(" ", without(text, [*recorded(), *sources()]))
    return sorted(set(WORD.findall(text)) - UNITS)

"""What a reader sees stands in the catalogue: no words in survey, report model, assembly, pack and Typst."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("survey", "report_model", "assembly", "pack")
WORDS = re.compile(r"[A-Za-z]{2,}[,.;:]? [A-Za-z*]")
MARKUP = re.compile(r"<\w+ |[\w-]+=\"")  # SVG
KEY = re.compile(r"(survey|pack)\.[a-z0-9_.*]+")
# What stands outside all the same, and why.
VALUES = "value of a file format: the same in every language"
FINDING = "value of a finding, whose sentence stands with the tables"
PATTERN = "written by others: what a file or a surveyor types, read here"
ALLOWED = {
    "pack/levels_csv.py": VALUES,
    "pack/falls_csv.py": VALUES,
    "pack/condition_csv.py": VALUES,
    "pack/readings_csv.py": VALUES,
    "report_model/run.py": VALUES,
    "pack/inspection_txt.py": "a media type",
    "pack/template.py": "the name of a section of the template",
    "survey/coding/codes.py": FINDING,
    "survey/coding/written_form.py": FINDING,
    "survey/readings_file/csv_columns.py": "stands for the name of a column that has none",
    "survey/instruments/gradient.py": PATTERN,
    "survey/readings_file/readings_csv.py": PATTERN,
    "survey/lengths/levels_both_ends.py": "stands for an id",
    "survey/lengths/same_objects.py": "stands for a writer",
}


def literals(source):
    """The texts of a module that read like words, docstrings and keys left out."""
    tree = ast.parse(source)
    skip = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    skip |= {id(p) for n in ast.walk(tree) if isinstance(n, ast.JoinedStr) for p in ast.walk(n) if p is not n}
    for node in ast.walk(tree):
        if id(node) in skip:
            continue
        text = node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""
        if isinstance(node, ast.JoinedStr):
            text = "".join(p.value if isinstance(p, ast.Constant) else "*" for p in node.values)
        if WORDS.search(text) and not MARKUP.search(text) and not KEY.fullmatch(text):
            yield node.lineno, text


def modules():
    for room in ROOMS:
        for path in sorted((ROOT / "webapp" / room).rglob("*.py")):
            yield path.relative_to(ROOT / "webapp").as_posix(), path.read_text(encoding="utf-8")


def test_no_words_stand_in_the_code():
    found = {name: list(literals(source)) for name, source in modules() if name not in ALLOWED}
    assert {name: texts for name, texts in found.items() if texts} == {}


def test_every_exception_is_needed():
    found = {name for name, source in modules() if list(literals(source))}
    assert sorted(set(ALLOWED) - found) == []


def test_the_template_of_the_report_holds_no_words():
    source = "".join(p.read_text(encoding="utf-8") for p in (ROOT / "templates" / "print").glob("*.typ"))
    code = re.sub(r"//.*", "", source)
    assert re.findall(r"(?m)^\s*=+ .*$", code) == []
    assert re.findall(r"\[[A-Za-z][A-Za-z ,.:;]*\]", code) == []


@pytest.mark.parametrize("line", ['x = "Two words"', 'x = f"Run {r} ends"', 'x = {"a": "to be seen here"}'])
def test_words_are_seen(line):
    assert list(literals(line))

"""Every public function of webapp/survey/ says shapes, units, errors and source, and its example runs."""

import ast
import doctest
import importlib
import re
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parent.parent / "webapp" / "survey"
SECTIONS = ("Parameters", "Returns", "Raises", "References", "Examples")


def functions():
    for path in sorted(FOLDER.rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield pytest.param(node, id=f"{path.parent.name}.{path.stem}.{node.name}")


def faults(node):
    """Return what the docstring of a function lacks."""
    text = ast.get_docstring(node) or ""
    found = [f"no section {s}" for s in SECTIONS if not re.search(rf"^{s}\n-+$", text, re.M)]
    named = re.search(r"^Parameters\n-+\n(.*?)(?=^\w+\n-+$)", text + "\nEnd\n---", re.M | re.S)
    listed = re.findall(r"^([a-z_0-9, ]+) : ", named[1], re.M) if named else []
    names = [n.strip() for line in listed for n in line.split(",")]
    arguments = [a.arg for a in node.args.args + node.args.kwonlyargs]
    if names != arguments:
        found.append(f"documents {names}, takes {arguments}")
    for block in re.split(r"\n(?=[a-z_0-9, ]+ : )", named[1] if named else ""):
        name = block.split(" : ")[0].strip()
        unit = re.search(r"_(m|mm|deg|pct|s|m3_s|l_s|pa)(?:$|,)", name)
        if unit and "[" not in block and "ratio" not in block:
            found.append(f"{name} has no unit in brackets")
    return found


@pytest.mark.parametrize("node", list(functions()))
def test_the_docstring_is_whole(node):
    assert faults(node) == []


def test_a_missing_unit_is_seen():
    source = 'def f(a_m: float) -> float:\n    """X.\n\n    Parameters\n    ----------\n    a_m : float\n'
    source += '        A length.\n    """\n'
    assert "a_m has no unit in brackets" in faults(ast.parse(source).body[0])


@pytest.mark.parametrize("path", sorted(FOLDER.rglob("*.py")), ids=lambda p: f"{p.parent.name}.{p.stem}")
def test_the_examples_run(path):
    module = importlib.import_module(".".join(path.relative_to(FOLDER.parents[1]).with_suffix("").parts))
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("path", sorted(FOLDER.rglob("*.py")), ids=lambda p: f"{p.parent.name}.{p.stem}")
def test_every_code_raised_is_documented(path):
    text = path.read_text(encoding="utf-8")
    for code in re.findall(r'SurveyError\("(\w+)"', text):
        assert f"``{code}``" in text, code

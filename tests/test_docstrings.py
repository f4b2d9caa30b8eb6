"""Docstrings of webapp/survey/: sections where a formula or units need them, and no padding anywhere."""

import ast
import doctest
import importlib
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "webapp" / "survey"
FILES = sorted(FOLDER.rglob("*.py"))
SECTIONS = ("Parameters", "Returns", "Raises", "References", "Examples", "Notes")
UNIT = re.compile(r"_(m|mm|m2|m3|m3_s|m_s|m_s2|m2_s|l_s|s|deg|pct|pa)$")
MATHS = {
    "acos",
    "asin",
    "asinh",
    "atan",
    "atan2",
    "atanh",
    "cos",
    "exp",
    "hypot",
    "log",
    "log10",
    "sin",
    "sinh",
}
MATHS |= {"sqrt", "tan"}
PADDING = re.compile(
    r"^(Nothing|Never|Our own \w+|Own rule)\.$|^As ``[\w.]+``\.$|^From ``\w+``\.$|Fallbook's own", re.M
)


def name_of(path):
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def functions():
    for path in FILES:
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield pytest.param(node, id=f"{path.stem}.{node.name}")


def arguments_of(node):
    return [a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)]


def bears_units(node):
    """Whether numbers with a unit go in or come out; words made from them are no contract of that kind."""
    returned = ast.unparse(node.returns) if node.returns else ""
    names = [*arguments_of(node), node.name]
    return any(UNIT.search(n) for n in names) and returned not in ("str", "str | None", "bool", "None")


def is_formula(node):
    """Whether a function with units computes with a power, a root, a logarithm or an angle."""
    inside = list(ast.walk(node))
    powers = any(isinstance(n, ast.BinOp) and isinstance(n.op, ast.Pow) for n in inside)
    calls = [n.func for n in inside if isinstance(n, ast.Call)]
    maths = any(isinstance(f, ast.Attribute) and f.attr in MATHS for f in calls)
    return bears_units(node) and (powers or maths)


def raised_by(node):
    """Return the codes that the body of a function raises itself."""
    raised = [n.exc for n in ast.walk(node) if isinstance(n, ast.Raise) and isinstance(n.exc, ast.Call)]
    first = [call.args[0] for call in raised if call.args and ast.unparse(call.func) == "SurveyError"]
    return {one.value for one in first if isinstance(one, ast.Constant)}


def sections_of(text):
    """Return the sections of a docstring by name; what stands before the first one under an empty name."""
    parts = re.split(rf"^({'|'.join(SECTIONS)})\n-+$\n?", text, flags=re.M)
    return {"": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}


def documented(section):
    """Return each documented parameter with its text."""
    blocks = re.split(r"\n(?=[a-z_0-9, ]+ : )", section.strip("\n")) if section else []
    return {n.strip(): block for block in blocks for n in block.split(" : ")[0].split(",")}


def faults(node):
    """Return what the docstring of a function lacks, or has too much of."""
    text = ast.get_docstring(node) or ""
    sections = sections_of(text)
    reported = documented(sections.get("Parameters", ""))
    arguments = arguments_of(node)
    found = [] if re.match(r"\S.*?[.:]$", text, re.M | re.S) else ["no sentence"]
    if list(reported) != [a for a in arguments if a in reported]:
        found.append(f"documents {list(reported)}, takes {arguments}")
    wanted = {"Returns"} if bears_units(node) else set()
    wanted |= {"References"} if is_formula(node) else set()
    wanted |= {"Raises"} if raised_by(node) else set()
    found += [f"no section {name}" for name in sorted(wanted - set(sections))]
    found += [f"Raises lacks {c}" for c in raised_by(node) if f"``{c}``" not in sections.get("Raises", "")]
    if bears_units(node):
        without = [a for a in arguments if UNIT.search(a) and "[" not in reported.get(a, "")]
        found += [f"{a} has no unit in brackets" for a in without]
    body = "\n".join(line.strip() for line in text.splitlines())
    return found + [f"padding: {one[0]}" for one in PADDING.finditer(body)]


@pytest.mark.parametrize("node", list(functions()))
def test_the_docstring_says_what_it_must(node):
    assert faults(node) == []


@pytest.mark.parametrize(
    ("source", "fault"),
    [
        ('def f(a_m: float) -> float:\n "X."\n return a_m', "a_m has no unit in brackets"),
        ('def f(a_m: float) -> float:\n "X."\n return a_m', "no section Returns"),
        ('def f(a_m: float) -> float:\n "X."\n return a_m**2', "no section References"),
        ('def f(a: str) -> str:\n "X."\n raise SurveyError("bad", "a")', "Raises lacks bad"),
        ('def f(a: str) -> str:\n """X.\n\n Raises\n ------\n Nothing.\n """', "padding: Nothing."),
        (
            'def f(a: str) -> str:\n """X.\n\n Parameters\n ----------\n b : str\n  B.\n """',
            "documents ['b'], takes ['a']",
        ),
    ],
)
def test_a_fault_is_seen(source, fault):
    assert fault in faults(ast.parse(source).body[0])


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_no_docstring_is_padded(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    having = (ast.Module, ast.ClassDef, ast.FunctionDef)
    texts = [ast.get_docstring(n) or "" for n in ast.walk(tree) if isinstance(n, having)]
    assert [t for t in texts if PADDING.search(t)] == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_the_examples_run(path):
    assert doctest.testmod(importlib.import_module(name_of(path))).failed == 0


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_code_raised_is_documented(path):
    text = path.read_text(encoding="utf-8")
    for code in re.findall(r'SurveyError\("(\w+)"', text):
        assert f"``{code}``" in text, code

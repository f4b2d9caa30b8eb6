"""What functions take and return: at most six arguments by position; of the survey functions, named types."""

import ast
import re
from pathlib import Path

import pytest
from js_tools import in_node

ROOT = Path(__file__).resolve().parents[1]
MAX_POSITIONAL = 6


def functions(tree):
    """Every function of a module, with whether it is public: at the top and without an underscore."""
    top = {id(node) for node in tree.body}
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node, id(node) in top and not node.name.startswith("_")


def positional(node):
    own = [one.arg for one in (*node.args.posonlyargs, *node.args.args)]
    return len([name for name in own if name not in ("self", "cls")])


def loose_names(tree):
    """The names that a module gives to mappings of anything, such as ``Item = Mapping[str, Any]``."""
    found = {"Any"}
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            if isinstance(node.value, ast.Subscript | ast.BinOp) and words(node.value) & {"Any"}:
                found.add(node.targets[0].id)
    return found


def words(node):
    return {one.id for one in ast.walk(node) if isinstance(one, ast.Name)}


def python_signatures(root):
    for path in sorted(root.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        loose = loose_names(tree)
        for node, public in functions(tree):
            place = f"{path.relative_to(root).as_posix()} {node.name}"
            yield (
                place,
                positional(node),
                public,
                node.returns is not None and bool(words(node.returns) & loose),
            )


def javascript_signatures(root):
    for one in in_node("signatures.mjs", {"folder": str(root)}):
        returned = set(re.findall(r"\w+", one["returns"]))
        loose = not returned or bool(returned & {"any", *one["loose"]})
        yield f"{one['path']} {one['name']}", one["parameters"], one["exported"], loose


SIDES = {
    "python": lambda root=ROOT / "webapp": python_signatures(root),
    "javascript": lambda root=ROOT / "static" / "js": javascript_signatures(root),
}


@pytest.mark.parametrize("side", SIDES)
def test_no_function_has_more_than_six_positional_parameters(side):
    found = list(SIDES[side]())
    assert len(found) > 2000
    wide = {place for place, count, _, _ in found if count > MAX_POSITIONAL}
    assert wide == set()


@pytest.mark.parametrize("side", SIDES)
def test_a_public_survey_function_returns_a_named_type(side):
    survey = [one for one in SIDES[side]() if one[0].startswith("survey/") and one[2]]
    assert len(survey) > 200
    assert [place for place, _, _, loose in survey if loose] == []


PYTHON = """
from collections.abc import Mapping
from typing import Any
Row = Mapping[str, Any]
def wide(a, b, c, d, e, f, g): ...
def narrow(a, b, c, d, e, f, *, g): ...
def loose(a) -> list[Row]: ...
def named(a) -> list[str]: ...
"""
JAVASCRIPT = """
/** @typedef {Object<string, any>} Row */
/** @param {number} a @returns {number} */
export function wide(a, b, c, d, e, f, g) { return a; }
/** @returns {Row[]} */
export function loose() { return []; }
/** @returns {string[]} */
export const named = () => [];
"""


def test_what_is_too_wide_or_loose_is_seen(tmp_path):
    (tmp_path / "a.py").write_text(PYTHON)
    (tmp_path / "a.js").write_text(JAVASCRIPT)
    python = {
        place: (count > MAX_POSITIONAL, loose) for place, count, _, loose in python_signatures(tmp_path)
    }
    assert python == {
        "a.py wide": (True, False),
        "a.py narrow": (False, False),
        "a.py loose": (False, True),
        "a.py named": (False, False),
    }
    script = {
        place: (count > MAX_POSITIONAL, loose) for place, count, _, loose in javascript_signatures(tmp_path)
    }
    assert script == {"a.js wide": (True, False), "a.js loose": (False, True), "a.js named": (False, False)}

"""The tests use what is public, and pytest's own configuration finds their modules."""

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parent
FILES = sorted(path for path in TESTS.rglob("*.py") if "node_modules" not in path.parts)
# A benchmark is started as a script; it finds the modules of the tests through this one.
FINDS_MODULES = {"bench/bench_paths.py"}
# What Python itself gives with one underscore before it, for everybody's use.
PUBLIC = {"_asdict", "_fields", "_replace", "_make", "_exit"}
# What only the inside of a library offers, by file.
OF_A_LIBRARY = {
    "kept_routes.py": {"_compile_builder", "_trace"},
    "steady_cases.py": {"_get_local_constants"},
}
PRIVATE = re.compile(r"_[a-z]\w*")


def private_names(tree):
    """Return every name that is used from elsewhere although it begins with an underscore."""
    own = {"self", "cls"}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            names = [part for one in node.names for part in one.name.split(".")]
            names += (getattr(node, "module", None) or "").split(".")
            yield from (name for name in names if PRIVATE.fullmatch(name) and name not in PUBLIC)
        elif isinstance(node, ast.Attribute) and PRIVATE.fullmatch(node.attr) and node.attr not in PUBLIC:
            if not (isinstance(node.value, ast.Name) and node.value.id in own):
                yield node.attr
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("setattr"):
            yield from (n for one in node.args if PRIVATE.fullmatch(n := str(getattr(one, "value", ""))))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            if re.fullmatch(r"webapp(\.\w+)*\._[a-z]\w*", node.value):
                yield node.value


def changes_the_path(tree):
    """Say whether a file changes where Python looks for modules."""
    return any(isinstance(node, ast.Attribute) and ast.unparse(node) == "sys.path" for node in ast.walk(tree))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(TESTS)))
def test_it_uses_what_is_public_and_leaves_the_path_alone(path):
    tree, name = ast.parse(path.read_text(encoding="utf-8")), path.relative_to(TESTS).as_posix()
    assert set(private_names(tree)) == OF_A_LIBRARY.get(name, set())
    assert name in FINDS_MODULES or not changes_the_path(tree)


def test_a_private_name_and_a_changed_path_would_be_seen():
    inside = "webapp.api" + "._v"
    text = f"from webapp.pack import _x\nimport webapp._y\nz._w()\n'{inside}'\nself._own\nos._exit(0)\n"
    text += "setattr(a, '_z', 1)\nsys.path.insert(0, '')"
    tree = ast.parse(text)
    assert sorted(private_names(tree)) == ["_w", "_x", "_y", "_z", inside] and changes_the_path(tree)


def promises_waited_for(tree):
    """Return the predicates of ``wait_for_function`` that give a promise, which it takes for yes at once."""
    texts = {
        target.id: node.value.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant)
        for target in node.targets
        if isinstance(target, ast.Name)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("wait_for_function"):
            first = node.args[0]
            text = str(texts.get(first.id, "")) if isinstance(first, ast.Name) else ast.unparse(first)
            if re.search(r"\basync\b|\bPromise\b|\.then\(|\bimport\(", text):
                yield text


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(TESTS)))
def test_it_waits_for_no_promise_where_none_is_awaited(path):
    assert list(promises_waited_for(ast.parse(path.read_text(encoding="utf-8")))) == []


def test_a_promise_waited_for_would_be_seen():
    text = "A = '() => caches.match(1).then(Boolean)'\npage.wait_for_function(A)\n"
    text += "one.page.wait_for_function('async () => 1')\npage.wait_for_function('() => document.body')"
    assert len(list(promises_waited_for(ast.parse(text)))) == 2


def test_no_two_modules_have_one_name():
    names = Counter(path.name for path in FILES if path.name != "conftest.py")
    assert [name for name, count in names.items() if count > 1] == []

"""What the code imports is declared in pyproject.toml: nothing comes along by chance with something else."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
OURS = (
    {"webapp"}
    | {p.stem for p in (ROOT / "tests").rglob("*.py")}
    | {p.name for p in (ROOT / "tests").iterdir()}
)


def names(requirements):
    return {canonical(re.match(r"[\w.-]+", one)[0]) for one in requirements}


def canonical(name):
    return re.sub(r"[-_.]+", "-", name).lower()


def imported(folder):
    """Return each module that a folder imports from outside, with one place where it does."""
    found = {}
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            modules = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and not node.level:
                modules = [node.module]
            for module in modules:
                found.setdefault(module.split(".")[0], f"{path.relative_to(ROOT)}:{node.lineno}")
    return {m: at for m, at in found.items() if m not in sys.stdlib_module_names and m not in OURS}


def undeclared(modules, declared):
    """Return the modules of ``modules`` that no declared package brings."""
    brings = packages_distributions()
    return {m: at for m, at in modules.items() if not {canonical(d) for d in brings.get(m, [])} & declared}


@pytest.mark.parametrize("folder, extras", [("webapp", ("postgres", "s3")), ("tests", ("test",))])
def test_every_import_is_declared(folder, extras):
    modules = imported(ROOT / folder)
    declared = names(PROJECT["dependencies"]).union(*(names(EXTRAS[one]) for one in extras))
    assert len(modules) > 5
    assert undeclared(modules, declared) == {}


def test_what_only_an_extra_brings_is_imported_where_it_is_used():
    """Fallbook starts without the packages of its extras."""
    rest = names(PROJECT["dependencies"])
    needs = undeclared(imported(ROOT / "webapp"), rest)
    tops = {
        name.split(".")[0]
        for path in (ROOT / "webapp").rglob("*.py")
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.Import | ast.ImportFrom) and not getattr(node, "level", 0)
        for name in ([a.name for a in node.names] if isinstance(node, ast.Import) else [node.module])
    }
    allowed_at_top = {"webapp/store/photo_storage_s3.py"}
    assert {m: at for m, at in needs.items() if m in tops and at.split(":")[0] not in allowed_at_top} == {}


def test_the_tests_bring_every_extra():
    assert names(EXTRAS["postgres"]) | names(EXTRAS["s3"]) <= names(EXTRAS["test"])


def test_a_missing_declaration_is_seen():
    modules = {"numpy": "somewhere.py:1", "flask": "somewhere.py:2"}
    assert undeclared(modules, names(PROJECT["dependencies"])) == {"numpy": "somewhere.py:1"}

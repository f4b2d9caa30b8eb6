"""Data flows one way: this reads every import and fails when an arrow is reversed."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PURE = {
    "bisect",
    "collections",
    "collections.abc",
    "dataclasses",
    "enum",
    "itertools",
    "math",
    "re",
    "typing",
    "unicodedata",
}
# layer -> the layers of ours it may import (itself is always allowed)
MAY = {
    "survey": set(),
    "canonical": set(),
    "collector": set(),
    "paths": set(),
    "joiner": {"errors"},
    "timesource": set(),
    "errors": set(),
    "addresses": set(),
    "environment": {"errors"},
    "tables": {"paths", "environment", "grading_file", "codes_file"},
    "schemas": {"survey", "tables"},
    "sync": {"schemas", "store", "canonical", "errors", "timesource"},
    "store": {"schemas", "canonical", "environment", "errors", "paths", "timesource"},
    "access": {"schemas", "store", "sync", "addresses", "errors", "timesource"},
    "lan": {"access", "addresses", "store", "errors", "headers", "paths", "timesource"},
    "jobfile": {"schemas", "sync", "canonical", "collector", "errors", "tables"},
    "jobcheck": {"jobfile", "schemas", "sync", "survey", "tables", "figures", "canonical", "errors"},
    "exchange": {"survey", "tables", "schemas", "errors", "canonical", "figures"},
    "zipin": {"errors"},
    "pack": {"survey", "tables", "paths", "errors", "canonical", "jobfile", "zipin", "assemble", "exchange"},
    "figures": {"survey", "tables"},
    "north_model": {"errors"},
    "assemble": {"survey", "sync", "tables", "pack", "jobfile", "errors", "canonical", "schemas", "figures"},
}
SURVEY = sorted((ROOT / "webapp" / "survey").glob("*.py"))


def layer(path):
    parts = path.relative_to(ROOT / "webapp").with_suffix("").parts
    return whole(parts[0])


def whole(name):
    """The assembly is one layer in several files."""
    return "assemble" if name.startswith("assemble_") else name


def imports(path):
    """Yield the dotted names that a module imports, ours as ``webapp.x.y``."""
    package = ("webapp", *path.relative_to(ROOT / "webapp").parts[:-1])
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            stem = ".".join((*base, *([node.module] if node.module else [])))
            if stem in ("webapp", ""):
                yield from (f"{stem}.{name.name}" for name in node.names)
            else:
                yield stem


def reversed_arrows(path):
    """Return the imports of a module that its layer may not make."""
    own = layer(path)
    if own not in MAY:
        return []
    bad = []
    for name in imports(path):
        parts = name.split(".")
        if parts[0] == "webapp" and len(parts) > 1:
            if whole(parts[1]) not in MAY[own] | {own}:
                bad.append(name)
        elif own == "survey" and name not in PURE:
            bad.append(name)
        elif own in ("pack", "schemas", "sync", "assemble", "jobfile") and parts[0] == "flask":
            bad.append(name)
    return bad


@pytest.mark.parametrize(
    "path", sorted((ROOT / "webapp").rglob("*.py")), ids=lambda p: str(p.relative_to(ROOT))
)
def test_no_arrow_is_reversed(path):
    assert reversed_arrows(path) == []


def test_nothing_imports_the_api_but_the_app():
    for path in (ROOT / "webapp").rglob("*.py"):
        if layer(path) in ("api", "app", "cli", "commands", "__init__"):
            continue
        assert not [n for n in imports(path) if n.startswith("webapp.api")], path


def test_a_reversed_arrow_is_seen(tmp_path, monkeypatch):
    monkeypatch.setattr("test_layers.ROOT", tmp_path)
    bad = tmp_path / "webapp" / "survey" / "bad.py"
    bad.parent.mkdir(parents=True)
    bad.write_text("import time\nfrom ..store import models\nfrom . import errors\n")
    assert reversed_arrows(bad) == ["time", "webapp.store"]


def public_names(path):
    names = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            names.add(re.sub(r"_([a-z0-9])", lambda m: m[1].upper(), node.name))
    return names


@pytest.mark.parametrize(
    "path", [p for p in SURVEY if p.stem not in ("__init__", "errors")], ids=lambda p: p.stem
)
def test_every_survey_module_has_a_twin_with_the_same_functions(path):
    twin = ROOT / "static" / "js" / "survey" / f"{path.stem}.js"
    exported = set(re.findall(r"^export (?:async )?function (\w+)", twin.read_text(encoding="utf-8"), re.M))
    assert exported == public_names(path)


def test_no_twin_without_an_original():
    assert {p.stem for p in (ROOT / "static" / "js" / "survey").glob("*.js")} <= {p.stem for p in SURVEY}


def js_imports(path):
    for target in re.findall(r"""from\s+['"](\.[^'"]+)['"]""", path.read_text(encoding="utf-8")):
        yield (path.parent / target).resolve()


JS_MAY = {
    "survey": {"survey"},
    "store": {"store", "sync/fold.js"},
    "sync": {"sync", "store"},
    "ui": {"ui", "text", "survey"},
    "text": {"text"},
}


@pytest.mark.parametrize("folder", sorted(JS_MAY))
def test_the_arrows_of_the_phone(folder):
    js = ROOT / "static" / "js"
    for path in (js / folder).glob("*.js"):
        for target in js_imports(path):
            where = target.relative_to(js).as_posix()
            assert where.split("/")[0] in JS_MAY[folder] or where in JS_MAY[folder], (path.name, where)


def test_only_store_touches_indexeddb_and_only_sync_and_pack_fetch():
    js = ROOT / "static" / "js"
    for path in js.rglob("*.js"):
        where = path.relative_to(js).as_posix()
        text = re.sub(r"/\*.*?\*/|//[^\n]*", "", path.read_text(encoding="utf-8"), flags=re.S)
        if where.startswith(("screens/", "forms/", "ui/", "survey/")):
            assert "indexedDB" not in text, where
        if where.startswith(("forms/", "ui/", "survey/", "store/")):
            assert not re.search(r"\bfetch\(", text), where
        assert not re.search(r"\.innerHTML|\.outerHTML|insertAdjacentHTML|document\.write", text), where

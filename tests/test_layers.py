"""Data flows one way: this reads every import of every room and fails when an arrow is reversed.

A room is a folder, or a file that lies beside the folders; ``survey/`` is as many rooms as it has folders.
What a room may import is listed here, so a new folder or a new arrow is a decision in this file.
"""

import ast
import posixpath
import re
from graphlib import TopologicalSorter
from pathlib import Path

import pytest
from exported import public_names

ROOT = Path(__file__).resolve().parent.parent
PURE = {
    "bisect", "collections", "collections.abc", "dataclasses", "decimal", "enum", "functools", "itertools",
    "math", "re", "typing", "unicodedata",
}  # fmt: skip
LANGUAGES = {"babel.core", "babel.numbers"}  # plurals and decimal marks, for survey/wording only
# The rooms of survey/ are the same on both sides.
SURVEY = {
    "survey": "",  # the error that all of them raise, the types of the records, what of a record is whole
    "survey/table_types": "",  # the types of the data tables: any of the others may import them
    "survey/numbers": "",
    "survey/instruments": "numbers",
    "survey/section": "numbers",
    "survey/coding": "numbers section",
    "survey/levels": "numbers instruments section",
    "survey/wording": "numbers instruments coding levels plan grading lengths",
    "survey/readings_file": "instruments",
    "survey/flow": "numbers instruments section coding levels",
    "survey/plan": "numbers instruments coding levels",
    "survey/grading": "numbers instruments section coding flow",
    "survey/lengths": "instruments coding levels flow plan",
    "survey/review": "numbers instruments coding levels flow plan grading lengths wording",
}
FOUNDATIONS = {
    "budgets", "errors", "environment", "messages", "paths", "picture_header", "process_limits", "timesource",
    "addresses", "dates", "declination",
}  # fmt: skip
# room -> the rooms of ours it may import (itself and the foundations are always allowed)
MAY = {
    "tables": "survey",
    "schemas": "survey tables",
    "records": "schemas survey tables",
    "store": "records schemas",
    "sync": "records schemas store",
    "access": "schemas store sync",
    "office": "records schemas store",
    "config": "store",
    "figures": "survey",
    "erasing": "access records schemas store survey sync",
    "selfcheck": "figures survey tables",
    "report_model": "survey",
    "exchange": "records schemas survey tables",
    "pack": "exchange report_model survey",
    "assembly": "figures pack records report_model schemas survey tables",
    "job_pack": "assembly pack records",
    "jobcheck": "records schemas survey tables",
    "intake": "access exchange pack records schemas store survey sync tables",
    "web": "access config erasing office records schemas survey sync tables",
    "pack_maker": "job_pack records",
    "api": "access config erasing intake office records schemas store sync web",
    "lan": "access store web",
    "app": "access api config office store sync tables web",
    "server": "access web",
    "serve": "lan server web",
    "upkeep": "app config lan records schemas store sync web",
}
ANYTHING = {
    "commands",
    "cli",
    "start",
    "__main__",
    "__init__",
}  # the edge: nothing imports these but each other
JS_MAY = {
    "text": "survey",
    "records": "",
    "store": "records survey",
    "sync": "records store",
    "ui": "text survey",
    "pwa": "ui survey",
    "files": "records save_all store survey text ui",
    "photos": "save_all survey",
    "figures": "survey",
    "forms/fields": "pwa survey text ui",
    "forms": "files forms/fields photos records survey text ui",
    "screens/parts": "figures forms forms/fields records survey text ui",
    "screens/sync": "forms records screens/parts sync text ui",
    "screens/job": "figures files forms forms/fields screens/parts survey sync text ui",
    "screens/figures": "figures forms forms/fields pwa screens/job screens/parts survey text ui",
    "screens/observation": "figures forms forms/fields records screens/parts survey text ui",
    "screens/run": "figures files forms forms/fields pwa records screens/figures screens/job"
    " screens/observation screens/parts survey text ui",
    "save_all": "",
    "save_all.js": "save_all",
    "office_words.js": "survey",
    "office_request.js": "office_words.js",
    "routes.js": "screens/figures screens/job screens/observation screens/run screens/sync ui",
    "router.js": "routes.js screens/job ui",
    "start.js": "forms photos pwa router.js store sync text ui",
    "second.js": "files screens/figures screens/job screens/observation screens/run screens/sync",
}
# The second part of the app, which is fetched once the first screen is there: what of it must never come with
# the first. Whoever needs one of these in the first part asks for it by app.second.load().
SECOND_ROOMS = ("survey/readings_file/", "screens/figures/")
IN_BOTH = {"screens/figures/sight_parts.js"}  # the log of a run shows them
ALONE = {"main.js", "office.js", "office_erase.js", "office_phones.js", "sw.js", "watchdog.js"}
# Imports of ours inside a function, each deferring a library that takes long to load.
DEFERRED = {
    "webapp/__init__.py": "Flask",
    "webapp/app.py": "boto3",
    "webapp/store/job_list.py": "SQLAlchemy, for a damaged database only",
    "webapp/start.py": "click, so that Ctrl-C is heard before it is there",
}


def room(where):
    """Return the room of a path below webapp/ or static/js/."""
    parts = where.split("/")
    deep = {"survey": 2, "screens": 2, "forms": 2}.get(parts[0], 1) if len(parts) > 2 else 1
    return "/".join(parts[:deep]).removesuffix(".py")


def allowed(own, table):
    """Return the rooms that a room may import."""
    if own in SURVEY:
        return {own, "survey", "survey/table_types"} | {f"survey/{name}" for name in SURVEY[own].split()}
    found = {own} | set(table[own].split())
    return found | set(SURVEY) if "survey" in found else found


def imports(path, body=None):
    """Yield what a module imports: ours as the path of their file, others by their dotted name."""
    package = path.relative_to(ROOT).parts[:-1]
    for node in ast.walk(body or ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            stem = (*base, *(node.module.split(".") if node.module else ()))
            if stem[0] != "webapp":
                yield ".".join(stem)
                continue
            for name in node.names:
                yield module_file((*stem, name.name)) or module_file(stem)


def module_file(parts):
    """Return the file of a module or package of ours, from the root of the checkout."""
    path = ROOT.joinpath(*parts)
    for found in (path.with_suffix(".py"), path / "__init__.py"):
        if found.exists():
            return found.relative_to(ROOT).as_posix()
    return None


def reversed_arrows(path):
    """Return the imports of a module that its room may not make."""
    own = room(path.relative_to(ROOT / "webapp").as_posix())
    if own in FOUNDATIONS:
        may = {own, *FOUNDATIONS, *(["survey/wording"] if own == "messages" else [])}
    elif own in ANYTHING:
        return []
    elif own in SURVEY:
        may = allowed(own, MAY)
    else:
        may = allowed(own, MAY) | FOUNDATIONS
    bad = []
    for name in imports(path):
        if name.startswith("webapp/"):
            if room(name.removeprefix("webapp/")) not in may:
                bad.append(name)
        elif own in SURVEY and name not in PURE | (LANGUAGES if own == "survey/wording" else set()):
            bad.append(name)
        elif own in ("pack", "report_model", "schemas", "sync", "assembly", "records") and name.startswith(
            "flask"
        ):
            bad.append(name)
    return bad


PYTHON = sorted(p for p in (ROOT / "webapp").rglob("*.py") if "migrations" not in p.parts)
SCRIPTS = sorted((ROOT / "static" / "js").rglob("*.js"))


@pytest.mark.parametrize("path", PYTHON, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_arrow_is_reversed(path):
    assert reversed_arrows(path) == []


def test_a_reversed_arrow_is_seen(tmp_path, monkeypatch):
    monkeypatch.setattr("test_layers.ROOT", tmp_path)
    bad = tmp_path / "webapp" / "survey" / "levels" / "bad.py"
    bad.parent.mkdir(parents=True)
    for name in ("survey/flow/capacity.py", "survey/errors.py", "store/models.py"):
        (tmp_path / "webapp" / name).parent.mkdir(exist_ok=True)
        (tmp_path / "webapp" / name).write_text("")
    bad.write_text(
        "import time\nfrom ...store import models\nfrom .. import errors\nfrom ..flow import capacity\n"
    )
    assert reversed_arrows(bad) == ["time", "webapp/store/models.py", "webapp/survey/flow/capacity.py"]


def rooms_in(folder, suffix):
    return {
        room(p.relative_to(folder).as_posix())
        for p in folder.rglob(f"*{suffix}")
        if "migrations" not in p.parts
    }


def test_every_room_is_listed():
    assert rooms_in(ROOT / "webapp", ".py") <= {*SURVEY, *FOUNDATIONS, *MAY, *ANYTHING}
    assert {*MAY, *SURVEY} <= rooms_in(ROOT / "webapp", ".py")
    assert rooms_in(ROOT / "static" / "js", ".js") <= {*SURVEY, *JS_MAY, *ALONE}
    assert {*JS_MAY, *ALONE} <= rooms_in(ROOT / "static" / "js", ".js")


@pytest.mark.parametrize("table", [SURVEY, MAY, JS_MAY], ids=["survey", "python", "javascript"])
def test_no_rooms_go_in_a_circle(table):
    inside = {
        "survey/" + name if table is SURVEY else name for text in table.values() for name in text.split()
    }
    assert inside <= {*table, "survey", *(f"survey/{n}" for n in SURVEY)}
    graph = {
        own: {f"survey/{n}" if table is SURVEY else n for n in text.split()} for own, text in table.items()
    }
    assert list(TopologicalSorter(graph).static_order())  # raises CycleError


def test_no_modules_go_in_a_circle():
    graph = {}
    for path in PYTHON:
        name = path.relative_to(ROOT).as_posix()
        graph[name] = {n for n in imports(path) if n.startswith("webapp/") and n != name}
    assert list(TopologicalSorter(graph).static_order())


def test_nothing_of_ours_is_imported_inside_a_function():
    found = {}
    for path in PYTHON:
        where = path.relative_to(ROOT).as_posix()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                ours = [n for n in imports(path, node) if n.startswith("webapp/")]
                if ours:
                    found[where] = found.get(where, []) + ours
    assert {where: names for where, names in found.items() if where not in DEFERRED} == {}
    assert set(DEFERRED) <= set(found), "a reason for an import that is not there any more"


BY_NAME = {
    "webapp/commands/loading.py": "a command when it is called",
    "webapp/selfcheck/topics.py": "every module of its own folder that has topics",
}


def test_only_the_loader_of_commands_imports_by_name():
    """And what it is asked for by name is there."""
    for path in PYTHON:
        where, text = path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
        assert where in BY_NAME or not re.search(r"\bimport_module\(|\b__import__\(", text), where
        for module, name in re.findall(r"\bloaded\(\"(\w+):(\w+)\"\)", text):
            done = ROOT / "webapp" / "commands" / "run" / f"{module}.py"
            assert where in BY_NAME or name in public_names(done, as_written=True), (where, module, name)


def js_imports(path):
    text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.S)
    found = re.findall(r"""\b(?:from|import)\s*\(?\s*['"](\.[^'"]+)['"]""", text)
    base = path.relative_to(ROOT / "static" / "js").parent.as_posix()
    return [posixpath.normpath(posixpath.join(base, target)) for target in found]


def brought_in(entry):
    """Everything that a module of the phone needs, itself included."""
    found, left = set(), [entry]
    while left:
        path = left.pop()
        if path not in found:
            found.add(path)
            left += js_imports(ROOT / "static" / "js" / path)
    return found


def test_the_first_part_imports_nothing_of_the_second():
    first = brought_in("start.js") | brought_in("sync/worker_entry.js")
    second = set(js_imports(ROOT / "static" / "js" / "second.js"))
    assert len(second) > 15 and first & second == set()
    early = {path for path in first if path.startswith(SECOND_ROOMS)}
    assert early == IN_BOTH
    assert "second.js" not in first


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda p: str(p.relative_to(ROOT / "static" / "js")))
def test_the_arrows_of_the_phone(path):
    own = room(path.relative_to(ROOT / "static" / "js").as_posix())
    targets = js_imports(path)
    if own in ALONE:
        assert [t for t in targets if "/" in t] == [], "this script stands alone"
        return
    may = allowed(own, JS_MAY)
    assert [t for t in targets if room(t) not in may] == []


def test_only_store_touches_indexeddb_and_only_sync_and_pack_fetch():
    js = ROOT / "static" / "js"
    for path in SCRIPTS:
        where = path.relative_to(js).as_posix()
        text = re.sub(r"/\*.*?\*/|//[^\n]*", "", path.read_text(encoding="utf-8"), flags=re.S)
        if where.startswith(("screens/", "forms/", "ui/", "survey/", "figures/", "files/", "photos/")):
            assert "indexedDB" not in text, where
        if where.startswith(("forms/", "ui/", "survey/", "store/", "figures/", "records/")):
            assert not re.search(r"\bfetch\(", text), where
        assert not re.search(r"\.innerHTML|\.outerHTML|insertAdjacentHTML|document\.write", text), where

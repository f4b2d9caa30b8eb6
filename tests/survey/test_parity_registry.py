"""Every module that has a twin is compared in generated cases; a new one without is named."""

import importlib
import posixpath
import re
from pathlib import Path

import pytest
from parity import CASES, ENOUGH, REGISTRY, THROUGH

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
SCRIPTS = ROOT / "static" / "js" / "survey"
COMPUTES = re.compile(r"^export (async )?function|^export const \w+ = \(", re.M)


def twins():
    """Modules on both sides that compute something: not the error's class, not a list of names."""
    both = {
        path.relative_to(folder).with_suffix("").as_posix()
        for folder, suffix in ((ROOT / "webapp" / "survey", "py"), (SCRIPTS, "js"))
        for path in folder.rglob(f"*.{suffix}")
    }
    both = {name for name in both if all(p.exists() for p in sides(name))}
    return sorted(name for name in both if COMPUTES.search((SCRIPTS / f"{name}.js").read_text("utf-8")))


def sides(name):
    """Return the files of a twin."""
    return ROOT / "webapp" / "survey" / f"{name}.py", SCRIPTS / f"{name}.js"


def reached_from(names):
    """Modules that these call, directly or by way of others."""
    found, ahead = set(), list(names)
    while ahead:
        name = ahead.pop()
        text = (SCRIPTS / f"{name}.js").read_text("utf-8")
        targets = re.findall(r"from '(\.[\w./]+)\.js'", text)
        new = {posixpath.normpath(posixpath.join(posixpath.dirname(name), one)) for one in targets} - found
        found |= new
        ahead += new
    return found


@pytest.fixture(scope="module")
def registry():
    """What all test modules of this folder register when they are loaded."""
    for path in sorted(HERE.glob("test_*.py")):
        if "@parity(" in path.read_text("utf-8"):
            importlib.import_module(path.stem)
    return REGISTRY


def test_every_twin_has_its_generated_cases(registry):
    few = {name: registry.get(name, 0) for name in twins() if registry.get(name, 0) < ENOUGH}
    assert few == {}, "put @parity(module, strategies...) on a test of these"


def test_nothing_is_registered_that_is_no_twin(registry):
    assert sorted(set(registry) - set(twins())) == []


def test_what_is_compared_through_others_is_called_by_them(registry):
    for name, callers in THROUGH.items():
        assert name in reached_from(callers), name


def test_the_number_asked_for_is_the_number_promised():
    assert CASES >= 2000 and ENOUGH >= 400

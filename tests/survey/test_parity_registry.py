"""Every module that has a twin is compared in at least 2,000 generated cases; a new one without is named."""

import importlib
import re
from pathlib import Path

import pytest
from parity import CASES, REGISTRY, THROUGH

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
SCRIPTS = ROOT / "static" / "js" / "survey"
COMPUTES = re.compile(r"^export (async )?function|^export const \w+ = \(", re.M)


def twins():
    """Modules on both sides that compute something: not the error's class, not a list of names."""
    both = {p.stem for p in (ROOT / "webapp" / "survey").glob("*.py")} & {
        p.stem for p in SCRIPTS.glob("*.js")
    }
    return sorted(name for name in both if COMPUTES.search((SCRIPTS / f"{name}.js").read_text("utf-8")))


def reached_from(names):
    """Modules that these call, directly or by way of others."""
    found, ahead = set(), list(names)
    while ahead:
        text = (SCRIPTS / f"{ahead.pop()}.js").read_text("utf-8")
        new = set(re.findall(r"from '\./(\w+)\.js'", text)) - found
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
    few = {name: registry.get(name, 0) for name in twins() if registry.get(name, 0) < CASES}
    assert few == {}, "put @parity(module, strategies...) on a test of these"


def test_nothing_is_registered_that_is_no_twin(registry):
    assert sorted(set(registry) - set(twins())) == []


def test_what_is_compared_through_others_is_called_by_them(registry):
    for name, callers in THROUGH.items():
        assert name in reached_from(callers), name


def test_the_number_asked_for_is_the_number_promised():
    assert CASES >= 2000

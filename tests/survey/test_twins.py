"""Twins have the same modules and the same functions on both sides, in survey/ and figures/."""

import re
from pathlib import Path

import pytest
from exported import public_names

ROOT = Path(__file__).resolve().parents[2]
PYTHON = sorted(p for p in (ROOT / "webapp").rglob("*.py") if "migrations" not in p.parts)
# what only the pack and the exchange file call: no phone downloads a twin of it
SERVER_ONLY = {
    "levels/at": {"levelAt"},
    "levels/falls": {"whatWouldATieSettle"},
    "coding/run_end": {"endObservation"},
}
# types only, and errors: no twin; survey/records.py is generated, as static/js/records/types.js is
NO_TWIN = [ROOT / "webapp" / "survey" / name for name in ("errors.py", "findings.py", "records.py")]
NO_TWIN += (ROOT / "webapp" / "survey" / "table_types").glob("*.py")  # static/js/records/tables.js
ORIGINALS = [
    p for p in sorted((ROOT / "webapp" / "survey").rglob("*.py")) if p.stem != "__init__" and p not in NO_TWIN
]


@pytest.mark.parametrize("path", ORIGINALS, ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_every_survey_module_has_a_twin_with_the_same_functions(path):
    twin = ROOT / "static" / "js" / path.relative_to(ROOT / "webapp").with_suffix(".js")
    text = twin.read_text(encoding="utf-8") if twin.exists() else ""
    exported = set(re.findall(r"^export (?:async )?function (\w+)", text, re.M))
    own = path.relative_to(ROOT / "webapp" / "survey").with_suffix("").as_posix()
    assert exported == public_names(path) - SERVER_ONLY.get(own, set())


def test_the_figures_are_composed_by_the_same_modules():
    python = {p.stem for p in (ROOT / "webapp" / "figures").glob("*.py")} - {"__init__"}
    assert python == {p.stem for p in (ROOT / "static" / "js" / "figures").glob("*.js")}
    for name in python:
        text = (ROOT / "static/js/figures" / f"{name}.js").read_text(encoding="utf-8")
        exported = set(re.findall(r"^export (?:async )?function (\w+)", text, re.M))
        assert exported == public_names(ROOT / "webapp" / "figures" / f"{name}.py"), name


def test_what_has_no_twin_has_a_caller_on_the_server():
    rooms = [p for p in PYTHON if p.relative_to(ROOT / "webapp").parts[0] not in ("survey", "selfcheck")]
    used = "".join(p.read_text(encoding="utf-8") for p in rooms)
    for name in set().union(*SERVER_ONLY.values()):
        snake = re.sub("([A-Z])", lambda m: "_" + m[1].lower(), name)
        assert re.search(rf"\b{snake}\(", used), name


def test_no_twin_without_an_original():
    scripts = (ROOT / "static" / "js" / "survey").rglob("*.js")
    twins = {p.relative_to(ROOT / "static" / "js").with_suffix("") for p in scripts}
    assert twins <= {p.relative_to(ROOT / "webapp").with_suffix("") for p in PYTHON}

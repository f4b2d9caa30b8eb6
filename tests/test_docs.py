"""The documents name what the code has: commands, pack files, settings, error codes, kinds."""

import ast
import functools
import re
from pathlib import Path

import pytest

from webapp import tables
from webapp.commands.groups import load
from webapp.commands.registry import ROWS
from webapp.environment import NOT_OURS, SETTINGS
from webapp.errors import ERRORS
from webapp.pack.write import EXPORTS
from webapp.schemas import KINDS, describe

ROOT = Path(__file__).resolve().parent.parent
PAGES = sorted(p for p in ROOT.rglob("*.md") if not {"node_modules", ".venv", ".venv-tests"} & set(p.parts))


def page(path):
    """Return the text of a page, by its path from the root."""
    return (ROOT / path).read_text(encoding="utf-8")


def named_commands():
    """Return the commands of the table; `link add\\|list` names two."""
    found = set()
    table = page("webapp/commands/README.md")
    for first, verbs in re.findall(r"^\| `fallbook ([a-z-]+)((?: [a-z][a-z|\\-]*)?)", table, re.M):
        found |= {f"{first} {verb}" for verb in verbs.strip().split("\\|")} if verbs.strip() else {first}
    return found


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.words)
def test_every_command_is_in_the_table_and_has_help(row):
    assert row.words in named_commands()
    assert len(load(row).help or "") > 20


@pytest.mark.parametrize("module", EXPORTS, ids=lambda m: m.FILENAME)
def test_every_pack_file_is_in_the_table(module):
    assert f"| `{module.FILENAME}` |" in page("webapp/pack/README.md")


def test_every_setting_is_in_the_table():
    reported = set(re.findall(r"^\| `([A-Z0-9_]+)`", page("webapp/recipes/README.md"), re.M))
    assert reported == set(SETTINGS)


def test_every_name_that_the_tests_use_is_known():
    """A name that looks like a setting and is none stops the server; tests have names of their own."""
    used = set()
    for path in [*(ROOT / "tests").rglob("*.py"), *(ROOT / "tests").glob("*.md")]:
        text = path.read_text(encoding="utf-8")
        used |= set(re.findall(r"""(?:environ(?:\.get)?[\[(]["']|`)(FALLBOOK_[A-Z0-9_]+)""", text))
    assert used > {"FALLBOOK_SEED", "FALLBOOK_BROWSER"}
    assert used - {*SETTINGS, *NOT_OURS} == set(), "a line under NOT_OURS in webapp/environment.py"


def test_the_environment_is_read_in_one_place():
    """No other module reads a setting: it would not be judged by the one parser that it has."""
    reads = re.compile(r"(environ|getenv|auto_envvar|envvar)[^\n]*(FALLBOOK|DATABASE_URL)")
    found = {p.name for p in (ROOT / "webapp").rglob("*.py") if reads.search(p.read_text(encoding="utf-8"))}
    assert found == {"environment.py"}


@functools.cache
def raised_somewhere():
    """Codes in the code, but for docstrings, the table of errors and what describes the addresses.

    A code is a text of its own, or stands in brackets at the end of a printed line.
    """
    found = set()
    for path in (ROOT / "webapp").rglob("*.py"):
        if path.name == "errors.py" or "openapi" in path.parts:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        documents = {node.value for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        texts = (node for node in ast.walk(tree) if isinstance(node, ast.Constant) and node not in documents)
        for text in (node.value for node in texts if isinstance(node.value, str)):
            found |= {text, *re.findall(r"\[([a-z_]+)\]", text)}
    return found


@pytest.mark.parametrize("code", sorted(ERRORS))
def test_every_error_code_is_used(code):
    assert code in raised_somewhere(), f"{code} is in the table and nowhere raised"


def test_the_guide_names_every_kind_of_record():
    named = re.search(r"has a kind \(`([a-z_ ]+)`\)", page("webapp/records/README.md"))[1]
    assert sorted(named.split()) == sorted(KINDS)


def test_the_controls_named_in_the_guide_are_those_of_the_app():
    table = page("static/js/screens/README.md").split("Accessible names of the controls")[1]
    named = {n for n in re.findall(r'"([^"]+)"', table) if not n.isdigit()}
    output = (ROOT / "templates/office/job.html").read_text(encoding="utf-8")
    words = {*re.findall(r">([^<>\n]+)<", output), *map(str, tables.messages().values())}
    labels = {f["label"] for kind in KINDS for f in describe(KINDS[kind])["fields"]}
    assert len(named) > 40
    assert named - words - labels == set()


@pytest.mark.parametrize("path", PAGES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_a_page_names_no_file_that_is_gone(path):
    text = path.read_text(encoding="utf-8")
    named = re.findall(r"`((?:webapp|static|templates|tests|sample_jobs)/[\w./]+\.\w+)`", text)
    linked = [one.split("#")[0] for one in re.findall(r"\]\((?!https?:)([^)\s]+)\)", text)]
    gone = [n for n in named if not (ROOT / n).exists()] + [
        n for n in linked if not (path.parent / n).exists()
    ]
    assert gone == []


def test_the_two_guides_stay_short():
    assert len(page("README.md")) < 7_000 and len(page("DEVELOPERS.md")) < 13_500


def test_every_decision_has_a_number_of_its_own_and_those_named_are_there():
    numbers = re.findall(r"^\*\*D(\d+a?)\. ", page("DECISIONS.md"), re.M)
    assert len(numbers) == len(set(numbers))
    texts = [p.read_text(encoding="utf-8") for p in [*PAGES, *(ROOT / "webapp").rglob("*.py")]]
    named = {n for text in texts for n in re.findall(r"\b(?:[Dd]ecisions? |\()D(\d+a?)\b", text)}
    assert named - set(numbers) == set()


def test_the_tests_that_a_recipe_names_are_there():
    recipes = page("DEVELOPERS.md").split("\n## Recipes")[1].split("\n## ")[0]
    named = re.findall(r"`((?:test_|tests/)[\w/]+|further_fields)`", recipes)
    there = [p.relative_to(ROOT).as_posix() for p in (ROOT / "tests").rglob("*")]
    assert len(named) > 20
    assert [n for n in named if not any(n in path for path in there)] == []

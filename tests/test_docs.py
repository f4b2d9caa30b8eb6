"""The documents name what the code has: commands, pack files, settings, error codes, kinds."""

import re
from pathlib import Path

import pytest

from webapp.commands.groups import load
from webapp.commands.registry import ROWS
from webapp.environment import NOT_OURS, SETTINGS
from webapp.errors import ERRORS
from webapp.pack.write import EXPORTS
from webapp.schemas import KINDS, describe

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SOURCES = "\n".join(p.read_text(encoding="utf-8") for p in (ROOT / "webapp").rglob("*.py"))


def named_commands():
    """Return the commands of the README's table; `link add\\|list` names two."""
    found = set()
    for first, verbs in re.findall(r"^\| `fallbook ([a-z-]+)((?: [a-z][a-z|\\-]*)?)", README, re.M):
        found |= {f"{first} {verb}" for verb in verbs.strip().split("\\|")} if verbs.strip() else {first}
    return found


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.words)
def test_every_command_stands_in_the_readme_and_has_help(row):
    assert row.words in named_commands()
    assert len(load(row).help or "") > 20


@pytest.mark.parametrize("module", EXPORTS, ids=lambda m: m.FILENAME)
def test_every_pack_file_stands_in_the_readme(module):
    assert f"`{module.FILENAME}`" in README


def test_every_setting_stands_in_the_readme():
    told = set(re.findall(r"^\| `([A-Z0-9_]+)`", README, re.M))
    assert told == set(SETTINGS)


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


@pytest.mark.parametrize("code", sorted(ERRORS))
def test_every_error_code_is_used(code):
    uses = len(re.findall(rf'"{code}"|\[{code}\]', SOURCES))
    assert uses >= 2, f"{code} is in the table and nowhere raised"


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_stands_in_the_guide(kind):
    assert kind in DEVELOPERS


def test_the_controls_named_in_the_guide_are_those_of_the_app():
    table = DEVELOPERS.split("Accessible names of the controls")[1].split("\n## ")[0]
    named = {n for n in re.findall(r'"([^"]+)"', table) if not n.isdigit()}
    said = "\n".join(p.read_text(encoding="utf-8") for p in (ROOT / "static/js/text").glob("*.js"))
    said += (ROOT / "templates/office/job.html").read_text(encoding="utf-8")
    words = {one for found in re.findall(r"""'([^'\n]+)'|"([^"\n]+)"|>([^<>\n]+)<""", said) for one in found}
    labels = {f["label"] for kind in KINDS for f in describe(KINDS[kind])["fields"]}
    assert len(named) > 40
    assert named - words - labels == set()


def test_the_guide_names_no_file_that_is_gone():
    for name in re.findall(r"`((?:webapp|static|templates|tests|sample_jobs)/[\w./]+\.\w+)`", DEVELOPERS):
        assert (ROOT / name).exists(), name

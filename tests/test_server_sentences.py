"""What the server, its pages and its commands say stands in the catalogue, and nowhere else."""

import ast
import re
from pathlib import Path

import pytest
from second_language import SPOKEN

from webapp.schemas import describe_all

ROOT = Path(__file__).resolve().parent.parent
# Rooms with a finder of their own: the trade's words and the pack.
ELSEWHERE = ("assembly", "pack", "report_model", "survey")
WHOLE = {  # files, or rooms, that may hold English, and why
    "commands/registry.py": "the line of a command in --help, which is part of its docstring",
    "figures": "names of keys; its sentences are those of survey/wording",
    "selfcheck": "what was simulated or published, named as in its source",
    "schemas/examples.py": "invented values of a description of the interface",
    "schemas/json_schema.py": "the description of the interface, for programmers, made of docstrings",
    "schemas/types.py": "writes source code",
    "schemas/table_types.py": "writes source code",
    "schemas/wire.py": "the description of the interface, for programmers",
    "office/index.py": "SQL",
    "store/migrations": "SQL that no one sees",
    "store/aside_rows.py": "SQL",
    "store/change_rows.py": "SQL",
    "store/entry_rows.py": "SQL",
    "store/entry_some.py": "SQL",
    "store/kept_rows.py": "SQL",
    "store/whole_jobs.py": "SQL",
    "store/damage.py": "SQL, and words of SQLite that are looked for",
    "web/joiner": "what a contributor's mistake in a module is called; no user sees it",
    "web/openapi": "the description of the interface, for programmers",
}
SINKS = {"help": "--help", "metavar": "--help", "extra": "the log"}  # keywords of a call, and where it goes
SINGLE = {  # what stands alone, by file and beginning
    "__init__.py": ("module {} has no attribute",),  # a programmer's mistake
    "access/guard.py": ("nobody known",),  # who did something, as the audit log stores it
    "access/limits.py": ("\n    ", "DELETE ", "PRAGMA ", "SELECT "),  # SQL
    "access/who.py": ("this machine",),  # the same
    "api/media.py": ("private, max-age",),
    "api/office.py": ("text/html",),
    "app.py": ('Bearer realm="',),  # HTTP
    "commands/failing.py": (  # words of SQLite and PostgreSQL that are looked for
        "not a database",
        "No space left",
        "disk is full",
        "disk I/O",
        "unable to open",
        "does not exist",
        "no such table",
    ),
    "commands/options.py": ("job or file",),  # the kind of an argument, in --help
    "commands/run/where.py": ("fallbook demo", "fallbook serve"),  # commands to type
    "environment.py": (  # what each setting is for, beside its name; nothing shows it
        "the data folder",
        "a client's own",
        "a firm's own",
        "further host names",
        "on: ",
        "where phones reach",
        "how many proxies",
        "after so many hours",
        "after so many days",
        "for so many days",
        "1: ",
        "an S3-compatible",
        "the address of",
        "another database",
        "what making one pack",
        "how long making one pack",
        "how large one pack",
    ),
    "exchange/decode.py": ("end of data",),  # Python's word that is looked for
    "exchange/extras.py": ("As given in the exchange file:",),  # stored, and the same in every language
    "exchange/text.py": ("No.",),  # what stands for a sign in a file
    "exchange/job_builder.py": ("exchange file",),  # a device's name in entries that must not change
    "intake/import_readings.py": ("readings file",),  # the same
    "job_pack.py": ("not installed",),  # a version in the manifest
    "lan/certificates.py": ("Fallbook, this machine only", "Fallbook on ", "Fallbook server"),  # certificates
    "lan/setup_page.py": ("attachment; filename=",),
    "paths.py": ("{} is missing",),  # of a broken installation, where there may be no catalogue
    "picture_header.py": (
        "no ",
        "the header is",
        "a box ",
        "a picture without",
        "ends before",
    ),  # told otherwise
    "records/job_file.py": ("job file",),  # a device's name in entries that must not change
    "schemas/pipe.py": ("counter_m counter_part",),  # names of fields
    "schemas/names.py": ("__proto__ ",),  # names that JavaScript keeps for itself
    "server/lanes.py": ("Exception when servicing",),  # the log
    "store/folder.py": ("SELECT ",),  # SQL
    "store/engine.py": ("BEGIN ", "PRAGMA ", "REPEATABLE READ", "no WAL here"),  # SQL; the log
    "store/job_list.py": ("SELECT ", "FROM "),
    "store/photo_storage.py": (
        "photo {} is damaged",
        "The photos of",
    ),  # caught where it is told; a file of its own
    "store/user_folders.py": ("Application Support",),  # a folder of macOS
    "sync/sender.py": ("this machine",),  # who did something, as the audit log stores it
    "upkeep/copying.py": ("REPEATABLE READ", "SELECT "),
    "upkeep/integrity.py": ("PRAGMA ",),
    "web/app_files.py": ("",),  # JavaScript, style sheets, a contributor's mistake
    "web/headers.py": ("img-src", "trusted-types", "public, max-age"),
    "web/office_words.py": ("<time ",),
    "web/pack_process.py": ("pack failed",),  # the log
    "web/packing.py": ("pack failed",),
    "web/shell.py": ("public, max-age",),
}
TWO_WORDS = re.compile(r"[A-Za-z]{2,}[,;:]? [A-Za-z]")
A_SENTENCE = re.compile(r"[A-Z][a-z]+[.?!]")


def shows(text):
    return bool(TWO_WORDS.search(text) or A_SENTENCE.fullmatch(text))


def literal(node):
    """The text of a string; what it puts in is {}."""
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None


def literals(source):
    """Yield each string of a module that a person may be meant to read, with its line."""
    tree = ast.parse(source)
    hidden = set()  # docstrings, parts of others, annotations, keywords that go to --help
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr):
            hidden.add(node.value)
        elif isinstance(node, ast.JoinedStr):
            hidden.update(node.values)
            hidden.update(part.format_spec for part in node.values if isinstance(part, ast.FormattedValue))
        elif isinstance(node, ast.keyword) and node.arg in SINKS:
            hidden.add(node.value)
    for node in ast.walk(tree):
        text = None if node in hidden else literal(node)
        if text is not None and shows(text):
            yield node.lineno, text


def found_in(path):
    name = path.relative_to(ROOT / "webapp").as_posix()
    if name.split("/")[0] in ELSEWHERE or any(name == one or name.startswith(f"{one}/") for one in WHOLE):
        return []
    allowed = SINGLE.get(name, ())
    return [
        f"{name}:{line}: {text[:90]}"
        for line, text in literals(path.read_text(encoding="utf-8"))
        if not text.startswith(allowed)
    ]


def test_no_sentence_stands_in_the_code():
    assert [one for path in sorted((ROOT / "webapp").rglob("*.py")) for one in found_in(path)] == []


def test_every_exception_is_needed():
    for name, starts in SINGLE.items():
        there = [text for _, text in literals((ROOT / "webapp" / name).read_text(encoding="utf-8"))]
        unused = [start for start in starts if not any(text.startswith(start) for text in there)]
        assert unused == [], name
    assert [one for one in WHOLE if not (ROOT / "webapp" / one).exists()] == []


@pytest.mark.parametrize(
    "source",
    [
        'raise AppError("busy", "Try again later.")',
        'raise AppError("busy", f"It has {n} parts.")',
        'note("No jobs yet")',
        'TEXT = {"a": "Kept whole"}',
        'say("Stopped.")',
    ],
)
def test_a_sentence_in_the_code_is_found(source):
    assert len(list(literals(source))) == 1


@pytest.mark.parametrize(
    "source", ['"""What it does here."""', 'click.option("--a", help="What it does")', 't("api.a_key", n=1)']
)
def test_what_is_no_sentence_is_left_alone(source):
    assert list(literals(source)) == []


def test_every_field_and_kind_has_its_words():
    for kind in describe_all()["kinds"].values():
        assert kind["label"] and kind["plural"]
        assert [one["name"] for one in kind["fields"] if not one.get("label")] == []


# The office's pages and their scripts


PAGES = sorted((ROOT / "templates" / "office").glob("*.html"))


def words_of_template(text):
    """What a template says by itself: between its tags, and in the attributes that are read out."""
    bare = re.sub(r"\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\}", "", text, flags=re.S)
    between = re.sub(r"<[^>]*>", "\n", bare)
    return [word for part in (between, *SPOKEN.findall(bare)) for word in re.findall(r"[A-Za-z]{2,}", part)]


@pytest.mark.parametrize("path", PAGES, ids=lambda p: p.name)
def test_no_template_speaks_by_itself(path):
    assert set(words_of_template(path.read_text(encoding="utf-8"))) <= {"Fallbook"}


@pytest.mark.parametrize("text", ["<p>Hello</p>", '<img alt="A picture">', "{% if a %}yes{% endif %}"])
def test_a_word_in_a_template_is_found(text):
    assert words_of_template(text)


QUOTED = re.compile(r"'((?:[^'\\\n]|\\.)*)'|`((?:[^`\\]|\\.)*)`")


def words_of_script(text):
    code = re.sub(r"/\*.*?\*/|(?<!:)//[^\n]*", "", text, flags=re.S)
    return [a or b for a, b in QUOTED.findall(code) if shows(a or b)]


@pytest.mark.parametrize("name", sorted(path.name for path in (ROOT / "static" / "js").glob("office*.js")))
def test_no_script_of_the_office_speaks_by_itself(name):
    assert words_of_script((ROOT / "static" / "js" / name).read_text(encoding="utf-8")) == []


def test_a_sentence_in_a_script_is_found():
    assert words_of_script("say('The pack is ready.'); x(`It has ${n} parts`); // not 'this one here'")

"""The catalogue of messages: its form, and that the code uses every sentence, and none that is not there."""

import ast
import itertools
import json
import re
from pathlib import Path

import pytest
from js_tools import in_node

from webapp import tables

ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = ROOT / "static" / "js"
FILES = sorted((ROOT / "webapp" / "tables" / "messages").glob("*.json"))  # of this checkout
KEY = re.compile(r"[a-z][a-z0-9_]*\.[a-z0-9_.]+")
USE = re.compile(r"[a-z][a-z0-9_]*\.[a-z0-9_.*]+")  # the section is always written out
NAME = re.compile(r"\{([a-z][a-z0-9_]*)(?::(?:lower|inline))?\}")
CATEGORIES = {"zero", "one", "two", "few", "many", "other"}
TO_THE_LETTER = {  # these quote what stands in a file or a header
    "api.part_malformed", "codes_file.choice_side", "exchange.delimiter_quotes", "exchange.layout_quote",
    "grading_file.classes_written",
}  # fmt: skip
STRAIGHT = re.compile("['\"]")
KEY_AT = {"message": 1, "t": 0, "rich": 0, "filled": 0}  # place of the key; values follow


def in_order(words):
    """The text of a catalogue as it has to stand: sections and keys sorted, one key a line."""
    keys = sorted((k for k in words if k[0] != "_"), key=lambda k: (k.split(".")[0], k))
    lines, before = [], "_"
    for key in [*(k for k in words if k[0] == "_"), *keys]:
        section = "_" if key[0] == "_" else key.split(".")[0]
        gap = "" if section == before else "\n"
        lines.append(f"{gap}  {json.dumps(key)}: {json.dumps(words[key], ensure_ascii=False)}")
        before = section
    return "{\n" + ",\n".join(lines) + "\n}\n"


def templates(template):
    return list(template.values()) if isinstance(template, dict) else [template]


def names_of(template):
    counted = {"n"} if isinstance(template, dict) else set()
    return counted.union(*(NAME.findall(one) for one in templates(template)))


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_the_form_of_a_catalogue(path):
    text = path.read_text(encoding="utf-8")
    words = json.loads(text, object_pairs_hook=once_each)
    assert text == in_order(words), "put it in order: python tests/test_messages.py"
    assert words.pop("_language") == path.stem
    words.pop("_locale", None)
    for key, template in words.items():
        assert KEY.fullmatch(key), key
        assert not isinstance(template, dict) or ("other" in template and set(template) <= CATEGORIES), key
        for one in templates(template):
            assert isinstance(one, str), key
            assert not re.search(r"[{}]", NAME.sub("", one)), (key, one)
            assert one == one.strip() and one, key
            assert key in TO_THE_LETTER or not STRAIGHT.search(one), f"{key}: write ’ “ ” for straight ones"


def test_tables_write_apostrophes_as_the_catalogue_does():
    for path in tables.MESSAGES.parent.glob("*.json"):
        if path.stem not in ("readings_csv", "reference_vectors"):  # what stands in files, sources of values
            assert not re.search(r"\w'", path.read_text(encoding="utf-8")), path.name


def once_each(pairs):
    keys = [key for key, _ in pairs]
    assert len(keys) == len(set(keys)), sorted({key for key in keys if keys.count(key) > 1})
    return dict(pairs)


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_language_says_the_same(path):
    ours, theirs = tables.messages(), tables.messages(path.stem)
    assert set(theirs) - {"_locale"} == set(ours) - {"_locale"}
    assert {k for k in ours if k[0] != "_" and names_of(ours[k]) != names_of(theirs[k])} == set()


# What the code uses: {path: {calls: [{line, keys, names, at_load}], texts: [...]}}; in a key * varies


def script_uses(sources):
    return in_node("message_uses.mjs", sources)


def module_uses(sources):
    return {
        path: {"calls": module_calls(source), "texts": module_texts(source)}
        for path, source in sources.items()
    }


def text_of(tree):
    if isinstance(tree, ast.Constant) and isinstance(tree.value, str):
        return tree.value
    if isinstance(tree, ast.JoinedStr):
        return "".join(part.value if isinstance(part, ast.Constant) else "*" for part in tree.values)
    return None


def keys_of(tree):
    """The keys that an expression may give, each choice between two texts followed."""
    if isinstance(tree, ast.IfExp):
        return keys_of(tree.body) + keys_of(tree.orelse)
    if isinstance(tree, ast.JoinedStr):
        parts = [parts_of(part) for part in tree.values]
        return ["".join(one) for one in itertools.product(*parts)]
    return [one for one in [text_of(tree)] if one is not None]


def parts_of(part):
    value = part.value if isinstance(part, ast.FormattedValue) else part
    return (keys_of(value) if isinstance(value, ast.IfExp | ast.Constant) else []) or ["*"]


def module_calls(source):
    calls = []
    for call in ast.walk(ast.parse(source)):
        if not isinstance(call, ast.Call):
            continue
        at = KEY_AT.get(getattr(call.func, "id", getattr(call.func, "attr", "")))
        if at is None or len(call.args) <= at:
            continue
        names = names_given(call, at)
        calls.append({"line": call.lineno, "keys": keys_of(call.args[at]), "names": names, "at_load": False})
    return calls


def names_given(call, at):
    """The names of the values of a call, by a dictionary or by keyword; None where they are not all seen."""
    if at == 0:
        names = [one.arg for one in call.keywords]
        return None if None in names else names
    given = call.args[at + 1] if len(call.args) > at + 1 else ast.Dict([], [])
    whole = isinstance(given, ast.Dict) and all(isinstance(key, ast.Constant) for key in given.keys)
    return [key.value for key in given.keys] if whole else None


def module_texts(source):
    return [text for tree in ast.walk(ast.parse(source)) if (text := text_of(tree)) and "." in text]


def python_sources():
    return {str(p.relative_to(ROOT)): p.read_text("utf-8") for p in sorted((ROOT / "webapp").rglob("*.py"))}


def script_sources():
    return {str(p.relative_to(ROOT)): p.read_text("utf-8") for p in sorted(SCRIPTS.rglob("*.js"))}


def written_uses():
    """What the templates of the office and the data tables name: a key, or the beginning of one."""
    found = {}
    for path in [
        *(ROOT / "templates" / "office").glob("*.html"),
        *(ROOT / "webapp" / "tables").glob("*.json"),
    ]:
        texts = re.findall(r'"@?([a-z][a-z0-9_]*\.[a-z0-9_.]*)(?:\[\])*"', path.read_text("utf-8"))
        texts = [f"{one}*" if one.endswith(".") else one for one in texts]
        found[str(path.relative_to(ROOT))] = {"calls": [], "texts": texts}
    return found


OFFICE = {f"static/js/{path.name}" for path in (ROOT / "static/js").glob("office*.js")}  # no phone has them


def template_uses():
    """The Typst template has its words as data, by what follows their section."""
    source = "".join(p.read_text("utf-8") for p in (ROOT / "templates" / "print").glob("*.typ"))
    names = {"say": "pack.report", "heads": "pack.head"}
    keys = [f"{names[of]}.{name}" for of, name in re.findall(r"\b(say|heads)\.(\w+)", source)]
    calls = [{"line": 0, "keys": keys, "names": None, "at_load": False}]
    return {"templates/print/report.typ": {"calls": calls, "texts": keys}}


@pytest.fixture(scope="module")
def uses():
    made = script_uses(script_sources()) | module_uses(python_sources())
    return made | written_uses() | template_uses()


def fitting(key, words):
    """The keys that a key with * may stand for."""
    if "*" not in key:
        return [key] if key in words else []
    pattern = re.compile(re.escape(key).replace(r"\*", "[a-z0-9_]+"))
    start = key.partition("*")[0]
    return [one for one in words if one.startswith(start) and pattern.fullmatch(one)]


def faults(uses, words):
    """Return what is wrong with the calls: a key that is not there, names that differ, a call too early."""
    found = []
    for path, one in uses.items():
        for call in one["calls"]:
            where = f"{path}:{call['line']}"
            if call["at_load"]:
                found.append(f"{where}: said before the sentences are there")
            for key in call["keys"]:
                fit = fitting(key, words)
                if not fit:
                    found.append(f"{where}: no sentence {key}")
                if call["names"] is not None:
                    found += [f"{where}: {one}" for one in unfit(key, fit, set(call["names"]), words)]
    return found


def unfit(key, fit, given, words):
    """What is wrong with the values; of the sentences of a computed key one at least takes what is given."""
    if "*" in key:
        some = not fit or any(names_of(words[name]) <= given for name in fit)
        return [] if some else [f"no {key} takes {sorted(given)}"]
    wanted = [(name, names_of(words[name])) for name in fit]
    return [f"{name} takes {sorted(w)}, given {sorted(given)}" for name, w in wanted if w != given]


def used(uses, words):
    texts = {text for one in uses.values() for text in one["texts"]}
    return {key for text in texts if USE.fullmatch(text) for key in fitting(text, words)}


def test_every_call_names_a_sentence_and_its_values(uses):
    assert faults(uses, tables.messages()) == []


def test_every_sentence_is_used(uses):
    words = tables.messages()
    found = used(uses, words)
    assert sorted(k for k in words if k[0] != "_" and k not in found) == []


def test_a_phone_gets_what_it_shows_and_nothing_else(uses):
    words = tables.messages()
    scripts = used(
        {path: one for path, one in uses.items() if path.startswith("static/js/") and path not in OFFICE},
        words,
    )
    held_back = {key for key in words if key.split(".")[0] in tables.SERVER_SECTIONS}
    assert sorted(scripts & held_back) == []
    with_the_page = {
        key for key in words if key.startswith("start.")
    }  # put into page and manifest by the server
    assert sorted(set(words) - scripts - held_back - with_the_page - {"_language", "_locale"}) == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_a_label_of_a_code_breaks_between_words_on_a_narrow_key(path):
    labels = {
        k: v for k, v in json.loads(path.read_text(encoding="utf-8")).items() if k.startswith("table.code.")
    }
    assert len(labels) > 100
    joined = [key for key, label in labels.items() if re.search("[a-z]/[a-z]", str(label))]
    assert joined == [], "two words that a slash joins are cut in the middle of one"


def test_what_is_wrong_is_seen():
    words = {"a.one": "One {n} of {m}", "a.two": "Two", "b.left": "Left"}
    script = (
        "const EARLY = t('a.two');\n"
        "const f = (x) => [t('a.three'), t('a.one', { n: 1 }), t('a.two', { n: 1 }), `${x}.${x}`, "
        "t(`c.${x}`), t(x ? 'a.two' : 'a.four'), t(`b.${x}`)];\n"
    )
    module = 'message(words, "a.three")\nmessage(words, "a.one", {"n": 1})\nmessage(words, f"c.{x}")\n'
    found = faults(script_uses({"x.js": script}) | module_uses({"x.py": module}), words)
    assert found == [
        "x.js:1: said before the sentences are there",
        "x.js:2: no sentence a.three",
        "x.js:2: a.one takes ['m', 'n'], given ['n']",
        "x.js:2: a.two takes [], given ['n']",
        "x.js:2: no sentence c.*",
        "x.js:2: no sentence a.four",
        "x.py:1: no sentence a.three",
        "x.py:2: a.one takes ['m', 'n'], given ['n']",
        "x.py:3: no sentence c.*",
    ]
    assert used(script_uses({"x.js": script}), words) == {"a.one", "a.two", "b.left"}


if __name__ == "__main__":
    for one in FILES:
        one.write_text(in_order(json.loads(one.read_text(encoding="utf-8"))), encoding="utf-8")

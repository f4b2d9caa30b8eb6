"""The app's modules in one script: what is taken, what is refused, and that nothing is changed on the way."""

import itertools
import json
import subprocess
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_js import HERE, in_js, type_checker
from twin import node

from webapp import paths
from webapp.errors import AppError
from webapp.web import app_files
from webapp.web.joiner import strip
from webapp.web.joiner.join import functions, joined, stripped
from webapp.web.joiner.lexer import Refused, tokens
from webapp.web.joiner.modules import read_module
from webapp.web.joiner.strip import is_mark, written

__all__ = ["type_checker"]
SOURCES = paths.STATIC / "js"
ALONE = {
    "main.js",
    "sw.js",
    "watchdog.js",
    "save_all.js",
    "office.js",
    "office_phones.js",
}  # not part of the joined script
MODULES = sorted(p for p in SOURCES.rglob("*.js") if p.relative_to(SOURCES).as_posix() not in ALONE)


def texts(source):
    return [token.text for token in tokens(source)]


def in_node(script, value):
    """Run a script of tests/js with JSON on its standard input; return the JSON that it prints."""
    done = subprocess.run(
        [node(), HERE / script],
        input=json.dumps(value),
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout)


def write(folder, **modules):
    """Write modules into a folder and return the entry's name."""
    for name, text in modules.items():
        (folder / f"{name}.js").write_text(text, encoding="utf-8")
    (folder / "package.json").write_text('{"type": "module"}', encoding="utf-8")
    return "entry.js"


def whole(folder, entry, without=""):
    """A script whose value holds every module that ``entry`` needs, by its path."""
    parts = [text for path, text in functions(folder, entry).items() if path != without]
    return joined(*parts, "globalThis.all = modules__;\n") + ";globalThis.all"


def asked(folder):
    """What exports_of.mjs needs to compare the joined entry with the module itself."""
    return {"script": whole(folder, "entry.js"), "folder": str(folder), "paths": ["entry.js"], "call": True}


# the sources


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(SOURCES).as_posix())
def test_every_module_keeps_to_the_forms_that_are_taken(path):
    read_module(path.read_text(encoding="utf-8"))


def test_the_joined_scripts_are_whole_and_sound(tmp_path):
    for name, text in (("app.js", app_files.script().body), ("sw.js", app_files.worker("", "", {}, {}).body)):
        (tmp_path / name).write_bytes(text)
        done = in_js(node(), "--check", str(tmp_path / name))
        assert done.returncode == 0, done.stderr
        assert len(text) > 3000


def test_our_tokens_are_those_of_a_whole_parser_before_and_after(type_checker):
    sources = {
        p.relative_to(SOURCES).as_posix(): p.read_text(encoding="utf-8") for p in SOURCES.rglob("*.js")
    }
    ours = {name: texts(text)[:-1] for name, text in sources.items()}
    assert in_node("token_list.mjs", sources) == ours
    bare = {name: written(tokens(text)) for name, text in sources.items()}
    assert in_node("token_list.mjs", bare) == ours
    assert sum(map(len, bare.values())) < 0.75 * sum(map(len, sources.values()))


def test_the_joined_modules_give_out_what_the_modules_do():
    script = whole(SOURCES, "start.js", without="start.js")
    named = [p.relative_to(SOURCES).as_posix() for p in MODULES]
    pure = [
        p for p in named if p.startswith(("survey/", "text/", "sync/")) and f'modules__["{p}"]=' in script
    ]
    assert len(pure) > 100
    found = in_node("exports_of.mjs", {"script": script, "folder": str(SOURCES), "paths": pure})
    for path, names in found.items():
        assert names["own"] == names["joined"], path


def test_in_a_worker_the_script_starts_nothing_and_has_the_exchange(tmp_path):
    (tmp_path / "app.cjs").write_bytes(app_files.script().body)
    (tmp_path / "run.cjs").write_text(
        "require('./app.cjs');\n"
        "const of = fallbook.module;\n"
        "console.log(Object.keys(fallbook), typeof of('sync/worker_entry.js').runFromWorker, of('start.js'));\n",
        encoding="utf-8",
    )
    done = in_js(node(), str(tmp_path / "run.cjs"))
    assert done.stdout == "[ 'module' ] function undefined\n", done.stderr


def shortened(source):
    """The body of a module before and after its inner names are made short."""
    seen = []
    module = read_module(source, lambda found: seen.append(written(found)))
    return seen[0], module.body


def test_short_names_mean_the_same_everywhere(type_checker):
    pairs = {p.name: shortened(p.read_text(encoding="utf-8")) for p in MODULES}
    assert in_node("same_names.mjs", pairs) == {}
    assert sum(len(after) for _, after in pairs.values()) < 0.9 * sum(len(b) for b, _ in pairs.values())


BEFORE = "const f = (one, { two, three: four = two }) => { const all = [one, two, four]; return all.map((x) => x + one); };"


@pytest.mark.parametrize(
    ("after", "differs"),
    [
        (BEFORE, None),
        (BEFORE.replace("four", "d").replace("one", "a").replace("all", "c"), None),
        (BEFORE.replace("(x) => x + one", "(x) => x + x"), "places"),
        (BEFORE.replace("(x)", "(one)").replace("x +", "one +"), "places"),
        (BEFORE.replace("(one,", "(two,"), "places"),
        (BEFORE.replace("{ two,", "{ b,").replace("= two", "= b").replace("two", "b"), "keys"),
        (BEFORE.replace("all.map", "all.flatMap"), "keys"),
        (BEFORE.replace("one]", "ones]").replace("[one", "[ones"), "places"),
    ],
)
def test_a_name_that_means_something_else_is_seen(type_checker, after, differs):
    found = in_node("same_names.mjs", {"a": [BEFORE, after]}).get("a")
    assert (found is None) if differs is None else found.startswith(differs)


# forms

FORMS = {
    "named": "import { a, b as c } from './other.js';\nexport const sum = (x) => a(x) + c(x);\n",
    "whole": "import * as other from './other.js';\nexport const sum = (x) => other.a(x) + other.b(x);\n",
    "again": "export { a as first, b } from './other.js';\n",
    "list": "import { a } from './other.js';\nfunction f(x) { return a(x) * 3; }\nexport { f as g, a };\n",
    "function": "export function a(x) { return x; }\nexport async function b(x) { return x; }\nexport function* c() {}\n",
    "class": "export class A { static of = 3 }\nexport {};\n",
    "late": "export const a = (x) => f(x) + b(x);\nimport { b } from './other.js';\nfunction f(x) { return x - 1 }",
    "clash": "import { a as theirs } from './other.js';\nconst hidden = 5;\nexport function a(x) { return hidden + theirs(x); }\n",
    "marks": "export const a = (x) => x++ / 2 / 1;\nexport const b = (x) => /[/]\\/'`/g.test(x) ? `${`}${x / 2}`}` : x - -1;\n",
    "patterns": "export const a = (x) => { const given = { first: x, second: [x, { third: 3 }] };\n"
    "const { first, second: [number, { third, fourth = first }], ...others } = given;\n"
    "return JSON.stringify({ first, number, third, fourth, others, given, method(inner) { return inner; } }); };\n",
    "shadows": "export const a = (value) => { const outer = value; { const value = outer + 1; const outer2 = value;\n"
    "return [outer, outer2, ((outer) => outer * 2)(value)].join(); } };\n",
    "ternary": "export const a = (value) => value > 1 ? { value, other: value ? { value } : [] }.other.value : { none: value };\n",
    "classes": "class Counter { count = 1; #hidden = { count: 2 }; static make(count) { const counter = new Counter();\n"
    "counter.count = count; return counter; } get both() { return this.count + this.#hidden.count; }\n"
    "async later(count) { return count; } ['computed'](count) { return count; } *each(count) { yield count; } }\n"
    "export const a = (count) => { const counter = Counter.make(count); return [counter.both, counter.computed(count), ...counter.each(count)].join(); };\n",
    "labels": "export const a = (value) => { outer: for (const first of [1, 2]) { for (const second of [3, 4]) {\n"
    "if (second > value) continue outer; switch (value) { case first: { break outer; } default: { value += first; } } } } return value; };\n",
    "caught": "export const a = (value) => { try { throw new Error(`bad ${value}`); } catch ({ message }) { return `${message} ${`${value}`}`; } };\n",
    "globals": "export const a = (name) => { const text = (String) => String + name; return text(typeof nowhere) + Math.max(name, 1); };\n",
    "loops": "export const a = (value) => { let total = 0; for (let index = 0, other = 9; index < other; index += 1) total += index;\n"
    "for (const [key, entry] of Object.entries({ value })) total += entry; do { total -= 1; } while (total > value * 10); return total; };\n",
    "defaults": "export const a = (value, text = String(value), [first = Number(text), ...others] = [1, 2]) => {\n"
    "const { length: size = Boolean(text), more = Math.min(value, 2) } = others; const f = (String) => String;\n"
    "return [String(size), Number(more), f(first), Boolean(value), text].join(); };\n",
    "promises": "export const a = (value) => { const given = { catch: (then) => then(new Error(value)) };\n"
    "return given.catch((error) => String(error.message)) + given.catch(Boolean) + ((Boolean) => Boolean)(1); };\n",
    "functions": "export function a(value, more = (given) => given + value, ...rest) { const inner = function named(count) { return count ? count + named(count - 1) : 0; };\n"
    "function later(count) { return count + hoisted; } var hoisted = 5; return inner(value) + more(1) + rest.length + later(value); }\n",
    "asi": "export function a(x) {\n  let y = x\n  ;[y] = [y + 1]\n  y\n  ++x\n  return /* no\n more */ x + y\n}\n",
}
OTHER = "const hidden = 1;\nexport const a = (x) => x + hidden;\nexport function b(x) { return 2 * x; }\n"


@pytest.mark.parametrize("form", FORMS)
def test_a_joined_module_does_what_the_module_does(tmp_path, form):
    write(tmp_path, entry=FORMS[form], other=OTHER)
    names = in_node("exports_of.mjs", asked(tmp_path))["entry.js"]
    assert names["own"] == names["joined"] != []
    for own, ours in names["values"]:
        assert own == ours


def test_a_module_runs_once_and_after_what_it_needs(tmp_path):
    write(
        tmp_path,
        entry="import { a } from './a.js';\nimport { b } from './b.js';\nexport const all = () => [a, b].join();\n",
        a="import { order } from './base.js';\norder.push('a');\nexport const a = order.join('');\n",
        b="import { order } from './base.js';\norder.push('b');\nexport const b = order.join('');\n",
        base="export const order = ['base '];\n",
    )
    assert in_node("exports_of.mjs", asked(tmp_path))["entry.js"]["values"] == [["gives base a,base ab"] * 2]


REFUSED = {
    "export default function f() {}": "export default",
    "export default 3;": "export default",
    "export let a = 1;": "export let",
    "export var a = 1;": "export var",
    "export * from './other.js';": "export *",
    "export * as x from './other.js';": "export *",
    "export const { a } = x;": "one name",
    "export const a = 1, b = 2;": "one name only",
    "export const a = 1\nexport const b = 2;": "semicolon",
    "let a = 1;\nexport { a };": "a is exported but",
    "export { a };": "a is exported but",
    "export const a = 1;\nexport { a };": "exported twice",
    "export { a as default };\nconst a = 1;": "default",
    "import a from './other.js';": "only import",
    "import a, { b } from './other.js';": "only import",
    "import './other.js';": "only import",
    "import { default as a } from './other.js';": "default",
    "import { a } from './other.js'": "semicolon",
    "import { a } from `./other.js`;": "quotes",
    "import { a } from './other.js' with { type: 'json' };": "semicolon",
    "const x = import('./other.js');": "import()",
    "function f() { return import('./other.js'); }": "import()",
    "const x = `${import('./other.js')}`;": "import()",
    "const x = import.meta.url;": "import()",
    "if (x) { export const a = 1; }": "within brackets",
    "const x = await f();": "await",
    "for await (const x of y) {}": "await",
    "const modules__ = 1;": "own name",
    "}\n/a/.test(x)": "closes nothing",
    "{}\n/a/.test(x)": "closing brace",
    "for (const x of /a/g) {}": "word of",
    "a<!--b": "<!--",
    "'a": "begins no token",
    "`a${b": "never closed",
    "class A { a = 1\n  b = 2; }": "semicolon",
    "class A { a = f\n  b() {} }": "semicolon",
    "f(": "never closed",
    "f(]": "closes",
    "x = /a": "never closed",
    "3in x": "runs into",
    "@decorated class A {}": "begins no token",
    "const \\u0061 = 1;": "begins no token",
}


@pytest.mark.parametrize("form", REFUSED)
def test_every_other_form_is_refused_with_its_place(tmp_path, form):
    write(tmp_path, entry=f"/* one\n two */\n{form}", other=OTHER)
    with pytest.raises(AppError) as told:
        functions(tmp_path, "entry.js")
    assert told.value.code == "module_not_joined"
    assert REFUSED[form] in told.value.sentence and f"{tmp_path / 'entry.js'}:" in told.value.sentence
    if "exported" not in REFUSED[form]:
        assert int(told.value.sentence.split("entry.js:")[1].split(":")[0]) in (3, 4)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("import { a } from './none.js';", "is not there"),
        ("import { a } from '../out.js';", "is not there"),
        ("import { a } from '/static/js/other.js';", "no path of a module"),
        ("import { a } from 'other';", "no path of a module"),
        ("import { a, nothing } from './other.js';", "does not export nothing"),
        ("import { a } from './entry.js';\nexport const b = 1;", "circle"),
    ],
)
def test_an_import_that_leads_nowhere_is_refused(tmp_path, text, words):
    write(tmp_path, entry=text, other=OTHER)
    with pytest.raises(AppError, match=words):
        functions(tmp_path, "entry.js")


def test_modules_that_need_each_other_are_refused_with_the_circle(tmp_path):
    write(
        tmp_path,
        entry="import { a } from './a.js';\nexport const e = a;\n",
        a="import { b } from './b.js';\nexport function a() { return b(); }\n",
        b="\nimport { a } from './a.js';\nexport function b() { return a(); }\n",
    )
    with pytest.raises(
        AppError, match=r"b\.js:2: modules need each other in a circle, a\.js -> b\.js -> a\.js"
    ):
        functions(tmp_path, "entry.js")


def test_an_edit_shows_at_the_next_joining(tmp_path):
    write(tmp_path, entry="export const a = 1;\n")
    assert "a=1" in functions(tmp_path, "entry.js")["entry.js"]
    (tmp_path / "entry.js").write_text("export const a = 22;\n", encoding="utf-8")
    assert "a=22" in functions(tmp_path, "entry.js")["entry.js"]


# the tokens

names = st.sampled_from(["a", "$b", "_c", "in", "typeof", "return", "of1", "été", "#p", "async", "let"])
numbers = st.sampled_from(["0", "1.5", ".5", "1.", "0xfF", "1e-9", "1_000", "10n", "0b10"])
insides = st.text(st.sampled_from("ab/*{}()'\"`$\\ \n."), max_size=8)
strings = insides.map(lambda s: json.dumps(s.replace("\n", ""))) | insides.map(
    lambda s: "'" + s.replace("\\", "\\\\").replace("'", "\\'").replace("\n", "\\n") + "'"
)
templates = insides.map(lambda s: "`" + s.replace("\\", "\\\\").replace("`", "\\`").replace("$", "\\$") + "`")
operators = st.sampled_from(
    [
        "+",
        "-",
        "*",
        "/",
        "%",
        "**",
        "<",
        ">",
        "<=",
        "===",
        "!==",
        "&&",
        "||",
        "??",
        ">>>",
        "=",
        "+=",
        "/=",
        "?.",
        ".",
        ",",
    ]
)
prefixes = st.sampled_from(["!", "-", "+", "--", "++", "~", "typeof ", "..."])
regexes = st.sampled_from(
    ["/a/", "/[/]/g", "/\\//u", "/'`\"/", "/a*b+?/giy", "/[^\\]]{2,3}/", "/=/", "/\\/\\*/"]
)
gaps = st.sampled_from(
    ["", " ", "  ", "\n", "\n\n  ", "/**/", " // a ' ` /* \n", "/* ' ` // \n */", "\t", "\u00a0"]
)
simple = names | numbers | strings | templates


@st.composite
def expressions(draw, depth=0):
    """Pieces of an expression, in an order that a parser would take: operand, operator, operand."""
    pieces = []
    for i in range(draw(st.integers(1, 4))):
        if i:
            pieces.append(draw(operators))
        if draw(st.booleans()):
            pieces.append(draw(prefixes))
        kind = draw(st.integers(0, 5)) if depth < 3 else 0
        if kind == 1:
            pieces += ["(", *draw(expressions(depth + 1)), ")"]
        elif kind == 2:
            pieces += ["[", *draw(expressions(depth + 1)), "]"]
        elif kind == 3:
            pieces += ["`x${", *draw(expressions(depth + 1)), "}y${", *draw(expressions(depth + 1)), "}`"]
        elif kind == 4 and pieces and pieces[-1] not in (".", "?.", "++", "--"):
            pieces.append(draw(regexes))
        else:
            pieces.append(
                draw(st.sampled_from(["a", "b1"])) if pieces[-1:] in (["."], ["?."]) else draw(simple)
            )
    return pieces


def spaced(draw, pieces):
    """The pieces with gaps between, at least a space where two would run together."""
    return "".join(f"{piece}{draw(gaps)} " for piece in pieces)


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_stripping_keeps_every_token_and_every_line_break(data):
    source = spaced(data.draw, data.draw(expressions()))
    try:
        before = tokens(source)
    except Refused:
        return
    after = tokens(written(before))
    assert [(t.kind, t.text, t.depth) for t in after] == [(t.kind, t.text, t.depth) for t in before]
    breaks = [
        right.newline and not is_mark(left, *strip.AFTER) and not is_mark(right, *strip.BEFORE)
        for left, right in itertools.pairwise(before)
    ]
    assert [t.newline for t in after][1:-1] == breaks[:-1], "a line break can end a statement"
    assert written(after) == written(before), "twice is once"


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(MODULES), st.randoms(use_true_random=False))
def test_comments_and_spaces_between_tokens_change_nothing(path, random):
    found = tokens(path.read_text(encoding="utf-8"))
    quiet = (" ", "\t ", " /* a */", " /*'`*/ ", " /**/ ")
    loud = ("\n", "\r\n  ", " // it's `one\n", " /* \n */")
    parts = [random.choice(loud if token.newline else quiet) + token.text for token in found]
    again = tokens("".join(parts))
    assert [t.text for t in again] == [t.text for t in found]
    assert written(again).strip() == written(found).strip()


def test_a_script_that_stands_alone_is_stripped_too(tmp_path):
    path = Path(tmp_path / "a.js")
    path.write_text("// one\n  const a = 1; // two\n\n\n  /* three */ f(a + +a)\n", encoding="utf-8")
    assert stripped(path).strip() == "const a=1;f(a+ +a)"

"""Which forms of import and export are joined, and which are refused with their place."""

import pytest
from joined_code import requested, write
from js_tools import in_node

from webapp.errors import AppError
from webapp.web.joiner.join import functions

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
    names = in_node("exports_of.mjs", requested(tmp_path))["entry.js"]
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
    assert in_node("exports_of.mjs", requested(tmp_path))["entry.js"]["values"] == [
        ["gives base a,base ab"] * 2
    ]


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
    with pytest.raises(AppError) as reported:
        functions(tmp_path, "entry.js")
    assert reported.value.code == "module_not_joined"
    assert REFUSED[form] in reported.value.sentence and f"{tmp_path / 'entry.js'}:" in reported.value.sentence
    if "exported" not in REFUSED[form]:
        assert int(reported.value.sentence.split("entry.js:")[1].split(":")[0]) in (3, 4)


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

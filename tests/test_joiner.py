"""The app's modules in two scripts: whole and sound, each module doing what it does alone."""

import pytest
from joined_code import MODULES, SOURCES, texts, whole, write
from js_tools import in_js, in_node
from test_js import type_checker
from twin import node

from webapp.errors import AppError
from webapp.web import app_files
from webapp.web.joiner.join import functions, joins
from webapp.web.joiner.lexer import tokens
from webapp.web.joiner.modules import read_module
from webapp.web.joiner.strip import written

__all__ = ["type_checker"]

# the sources


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(SOURCES).as_posix())
def test_every_module_keeps_to_the_forms_that_are_taken(path):
    read_module(path.read_text(encoding="utf-8"))


def test_the_joined_scripts_are_whole_and_sound(tmp_path):
    scripts = {
        "app.js": app_files.script().body,
        "second.js": app_files.second("/app.js").body,
        "sw.js": app_files.worker("", ("", ""), {}, {}).body,
    }
    for name, text in scripts.items():
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
    script = whole(SOURCES, "start.js", "second.js", without="start.js")
    named = [p.relative_to(SOURCES).as_posix() for p in MODULES]
    pure = [
        p for p in named if p.startswith(("survey/", "text/", "sync/")) and f'modules__["{p}"]=' in script
    ]
    assert len(pure) > 130
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


PAGE = """
globalThis.document = { currentScript: { getAttribute: () => '/static/app/fallbook-1.js' } };
globalThis.fallbook = (() => {
  const modules__ = Object.create(null);
  const module = (path) => modules__[path];
  %s
  return { join, module };
})();
const of = (address) => `fallbook.join('${address}',(modules__)=>{modules__['second.js']={screens:1};});`;
for (const address of ['/static/app/fallbook-2.js', undefined, '/static/app/fallbook-1.js']) {
  (0, eval)(of(address));
  console.log(JSON.stringify(fallbook.module('second.js')));
}
"""


def test_a_second_part_adds_itself_only_to_the_first_that_it_was_made_for(tmp_path):
    (tmp_path / "run.cjs").write_text(PAGE % joins(), encoding="utf-8")
    done = in_js(node(), str(tmp_path / "run.cjs"))
    assert done.stdout == 'undefined\nundefined\n{"screens":1}\n', done.stderr
    first, other = (
        app_files.second("/static/app/fallbook-1.js"),
        app_files.second("/static/app/fallbook-2.js"),
    )
    assert b'fallbook.join("/static/app/fallbook-1.js",' in first.body
    assert first.named("second", "js") != other.named("second", "js"), "another first, another address"


def test_what_both_parts_bring_in_is_refused(monkeypatch):
    monkeypatch.setattr(app_files, "SECOND", "start.js")  # as if it imported what the first part does
    with pytest.raises(
        AppError, match=r"start\.js brings in .*store/store\.js.*, which the first part imports"
    ):
        app_files.second("/app.js")


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


def test_an_edit_shows_at_the_next_joining(tmp_path):
    write(tmp_path, entry="export const a = 1;\n")
    assert "a=1" in functions(tmp_path, "entry.js")["entry.js"]
    (tmp_path / "entry.js").write_text("export const a = 22;\n", encoding="utf-8")
    assert "a=22" in functions(tmp_path, "entry.js")["entry.js"]

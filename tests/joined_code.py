"""Modules of a test's own, joined into one script and run in Node."""

from webapp import paths
from webapp.web.joiner.join import functions, joined
from webapp.web.joiner.lexer import tokens

SOURCES = paths.STATIC / "js"
ALONE = {
    "main.js",
    "sw.js",
    "watchdog.js",
    "save_all.js",
    "office.js",
    "office_erase.js",
    "office_phones.js",
}  # not part of the joined script
MODULES = sorted(p for p in SOURCES.rglob("*.js") if p.relative_to(SOURCES).as_posix() not in ALONE)


def texts(source):
    return [token.text for token in tokens(source)]


def write(folder, **modules):
    """Write modules into a folder and return the entry's name."""
    for name, text in modules.items():
        (folder / f"{name}.js").write_text(text, encoding="utf-8")
    (folder / "package.json").write_text('{"type": "module"}', encoding="utf-8")
    return "entry.js"


def whole(folder, *entries, without=""):
    """A script whose value holds every module that the entries need, by its path."""
    found = {path: text for entry in entries for path, text in functions(folder, entry).items()}
    parts = [text for path, text in found.items() if path != without]
    return joined(*parts, "globalThis.all = modules__;\n") + ";globalThis.all"


def requested(folder):
    """What exports_of.mjs needs to compare the joined entry with the module itself."""
    return {"script": whole(folder, "entry.js"), "folder": str(folder), "paths": ["entry.js"], "call": True}

"""The files that the app is made of, as a phone gets them: each with its hash in its name, packed once."""

import gzip
import hashlib
import html
import json
import re
from base64 import b64encode
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, cast

import brotli

from .. import paths
from ..errors import AppError
from .joiner.join import FileState, file_state, functions, joined, joined_later, joins, needed, stripped

STYLES = ("tokens", "base", "page", "controls", "forms", "pad", "dial", "log", "figures", "condition")
SERVER_STYLES = ("office",)
CSS_COMMENT = re.compile(r"/\*.*?\*/", re.S)
CSS_SPACE = re.compile(r"""("[^"]*"|'[^']*')|\s*([{};,])\s*|(?<=:)\s+|\s+""")
JAVASCRIPT = "text/javascript; charset=utf-8"
HTML = "text/html; charset=utf-8"
ENCODINGS = ("br", "gzip")
SOURCES = (".js", ".css", ".svg", ".html")
START, SECOND, EXCHANGE = "start.js", "second.js", "sync/worker_entry.js"  # where the joined scripts begin
PLAIN = ("watchdog", "save_all")  # scripts that need nothing of the app, to be there when it is not
START_SECTIONS = ("fault", "save", "start")  # of the messages: they come with the page, before the data
# And those of other sections with which an app that cannot start says so.
START_KEYS = {"failure": ("again",), "status": ("refused",), "survey": ("list.sentence",)}
FOLDER = "app/"  # under /static/, with no such folder on disk
SMALL = ("/static/icons/fallbook.svg", "/static/icons/mark.svg", "/static/js/main.js")


@lru_cache(maxsize=64)
def _packed(body: bytes, encoding: str) -> bytes:
    if encoding == "br":  # a second of one core for the script, and a twelfth less than with 9
        return bytes(brotli.compress(body, quality=11))
    return gzip.compress(body, 9, mtime=0)


@dataclass(frozen=True)
class AppFile:
    """One file: its bytes and what they are; packed when first asked for."""

    body: bytes
    media_type: str

    @cached_property
    def sha256(self) -> bytes:
        """Return the hash of the unpacked bytes."""
        return hashlib.sha256(self.body).digest()

    @cached_property
    def integrity(self) -> str:
        """Return the same in base64."""
        return b64encode(self.sha256).decode()

    def packed(self, encoding: str) -> bytes:
        """Return the bytes in a content encoding, or as they are."""
        return _packed(self.body, encoding) if encoding else self.body

    def named(self, stem: str, ending: str) -> str:
        """Return the address under which these bytes, and no others, are served."""
        return f"/static/{FOLDER}{stem}-{self.sha256.hex()[:16]}.{ending}"


@dataclass(frozen=True)
class Release:
    """One version of the app: what a phone keeps of it, by address, and the worker that keeps it."""

    name: str
    files: Mapping[str, AppFile]
    worker: AppFile

    def pack(self) -> None:
        """Pack everything, so that no phone has to wait for it."""
        for file in (*self.files.values(), self.worker):
            file.packed(ENCODINGS[0])


def source_state() -> tuple[FileState, ...]:
    """Return what changes when any file does that the app is made of."""
    found = (p for folder in (paths.STATIC, paths.TEMPLATES) for p in folder.rglob("*"))
    return tuple(file_state(p) for p in sorted(found) if p.suffix in SOURCES)


def release_name(state: Iterable[FileState], made: Mapping[str, bytes]) -> str:
    """Return the hash of all that the app is made of, and of what makes it: quick, nothing is joined."""
    found = hashlib.sha256()
    own = [Path(__file__), *sorted((Path(__file__).parent / "joiner").glob("*.py"))]
    for path in (*(path for path, _, _ in state), *own):
        found.update(f"{path.name}\n".encode() + hashlib.sha256(path.read_bytes()).digest())
    for address, body in made.items():
        found.update(f"{address}\n".encode() + hashlib.sha256(body).digest())
    return found.hexdigest()[:16]


@dataclass(frozen=True)
class AppData:
    """What the app is given besides its sources, each JSON already."""

    fields: bytes
    tables: Mapping[str, bytes]
    messages: Mapping[str, object]  # the catalogue of the language, by section
    page: Mapping[str, str]  # what stands in the page itself, by its mark


def release(name: str, given: AppData, made: Mapping[str, AppFile]) -> Release:
    """Return the app made of its sources, its data, and further small files by address."""
    first = script()
    app = first.named("fallbook", "js")
    later = second(app)
    parts = {
        "script": (first, "fallbook", "js"),
        "second": (later, "second", "js"),
        "style": (style(), "fallbook", "css"),
        "data": (data(given), "data", "json"),
    }
    for script_name in PLAIN:
        parts[script_name] = (plain(f"{script_name}.js"), script_name, "js")
    page = _page(given).replace("$release", name).replace("$integrity", f"sha256-{later.integrity}")
    files = {}
    for mark, (file, stem, ending) in parts.items():
        address = file.named(stem, ending)
        files[address] = file
        page = page.replace(f"${mark}", address)
    kept = {"/": AppFile(page.encode(), HTML), **files}
    small = {**made, **{path: _small(path) for path in SMALL}}
    return Release(name, kept | small, worker(name, (app, later.named("second", "js")), kept, small))


def _page(given: AppData) -> str:
    """Return the page with its sentences; those that the start may need travel in it."""
    words = {key: given.messages[key] for key in ("_language", "_locale", *START_SECTIONS)}
    for key, names in START_KEYS.items():
        section = cast(Mapping[str, object], given.messages[key])
        words[key] = {own: section[own] for own in names}
    page = (paths.TEMPLATES / "index.html").read_text(encoding="utf-8")
    for mark, text in given.page.items():
        page = page.replace(f"${mark}", html.escape(text))
    # What stands in a script element ends at the first "</".
    return page.replace("$words", _json(words).decode().replace("<", "\\u003c"))


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def _small(path: str) -> AppFile:
    ending = path.rpartition(".")[2]
    body = (paths.STATIC / path.removeprefix("/static/")).read_bytes()
    return AppFile(body, {"svg": "image/svg+xml; charset=utf-8", "js": JAVASCRIPT}[ending])


def script() -> AppFile:
    """Return what starting, recording and saving need.  In a worker: the exchange, and nothing starts."""
    exchange = functions(paths.STATIC / "js", EXCHANGE)
    app = functions(paths.STATIC / "js", START)
    text = joined(
        *exchange.values(),
        "if(typeof document==='undefined'){globalThis.fallbook=Object.freeze({module});return;}\n",
        *(text for path, text in app.items() if path not in exchange),
        joins(),
        f"globalThis.fallbook=Object.freeze({{...module('{START}'),module,join}});\n",
    )
    return AppFile(text.encode(), JAVASCRIPT)


def second(first: str) -> AppFile:
    """Return the rest of the app as a script that adds itself to the one at an address, and to no other.

    What ``second.js`` imports comes later, so nothing of the first part may import it: that is refused.
    """
    folder = paths.STATIC / "js"
    here = {**functions(folder, EXCHANGE), **functions(folder, START)}
    if early := [path for path in needed(folder, SECOND) if path in here]:
        raise AppError(
            "module_not_joined",
            f"{folder / SECOND} brings in {', '.join(early)}, which the first part imports.",
        )
    rest = (text for path, text in functions(folder, SECOND).items() if path not in here)
    return AppFile(joined_later(first, *rest).encode(), JAVASCRIPT)


def style() -> AppFile:
    """Return the style sheets as one."""
    folder = paths.STATIC / "css"
    known = {f"{name}.css" for name in (*STYLES, *SERVER_STYLES)}
    if unknown := sorted({p.name for p in folder.glob("*.css")} - known):
        raise AppError(
            "module_not_joined", f"{', '.join(unknown)} has no place in STYLES (webapp/web/app_files.py)."
        )
    texts = [(folder / f"{name}.css").read_text(encoding="utf-8") for name in STYLES]
    # Space that parts nothing goes; what stands in quotes stays as it is.
    text = CSS_SPACE.sub(
        lambda found: (
            found[1] or found[2] or (" " if found[0] and found.string[found.start() - 1] != ":" else "")
        ),
        CSS_COMMENT.sub("", "\n".join(texts)),
    )
    return AppFile(text.encode(), "text/css; charset=utf-8")


def data(given: AppData) -> AppFile:
    """Return the sentences, the field descriptions and the tables as one file."""
    messages = {key: some for key, some in given.messages.items() if key not in START_SECTIONS}
    rows = b",".join(json.dumps(name).encode() + b":" + body for name, body in given.tables.items())
    parts = (b'{"messages":', _json(messages), b',"fields":', given.fields, b',"tables":{', rows, b"}}")
    return AppFile(b"".join(parts), "application/json")


def plain(name: str) -> AppFile:
    """Return a script that needs nothing of the app, with the modules that are its own."""
    folder = paths.STATIC / "js"
    text = joined(*functions(folder, name).values()) if needed(folder, name) else stripped(folder / name)
    return AppFile(text.encode(), JAVASCRIPT)


def worker(
    release: str, scripts: tuple[str, str], files: Mapping[str, AppFile], small: Mapping[str, AppFile]
) -> AppFile:
    """Return the service worker: what it keeps stands before its text.

    ``scripts`` are the addresses of both parts of the app.  ``small`` files travel in the worker, which saves
    a request each.
    """
    rows = [[path, one.integrity, len(one.body)] for path, one in {**files, **small}.items()]
    own = {path: [one.media_type, one.body.decode()] for path, one in small.items()}
    parts = (
        f"'use strict';\nconst RELEASE={json.dumps(release)};\n",
        f"const APP={json.dumps(scripts[0])};\nconst SECOND={json.dumps(scripts[1])};\n",
        f"const PRECACHE = {json.dumps(rows)};\n",
        f"const SMALL={json.dumps(own, ensure_ascii=False)};\n",
        stripped(paths.STATIC / "js" / "sw.js"),
    )
    return AppFile("".join(parts).encode(), JAVASCRIPT)

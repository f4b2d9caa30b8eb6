"""The app as a phone loads it: shell page, service worker, manifest, field descriptions, tables."""

import functools
import json
import re
import threading
from typing import Any

from flask import Blueprint, Response, current_app, request, send_from_directory

from .. import paths, tables
from ..environment import OWN_TABLES, own_table
from ..errors import AppError
from ..schemas import describe_all
from ..survey.wording.messages import message
from . import app_files, headers
from .app_files import AppFile
from .joiner.join import FileState

bp = Blueprint("shell", __name__)

ROUTES = paths.STATIC / "js" / "routes.js"
ROUTE = re.compile(r"^  \['/([^'/]*)(/[^']*)?', ", re.MULTILINE)
ICONS = "icons/"  # a browser asks for one two or three times in a visit
_MAKING = threading.Lock()


def is_screen(path: str) -> bool:
    """Say whether an address is one of the app's screens, which the shell answers; the router lists them."""
    name, *rest = path.strip("/").split("/")
    routes = ROUTE.findall(ROUTES.read_text(encoding="utf-8"))
    return any(name == known and (deeper or not rest) for known, deeper in routes)


def manifest() -> dict[str, object]:
    """Return the web app manifest.  ``id`` never changes: another id is another app."""

    words = tables.messages()

    def text(key: str) -> str:
        return message(words, key)

    def icon(name: str, size: str, purpose: str, media_type: str = "image/png") -> dict[str, str]:
        return {"src": f"/static/icons/{name}", "sizes": size, "type": media_type, "purpose": purpose}

    return {
        "id": "/?app=fallbook",
        "name": text("start.app_long"),
        "short_name": text("app.name"),
        "description": text("start.app_description"),
        "lang": words["_language"],
        "dir": "ltr",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "theme_color": "#0a4650",
        "background_color": "#ffffff",
        "categories": ["productivity", "utilities"],
        "icons": [
            icon("icon-192.png", "192x192", "any"),
            icon("icon-512.png", "512x512", "any"),
            icon("maskable-512.png", "512x512", "maskable"),
            icon("fallbook.svg", "any", "any", "image/svg+xml"),
        ],
        "shortcuts": [
            {"name": text("jobs.new"), "url": "/jobs/new"},
            {"name": text("start.not_sent"), "short_name": text("outbox.title"), "url": "/outbox"},
        ],
    }


def _page_words() -> dict[str, str]:
    """Return what the page says before its script runs, by its mark in the template."""
    words = tables.messages()
    return {
        "language": words["_language"],
        "name": message(words, "app.name"),
        "description": message(words, "start.description"),
        "opening": message(words, "start.opening"),
        "no_script": message(words, "start.no_script"),
    }


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def _made() -> dict[str, bytes]:
    """Return the bodies that are made here, by address."""
    own = {
        "/fields.json": _json(describe_all()),
        "/manifest.webmanifest": _json(manifest()),
        "/handbook.json": _json(tables.handbook()),
        "messages": _json(tables.phone_messages()),
    }
    return own | {f"/tables/{name}.json": _json(tables.load(name)) for name in tables.NAMES}


def made() -> dict[str, bytes]:
    """Return the same, made once for a firm's own files."""
    return _made_with(_own_files())


def _own_files() -> tuple[str, ...]:
    return tuple(str(own_table(name)) for name in OWN_TABLES)


@functools.lru_cache(maxsize=2)
def _made_with(own_files: tuple[str, ...]) -> dict[str, bytes]:
    return _made()


def release() -> app_files.Release:
    """Return the app as it is now: made when first asked for, and again when a file has changed."""
    with _MAKING:
        return _release(app_files.source_state(), _own_files())


def pack() -> None:
    """Make the app and pack it, before a phone asks for it."""
    release().pack()


def _without(value: Any, keys: set[str]) -> Any:
    """Return a value of a table without some keys, however deep they lie."""
    if isinstance(value, dict):
        return {key: _without(one, keys) for key, one in value.items() if key not in keys}
    return [_without(one, keys) for one in value] if isinstance(value, list) else value


@functools.lru_cache(maxsize=2)
def _release(state: tuple[FileState, ...], own_files: tuple[str, ...]) -> app_files.Release:
    bodies = made()
    small = {"/manifest.webmanifest": AppFile(bodies["/manifest.webmanifest"], "application/manifest+json")}
    tables_of_phones = {
        name: bodies[f"/tables/{name}.json"] for name in tables.NAMES if name not in tables.NOT_ON_PHONES
    }
    for name, keys in tables.KEYS_NOT_ON_PHONES.items():
        tables_of_phones[name] = _json(_without(tables.load(name), keys))
    given = app_files.AppData(
        bodies["/fields.json"], tables_of_phones, tables.phone_messages(), _page_words()
    )
    return app_files.release(_name(state, own_files), given, small)


@functools.lru_cache(maxsize=2)
def _name(state: tuple[FileState, ...], own_files: tuple[str, ...]) -> str:
    return app_files.release_name(state, made())


def release_name() -> str:
    """Return the name of the app as it is now; it differs where anything does that a phone gets."""
    return _name(app_files.source_state(), _own_files())


def shell_page(status: int = 200) -> Response:
    """Return the shell, which draws whatever screen the address names."""
    return _fresh(release().files["/"], status)


def _packed(file: AppFile, status: int = 200) -> Response:
    """Return a file packed as the browser takes it best."""
    accepted = request.accept_encodings
    encoding = next((one for one in app_files.ENCODINGS if accepted.quality(one) > 0), "")
    response = Response(file.packed(encoding), status=status, content_type=file.media_type)
    response.headers["Vary"] = "Accept-Encoding"
    if encoding:
        response.headers["Content-Encoding"] = encoding
    return response


def _fresh(file: AppFile, status: int = 200) -> Response:
    """Return a response that a browser keeps but asks about before each use."""
    response = _packed(file, status)
    response.headers["Cache-Control"] = "no-cache"
    if status == 200:
        response.set_etag(file.sha256.hex()[:32], weak=True)  # the same whether packed or not
        response.make_conditional(request)
    return response


def static_file(filename: str) -> Response:
    """Serve what has its hash in its name and is never asked about again, or a file as it lies there."""
    if not filename.startswith(app_files.FOLDER):
        known = release().files.get(f"/static/{filename}") if filename.startswith(ICONS) else None
        response = _packed(known) if known else current_app.send_static_file(filename)
        if filename.startswith(ICONS):
            response.headers["Cache-Control"] = "public, max-age=86400"
        return response
    found = release().files.get(f"/static/{filename}")
    if found is None:
        raise AppError("not_found")
    response = _packed(found)
    response.headers["Cache-Control"] = headers.IMMUTABLE
    return response


@bp.get("/")
def home() -> Response:
    """Serve the shell."""
    return shell_page()


@bp.get("/sw.js")
def classic_worker() -> Response:
    """Serve the service worker."""
    return _fresh(release().worker)


@bp.get("/sw-module.js")
def module_worker() -> Response:
    """Serve the same under the address that phones of earlier releases ask for."""
    return _fresh(release().worker)


@bp.get("/manifest.webmanifest")
def web_manifest() -> Response:
    """Serve the manifest."""
    return _fresh(AppFile(made()["/manifest.webmanifest"], "application/manifest+json"))


@bp.get("/fields.json")
def fields() -> Response:
    """Serve the field descriptions of every kind."""
    return _fresh(AppFile(made()["/fields.json"], "application/json"))


@bp.get("/handbook.json")
def handbook() -> Response:
    """Serve the sentences of the handbook, which a phone fetches once the app is on it."""
    return _fresh(AppFile(made()["/handbook.json"], "application/json"))


@bp.get("/tables/<name>.json")
def table(name: str) -> Response:
    """Serve a data table."""
    if name not in tables.NAMES:
        raise AppError("not_found")
    return _fresh(AppFile(made()[f"/tables/{name}.json"], "application/json"))


@bp.get("/favicon.ico")
def favicon() -> Response:
    """Serve the icon that browsers ask for unasked."""
    return send_from_directory(paths.STATIC / "icons", "fallbook.svg", mimetype="image/svg+xml")

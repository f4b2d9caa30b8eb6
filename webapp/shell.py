"""The app as a phone loads it: shell page, service worker, manifest, field descriptions, tables."""

import base64
import functools
import hashlib
import json
import re
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, request, send_from_directory

from . import paths, tables
from .errors import AppError
from .schemas import describe_all

bp = Blueprint("shell", __name__)

# Screens of the app (static/js/router.js); the shell answers to all of them.
APP_PATH = re.compile(r"/(|jobs(/.*)?|join|outbox|settings|about|help)/?")
SERVER_ONLY = re.compile(
    r"static/(js/(sw|office\w*)\.js|css/office\.css|.*/package\.json|.*\.(md|py|map|d\.ts))"
)
WORKER_IMPORT = "import { runFromWorker } from '/static/js/sync/worker_entry.js';\n"


def manifest() -> dict[str, Any]:
    """Return the web app manifest.  ``id`` never changes: another id is another app."""

    def icon(name: str, size: str, purpose: str, media_type: str = "image/png") -> dict[str, str]:
        return {"src": f"/static/icons/{name}", "sizes": size, "type": media_type, "purpose": purpose}

    return {
        "id": "/?app=fallbook",
        "name": "Fallbook, the drain surveyor's field book",
        "short_name": "Fallbook",
        "description": "Record drain, sewer and culvert surveys on the phone; sync later; make job packs.",
        "lang": "en",
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
            {"name": "New job", "url": "/jobs/new"},
            {"name": "Not sent yet", "short_name": "Outbox", "url": "/outbox"},
        ],
    }


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()


def _made() -> dict[str, bytes]:
    """Return the precached bodies that are made here, by address."""
    own = {"/fields.json": _json(describe_all()), "/manifest.webmanifest": _json(manifest())}
    return own | {f"/tables/{name}.json": _json(tables.load(name)) for name in tables.NAMES}


@functools.cache
def made() -> dict[str, bytes]:
    """Return the same, made once."""
    return _made()


def app_files() -> list[Path]:
    """Return the files under static/ that the app needs offline."""
    found = (p for p in paths.STATIC.rglob("*") if p.is_file() and not p.name.startswith("."))
    return sorted(p for p in found if not SERVER_ONLY.fullmatch(_address(p)[1:]))


def _address(path: Path) -> str:
    return "/static/" + path.relative_to(paths.STATIC).as_posix()


def worker(*, module: bool) -> bytes:
    """Return the service worker: the release and what to precache stand before its text."""
    release, files = release_and_files()
    rows = ",\n".join(json.dumps([path, _sha256(body), len(body)]) for path, body in files.items())
    text = (paths.STATIC / "js" / "sw.js").read_text(encoding="utf-8")
    lines = f'const RELEASE = "{release}";\nconst PRECACHE = [\n{rows}\n];\n'
    return ((WORKER_IMPORT if module else "") + lines + text).encode()


def _sha256(body: bytes) -> str:
    return base64.b64encode(hashlib.sha256(body).digest()).decode()


def release_and_precache() -> tuple[str, list[str]]:
    """Return the hash of everything the app is made of, and the addresses of it."""
    release, files = release_and_files()
    return release, list(files)


def release_and_files() -> tuple[str, dict[str, bytes]]:
    """Return the same with the bodies by address."""
    files = [*app_files(), paths.STATIC / "js" / "sw.js", paths.TEMPLATES / "index.html"]
    state = tuple((p, p.stat().st_mtime_ns, p.stat().st_size) for p in files)
    return _release(state)


@functools.lru_cache(maxsize=4)
def _release(state: tuple[tuple[Path, int, int], ...]) -> tuple[str, dict[str, bytes]]:
    found = hashlib.sha256()
    for path, _, _ in state:
        found.update(f"{path.name}\n".encode() + hashlib.sha256(path.read_bytes()).digest())
    for address, body in made().items():
        found.update(f"{address}\n".encode() + hashlib.sha256(body).digest())
    release = found.hexdigest()[:16]
    page = (paths.TEMPLATES / "index.html").read_text(encoding="utf-8").replace("$release", release)
    return release, {"/": page.encode(), **made(), **{_address(p): p.read_bytes() for p in app_files()}}


def shell_page(status: int = 200) -> Response:
    """Return the shell, which draws whatever screen the address names."""
    return _fresh(release_and_files()[1]["/"], "text/html; charset=utf-8", status)


def _fresh(body: bytes, content_type: str, status: int = 200) -> Response:
    """Return a response that a browser keeps but asks about before each use."""
    response = Response(body, status=status, content_type=content_type)
    response.headers["Cache-Control"] = "no-cache"
    if status == 200:
        response.set_etag(hashlib.sha256(body).hexdigest()[:32])
        response.make_conditional(request)
    return response


@bp.get("/")
def home() -> Response:
    """Serve the shell."""
    return shell_page()


@bp.get("/sw.js")
def classic_worker() -> Response:
    """Serve the service worker as a classic script."""
    return _fresh(worker(module=False), "text/javascript; charset=utf-8")


@bp.get("/sw-module.js")
def module_worker() -> Response:
    """Serve the service worker as a module, which can run the exchange itself."""
    return _fresh(worker(module=True), "text/javascript; charset=utf-8")


@bp.get("/manifest.webmanifest")
def web_manifest() -> Response:
    """Serve the manifest."""
    return _fresh(made()["/manifest.webmanifest"], "application/manifest+json")


@bp.get("/fields.json")
def fields() -> Response:
    """Serve the field descriptions of every kind."""
    return _fresh(made()["/fields.json"], "application/json")


@bp.get("/tables/<name>.json")
def table(name: str) -> Response:
    """Serve a data table."""
    if name not in tables.NAMES:
        raise AppError("not_found")
    return _fresh(made()[f"/tables/{name}.json"], "application/json")


@bp.get("/favicon.ico")
def favicon() -> Response:
    """Serve the icon that browsers ask for unasked."""
    return send_from_directory(paths.STATIC / "icons", "fallbook.svg", mimetype="image/svg+xml")

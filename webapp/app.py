"""The application factory: configuration, database, routes, headers and the way every error leaves."""

import errno
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from flask import Flask, Response, request
from sqlalchemy import URL, Engine
from sqlalchemy.exc import ArgumentError, DatabaseError, IntegrityError, OperationalError
from werkzeug.exceptions import HTTPException, SecurityError
from werkzeug.middleware.proxy_fix import ProxyFix

from . import api, config, paths, tables
from .access import guard, hosts
from .access.limits import TooMany
from .errors import AppError
from .messages import t
from .office.kept import Kept
from .store import folder, folder_lock, migrate
from .store.damage import is_damage
from .store.engine import database_url, for_this_user_only, let_go, remember_file, tune, url_of
from .store.filelock import alone
from .store.models import db
from .store.photo_storage import FolderStorage, PhotoStorage
from .sync.looking import Looking
from .sync.photos import Photos
from .sync.summaries import Summaries
from .web import admission, headers, log, office_words, shell
from .web.packing import Packing
from .web.state import State, state_of

HTTP_CODES = {
    404: "not_found",
    405: "method_not_allowed",
    413: "body_too_large",
    415: "media_type",
    503: "busy",
}


def create_app(given: Mapping[str, Any] | None = None) -> Flask:
    """Return the application on its data folder, locked and migrated.

    ``given`` may hold ``DATA_FOLDER``, ``DATABASE_URL`` and any Flask setting; see config.py.
    """
    app = Flask(
        __name__,
        static_folder=str(paths.STATIC),
        static_url_path="/static",
        template_folder=str(paths.TEMPLATES),
    )
    app.url_map.merge_slashes = False  # an address with a slash too many is not here; it leads nowhere else
    app.view_functions["static"] = shell.static_file
    app.config.update(config.settings(given))
    log.install(app)
    hosts.install(app)
    headers.install(app)
    guard.install(app)
    admission.install(app)
    office_words.install(app)
    if app.config["PROXIES"]:
        count = app.config["PROXIES"]
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=count, x_proto=count)  # type: ignore[method-assign]
    for name in ("grading_limits", "observation_codes"):
        tables.load(name)  # a firm's faulty file is told before anything starts
    try:
        _open_folder(app)
        _open_database(app)
        app.register_blueprint(shell.bp)
        api.register(app)
    except BaseException:
        close(app)
        raise
    app.register_error_handler(Exception, answer_error)
    return app


def close(app: Flask) -> None:
    """Give the database and the data folder of an application free, however far it came."""
    with app.app_context():
        for engine in _engines():
            engine.dispose()  # the last connection to close folds the write-ahead log in
            let_go(engine)
    guard.let_go(app)
    if "fallbook" in app.extensions:
        state_of(app).close()


def _engines() -> list[Engine]:
    """Return the engines of the application in context; none where its database has no usable address."""
    try:
        return list(db.engines.values())
    except RuntimeError:
        return []


def _open_folder(app: Flask) -> None:
    place = app.config["DATA_FOLDER"]
    if _is_own_database(app):
        folder.refuse_lost_database(place, new=app.config.get("NEW_DATABASE", False))
    if not (app.config["CREATE"] and app.config["MIGRATE"]) and not _holds_data(app):
        raise AppError("data_missing", f"({place})")
    if app.config["MIGRATE"]:
        folder.prepare(place)
    shared = app.config["SHARED"]
    photos = Photos(place, shared=shared, place=photo_storage_of(app))
    summaries = Summaries(photos.is_whole)
    looking = Looking(place, photos, summaries, app.app_context, log.tell_damage)
    office = Kept(app.app_context)
    state = State(place, None, photos, summaries, Packing(place, shared=shared), looking, office)
    app.extensions["fallbook"] = state
    if app.config["LOCK_FOLDER"]:
        state.lock = folder_lock.lock(place, shared=shared)


def _holds_data(app: Flask) -> bool:
    """Say whether the data folder is one, so that a mistyped one is never made."""
    place: Path = app.config["DATA_FOLDER"]
    return (place / folder.DATABASE).is_file() if _is_own_database(app) else place.is_dir()


def _is_own_database(app: Flask) -> bool:
    """Say whether the database is the file in the data folder."""
    url: URL = app.config["SQLALCHEMY_DATABASE_URI"]
    return url == database_url(None, app.config["DATA_FOLDER"])


def photo_storage_of(app: Flask) -> PhotoStorage:
    """Return where the photos of an app are stored: the data folder, or an S3-compatible store."""
    if url := app.config["PHOTOS_URL"]:
        from .store.photo_storage_s3 import S3Storage  # its library loads only where it is used

        return S3Storage(url, app.config["S3_ENDPOINT"] or None)
    return FolderStorage(app.config["DATA_FOLDER"])


def _open_database(app: Flask) -> None:
    if to_read := _only_to_read(app):
        app.config["SQLALCHEMY_DATABASE_URI"] = to_read
    try:
        db.init_app(app)
    except (
        ArgumentError,
        ImportError,
    ) as error:  # no address, or no driver for it
        raise AppError("setting_malformed", f"DATABASE_URL: {str(error).splitlines()[0]}") from error
    migrate.migrate.init_app(app, db)
    with app.app_context():
        for_this_user_only(db.engine)
        tune(db.engine, only_read=to_read is not None)
        try:
            if app.config["MIGRATE"]:
                with alone(app.config["DATA_FOLDER"] / "migrating"):  # of several processes, one does it
                    migrate.bring_up_to_date()
                state_of(app).photos.mark()
            else:
                migrate.refuse_newer()
        except DatabaseError as error:
            text = str(error.orig)
            if is_damage(error):
                raise AppError("data_damaged", f"({text}) {t('upkeep.salvage')}") from error
            if db.engine.dialect.name != "sqlite" and isinstance(error, OperationalError):
                raise AppError("database_down", f"({text.splitlines()[0]})") from error
            raise
        remember_file(db.engine)


def _only_to_read(app: Flask) -> URL | None:
    """Return the URL of a database that can only be read, as a backup on a medium that is; else None."""
    place: Path = app.config["DATA_FOLDER"]
    if app.config["MIGRATE"] or not _is_own_database(app) or folder.is_writable(place):
        return None
    return url_of(state_of(app).on_close.enter_context(folder.uri_to_read(place / folder.DATABASE)))


def answer_error(error: Exception) -> Response:
    """Return the response for an error, whichever way it left."""
    found = as_app_error(error)
    if found.code == "server_fault":
        log.LOG.exception("fault", extra={"parts": {"path": request.path}})
    if found.code == "not_found" and request.method in ("GET", "HEAD") and _is_page(request.path):
        return shell.shell_page(200 if shell.is_screen(request.path) else 404)
    if _is_shown_on_a_page(found):
        return api.office.page(
            "office/refused.html",
            found.kind.status,
            sentence=found.sentence,
            why=_why(found),
        )
    response = Response(status=found.kind.status, content_type="application/json")
    response.set_data(api.bodies.error_text(found))
    if found.kind.status == 401:
        response.headers["WWW-Authenticate"] = (
            'Bearer realm="Fallbook"'  # RFC 9110 asks for it; opens no prompt
        )
    if isinstance(found, TooMany):
        response.headers["Retry-After"] = str(found.after_s)
    if isinstance(error, HTTPException) and error.code == 405:
        response.headers["Allow"] = dict(error.get_headers()).get("Allow", "")
    return response


def _is_shown_on_a_page(found: AppError) -> bool:
    """Say whether a person in the office is shown a page rather than JSON."""
    if request.method != "GET" or not request.path.startswith("/office"):
        return False
    asks_for_a_page = "text/html" in request.headers.get("Accept", "")
    return _why(found) != "missing" or (found.kind.status == 404 and asks_for_a_page)


def _why(found: AppError) -> str:
    """Return what the page is about: no access, damage, or something that is not here."""
    if found.code == "data_damaged":
        return "damaged"
    return "access" if found.code.startswith("access_") else "missing"


def _is_page(path: str) -> bool:
    return not path.startswith(("/api/", "/media/", "/static/", "/office/", "/tables/"))


def as_app_error(error: Exception) -> AppError:
    """Return any error as one of ours."""
    if isinstance(error, AppError):
        return error
    if isinstance(error, SecurityError):
        return AppError("host_unknown")
    if isinstance(error, HTTPException):
        code = error.code or 500
        return AppError(HTTP_CODES.get(code, "request_malformed" if code < 500 else "server_fault"))
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
        return AppError("disk_full")
    if is_damage(error):
        return AppError("data_damaged", t("upkeep.salvage"))
    if isinstance(error, IntegrityError):
        return AppError("busy")  # another process wrote the same rows first; sent again, they are there
    if isinstance(error, OperationalError):
        return AppError(_operational(error.orig))
    return AppError("server_fault")


def _operational(error: BaseException | None) -> str:
    """Return the code for what a database could not do now: SQLite says it in words, PostgreSQL by number."""
    text, state = str(error), getattr(error, "sqlstate", "")
    if state == "53100" or "full" in text:
        return "disk_full"
    if state is None or state[:2] in ("08", "40", "53", "55", "57"):  # None: no connection at all
        return "busy"
    return "busy" if "locked" in text or "busy" in text else "server_fault"


@contextmanager
def opened(given: Mapping[str, Any] | None = None) -> Iterator[Flask]:
    """Return an application, and give its database and its folder free afterwards."""
    app = create_app(given)
    try:
        yield app
    finally:
        close(app)

"""May this body come?  Answered when the head of a request is there, before its body is read.

The server calls the application with the head alone and ``KEY`` in the WSGI environment; what is found there
afterwards is the answer.  So every wrapper around the application (proxies, TLS) has its say, as for the
request itself.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from flask import Flask, request

from .. import config
from ..access import guard, hosts
from ..errors import AppError
from . import headers

KEY = "fallbook.may_come"
Wsgi = Callable[[dict[str, object], Any], Iterable[bytes]]
JSON = ("application/json",)
FILES = ("application/json", "application/zip", "application/octet-stream")
PHOTOS = ("application/octet-stream",)


@dataclass
class Admission:
    """What a body may be, and why it may not come; as the server has it where nobody answers."""

    most_bytes: int
    refusal: AppError | None = None


def install(app: Flask) -> None:
    """Answer for ``app`` when the server asks."""
    inner: Wsgi = app.wsgi_app

    def outer(environ: dict[str, object], start: Any) -> Iterable[bytes]:
        admission = environ.get(KEY)
        if not isinstance(admission, Admission):
            return inner(environ, start)
        admission.most_bytes = config.OTHER_BYTES
        try:
            with app.request_context(environ):
                _look(admission)
        except AppError as error:
            admission.refusal = error
        except Exception:
            admission.most_bytes = config.OTHER_BYTES  # the application will meet the same fault, and tell it
        return ()

    app.wsgi_app = outer  # type: ignore[assignment, method-assign]


def takes_no_body(inner: Wsgi) -> Wsgi:
    """Return an application that refuses every body of some length: it is there to be read only."""

    def outer(environ: dict[str, object], start: Any) -> Iterable[bytes]:
        admission = environ.get(KEY)
        if not isinstance(admission, Admission):
            return inner(environ, start)
        admission.most_bytes = 0
        return ()

    return outer


def _look(admission: Admission) -> None:
    hosts.check()
    headers.check_site()
    guard.admit()
    # By the time of the call: tests and settings may have changed them.
    found = {
        "sync.sync": (config.SYNC_BYTES, JSON),
        "photos.piece": (config.PHOTO_PIECE_BYTES, ()),
        "photos.together": (config.PHOTO_PIECE_BYTES, PHOTOS),
        "imports.take": (config.IMPORT_BYTES, FILES),
    }.get(request.endpoint or "")
    if found is None:
        return
    most_bytes, types = found
    if types:
        headers.need_type(request, *types)
    admission.most_bytes = most_bytes

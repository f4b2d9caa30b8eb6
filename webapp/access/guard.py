"""The check before every request, and what routes ask of it.

Refused is whatever no rule allows.  A job, pack or photo of somebody else's is answered as one that is
not here, so that nobody learns which there are.
"""

from collections.abc import Sequence
from contextlib import suppress

from flask import Flask, Request, Response, current_app, g, request
from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

from ..errors import AppError
from ..store import access_rows, kept_rows, photo_rows
from ..store.engine import reading, writing
from ..store.folder import LIMITS_FILE
from ..sync.exchange import now_text
from ..sync.wanted import photos_named
from . import bearer
from .granting import By
from .limits import Buckets
from .moments import age_s
from .permissions import ANYBODY, RULES
from .who import COOKIE, DEVICE_COOKIE, Who, identify, is_local, this_machine

SEEN_AGAIN_S = 60.0
COOKIE_AGAIN_S = 86_400.0
COOKIE_DAYS = 400  # browsers keep none for longer
_BUCKETS = "fallbook_buckets"


def install(app: Flask) -> None:
    """Put the check before every request of ``app``."""
    shared = app.config["DATA_FOLDER"] / LIMITS_FILE if app.config["SHARED"] else None
    app.extensions[_BUCKETS] = Buckets(shared)
    app.before_request(_check)
    app.after_request(_keep_cookie)


def let_go(app: Flask) -> None:
    """Close what :func:`install` opened."""
    buckets_of(app).close()


def buckets_of(app: Flask) -> Buckets:
    """Return the buckets of an application."""
    found: Buckets = app.extensions[_BUCKETS]
    return found


def buckets() -> Buckets:
    """Return the buckets of the application that serves this request."""
    return buckets_of(current_app)


def who() -> Who:
    """Return who sends this request."""
    if "who" not in g:
        g.who = None if bearer.shown(request) else this_machine(request)
    if g.who is None:
        by_token = bearer.shown(request)
        with reading() as connection:
            g.who = (bearer.identify if by_token else identify)(request, connection, now_text())
    found: Who = g.who
    return found


def by() -> By:
    """Return the sender as the audit log writes it."""
    return By(who().name or "nobody known", who().address, who().device_id)


def _check() -> None:
    sender = admit()
    if sender is None:
        return
    if "job_id" in (request.view_args or {}):
        see_job((request.view_args or {})["job_id"])
    _seen(sender)


def admit() -> Who | None:
    """Return the sender of a request that it may make; None where nobody is asked."""
    if not current_app.config["ACCESS"] and not is_local(request):
        raise AppError("address_open")
    allowed = RULES.get(request.endpoint or "", frozenset())
    if request.endpoint is None or allowed == ANYBODY:
        return None
    sender = who()
    if sender.refused is not None:
        buckets().take("refused", sender.address)
        raise AppError(sender.refused)
    if not sender.local:
        buckets().take("any", sender.device_id or f"{sender.name} {sender.address}")
    if sender.role not in allowed:
        raise AppError("access_role")
    return sender


def see_job(job_id: str, instead: str = "job_not_found") -> None:
    """Refuse a job that is not one of the sender's, in the words for one that is not here."""
    if not who().may_see(job_id):
        raise AppError(instead)


def see_photo(sha256: str) -> None:
    """Refuse a photo that no standing record of the sender's jobs names."""
    if not seen_photos([sha256]):
        raise AppError("photo_not_found")


def seen_photos(hashes: Sequence[str]) -> set[str]:
    """Return those of some photos that a standing record of the sender's jobs names."""
    jobs, left = who().jobs, set(hashes)
    if jobs is None:
        return left
    with reading() as connection:
        for job_id in sorted(jobs):
            if left:
                left -= _photos_of(connection, job_id, left)
    return set(hashes) - left


def _photos_of(connection: Connection, job_id: str, hashes: set[str]) -> set[str]:
    """Return those of some photos that are a job's, as the server knows its records.

    A device of one job shows that a photo is its job's by naming it before it came.  To name one that is here
    already, perhaps another job's, opens nothing.
    """
    entries = kept_rows.kept(connection, job_id, "photo")
    named = hashes & photos_named(entries)
    here = photo_rows.find_all(connection, named)
    bound = access_rows.writers_of_one_job(connection, {entry["writer"] for entry in entries})
    came = kept_rows.received(connection, job_id, "photo")
    return {
        sha256
        for entry in entries
        if (sha256 := entry["fields"].get("sha256")) in named
        and (
            sha256 not in here
            or entry["writer"] not in bound
            or came[entry["writer"], entry["number"]] <= here[sha256]["received_at"]
        )
    }


def one_more_pack() -> None:
    """Packs take the machine's time: so many for each sender that is not this machine."""
    if not who().local:
        buckets().take("pack", who().device_id or who().address)


def need_https(incoming: Request) -> None:
    """Refuse to give out a credential over a way that others can read."""
    if not incoming.is_secure and not is_local(incoming):
        raise AppError("access_insecure")


def set_cookie(response: Response, name: str, value: str, days: float) -> None:
    """Give a secret to the browser: sent to this server only, over HTTPS only, not to scripts."""
    response.set_cookie(
        name, value, max_age=round(days * 86_400), path="/", secure=True, httponly=True, samesite="Strict"
    )


def drop_cookie(response: Response, name: str) -> None:
    """Take a secret from the browser again."""
    set_cookie(response, name, "", 0)


def _seen(sender: Who) -> None:
    """Note that a device came, at most once a minute."""
    if sender.device_id is None or 0 <= age_s(sender.last_seen_at) < SEEN_AGAIN_S:
        return
    seen = {"last_seen_at": now_text(), "last_address": sender.address[:64]}
    # A full disk, a damaged page or a busy database must not stop somebody who only reads.
    with suppress(DatabaseError), writing() as connection:
        access_rows.change(connection, access_rows.DEVICE, {"id": sender.device_id}, seen)


def _keep_cookie(response: Response) -> Response:
    """Browsers forget a cookie after 400 days; a device that comes keeps its own."""
    sender: Who | None = g.get("who")
    if (
        sender
        and sender.way == COOKIE
        and sender.refused is None
        and age_s(sender.last_seen_at) > COOKIE_AGAIN_S
    ):
        set_cookie(response, DEVICE_COOKIE, request.cookies[DEVICE_COOKIE], COOKIE_DAYS)
    return response

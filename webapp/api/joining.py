"""The ways in: a phone takes its invitation, a client opens a link; and who am I here."""

from typing import Any

from flask import Blueprint, Response, current_app, request

from .. import config
from ..access import granting, guard
from ..access.who import CLIENT_COOKIE, DEVICE_COOKIE, MAX_LINKS, identify
from ..errors import AppError, sentence_of
from ..messages import t
from ..store.engine import reading
from ..sync.exchange import now_text
from ..web.headers import need_type
from ..web.shell import release_name
from .bodies import answer_value, json_value
from .office import page

bp = Blueprint("joining", __name__)


def body_object() -> dict[str, Any]:
    """Return the JSON object that a request holds."""
    need_type(request, "application/json")
    value = json_value(config.OTHER_BYTES, config.OTHER_BYTES)
    if not isinstance(value, dict):
        raise AppError("request_malformed", t("api.body_object"))
    return value


@bp.get("/api/me")
def me() -> Response:
    """Say who the sender is to this server, and whether it is let in."""
    sender = guard.who()
    refused = sender.refused
    return answer_value(
        {
            "ok": True,
            "release": release_name(),
            "access": "on" if current_app.config["ACCESS"] else "this_machine_only",
            "role": sender.role,
            "name": sender.name,
            "device_id": sender.device_id,
            "jobs": None if sender.jobs is None else sorted(sender.jobs),
            "refused": refused,
            "message": sentence_of(refused) if refused else "",
        }
    )


def _may_try() -> None:
    """A guess costs a token of its address; a credential goes over HTTPS only."""
    if not current_app.config["ACCESS"]:
        raise AppError("access_off")
    guard.buckets().take("redeem", request.remote_addr or "")
    guard.need_https(request)


@bp.post("/api/join/look")
def look() -> Response:
    """Say what an invitation is for, without using it."""
    sent = body_object()
    _may_try()
    row = granting.look(sent.get("code"))
    shown = {name: row[name] for name in ("role", "name", "job_id", "expires_at")}
    return answer_value({"ok": True, **shown})


@bp.post("/api/join")
def join() -> Response:
    """Use an invitation: from now on this browser is a device of its own."""
    sent = body_object()
    _may_try()
    with reading() as connection:
        before = identify(request, connection, now_text())
    by = granting.By(address=request.remote_addr or "")
    secret, device = granting.redeem(sent.get("code"), sent.get("name"), before.device_id, by)
    shown = {name: device[name] for name in ("role", "name", "job_id")}
    response = answer_value({"ok": True, "device_id": device["id"], **shown})
    guard.set_cookie(response, DEVICE_COOKIE, secret, guard.COOKIE_DAYS)
    return response


@bp.post("/api/client-links/open")
def open_client_link() -> Response:
    """Open a client's link: this browser may read its job until the link expires."""
    sent = body_object()
    _may_try()
    secret = sent.get("secret")
    row = granting.open_link(secret, granting.By(address=request.remote_addr or ""))
    known = [s for s in request.cookies.get(CLIENT_COOKIE, "").split(".") if s and s != secret]
    response = answer_value({"ok": True, "job_id": row["job_id"], "expires_at": row["expires_at"]})
    value = ".".join([str(secret), *known][:MAX_LINKS])
    guard.set_cookie(response, CLIENT_COOKIE, value, granting.MAX_DAYS)
    return response


@bp.get("/office/open")
def client_page() -> Response:
    """Show the page that opens a client's link; the secret stands behind the # and is in no log."""
    return page("office/open.html")

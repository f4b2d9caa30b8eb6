"""The ways in: a phone takes its invitation, a client opens a link; and who am I here."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, current_app, g, request

from .. import config
from ..access import granting, guard, joining
from ..access.who import CLIENT_COOKIE, COOKIE, DEVICE_COOKIE, MAX_LINKS, Who, identify
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


def _before() -> Who:
    """Return who this browser is by its cookies, on the ways in, which ask nobody."""
    with reading() as connection:
        return identify(request, connection, now_text())


def _flag(sent: dict[str, Any], name: str) -> bool:
    value = sent.get(name, False)
    if not isinstance(value, bool):
        raise AppError("request_malformed", t("api.must_be_flag", name=name), name)
    return value


@bp.post("/api/join/look")
def look() -> Response:
    """Say what an invitation is for, without using it."""
    sent = body_object()
    _may_try()
    row: Mapping[str, object] = granting.look(sent.get("code"))
    shown = {name: row[name] for name in ("role", "name", "job_id", "expires_at")}
    return answer_value({"ok": True, **shown})


@bp.post("/api/join")
def join() -> Response:
    """Use an invitation: from now on this browser is a device of its own."""
    sent = body_object()
    _may_try()
    asked = joining.Request(
        sent.get("code"), sent.get("name"), sent.get("secret"), _before().device_id, _flag(sent, "instead")
    )
    secret, device = joining.redeem(asked, granting.By(address=request.remote_addr or ""))
    told: Mapping[str, object] = device
    shown = {name: told[name] for name in ("role", "name", "job_id", "jobs")}
    response = answer_value({"ok": True, "device_id": device["id"], **shown})
    guard.set_cookie(response, DEVICE_COOKIE, secret, guard.COOKIE_DAYS)
    return response


@bp.post("/api/client-links/open")
def open_client_link() -> Response:
    """Open a client's link: this browser may read its job until the link expires."""
    sent = body_object()
    _may_try()
    secret, before, instead = sent.get("secret"), _before(), _flag(sent, "instead")
    by = granting.By(address=request.remote_addr or "")
    signed_in = before.device_id is not None and before.refused is None
    if signed_in and not instead:
        granting.look_at_link(secret)
        now = joining.words_of(joining.Access(before.role, before.jobs))
        raise AppError("link_lowers", t("api.link_lowers", now=now, name=before.name))
    row = granting.open_link(secret, by)
    if signed_in:
        granting.sign_out(granting.By(before.name, before.address, before.device_id))
    known = granting.links_in_force(request.cookies.get(CLIENT_COOKIE, ""), but=str(secret))
    response = answer_value({"ok": True, "job_id": row["job_id"], "expires_at": row["expires_at"]})
    value = ".".join([str(secret), *known][:MAX_LINKS])
    guard.set_cookie(response, CLIENT_COOKIE, value, granting.MAX_DAYS)
    if signed_in:
        guard.drop_cookie(response, DEVICE_COOKIE)
    return response


@bp.post("/api/sign-out")
def sign_out() -> Response:
    """End the credential that this browser shows; nothing to end on the server's own machine."""
    body_object()
    ended = guard.who().way == COOKIE and granting.sign_out(guard.by())
    response = answer_value({"ok": True, "signed_out": ended})
    if ended:
        g.who = None  # its cookie is not given again
        guard.drop_cookie(response, DEVICE_COOKIE)
    return response


@bp.get("/office/open")
def client_page() -> Response:
    """Show the page that opens a client's link; the secret stands behind the # and is in no log."""
    return page("office/open.html")

"""The office lets phones and clients in, sees who there is, ends it, and reads the audit log."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import segno
from flask import Blueprint, Response, current_app, request
from sqlalchemy import Connection

from .. import addresses
from ..access import granting, guard
from ..access.links import client_link, join_link
from ..access.terms import INVITED_ROLES, SURVEYOR
from ..errors import AppError
from ..intake.jobs import accept_held_back
from ..messages import t
from ..schemas.base import is_uuid
from ..store import access_rows
from ..store.engine import reading
from ..store.job_list import short_length
from ..web.state import state
from .bodies import answer_value
from .jobs import check_job_id, list_jobs
from .joining import body_object
from .office import page

bp = Blueprint("letting_in", __name__)
MAX_LINES = 1000
LINES_SHOWN = 300
_SHOWN = (
    "id",
    "name",
    "role",
    "job_id",
    "jobs",
    "created_at",
    "last_seen_at",
    "last_address",
    "revoked_at",
    "way",
    "expires_at",
)


def link_base() -> str:
    """Return where links lead; AppError, before any secret is made, where no phone could follow them.

    The answer holds the secret, so it goes by HTTPS only, as do those that let somebody in.
    """
    if not current_app.config["ACCESS"]:
        raise AppError("access_off")
    guard.need_https(request)
    if found := current_app.config["PUBLIC_URL"]:
        return str(found)
    try:
        found = addresses.public_url(request.url_root)
    except addresses.NoAddress as why:
        raise AppError("url_unknown") from why
    if addresses.is_loopback(addresses.host_of(found)):
        raise AppError("url_unknown")
    return found


def _known_url() -> str:
    try:
        return link_base()
    except AppError:
        return ""


def qr_image(text: str) -> str:
    """Return a QR code as an address for an image."""
    return str(segno.make(text, error="m", micro=False).svg_data_uri(scale=6, border=4, light="#fff"))


@bp.get("/office/phones")
def phones() -> Response:
    """Show who is let in, and let others in."""
    return page(
        "office/phones.html",
        access=current_app.config["ACCESS"],
        url=_known_url(),
        setup_url=current_app.config["SETUP_URL"],
        setup_qr=qr_image(current_app.config["SETUP_URL"]) if current_app.config["SETUP_URL"] else "",
        fingerprint=current_app.config["CA_FINGERPRINT"],
        roles=INVITED_ROLES,
        devices=granting.devices(),
        own=guard.who().device_id,
        links=granting.links(),
        jobs=[job for job in list_jobs() if not job["removed"]],
    )


@bp.get("/office/audit")
def audit_page() -> Response:
    """Show the latest lines of the audit log."""
    with reading() as connection:
        lines = access_rows.log(connection, LINES_SHOWN)
        names = _job_names(connection, {line["job_id"] for line in lines if line["job_id"]})
    return page("office/audit.html", lines=lines, names=names)


def _job_names(connection: Connection, job_ids: Iterable[str]) -> dict[str, str]:
    """Return how each job is called; where that is no name, or that of several, with as much of its id as
    tells them apart.
    """
    titles = {one.job_id: one.title for one in state().summaries.titles(connection, job_ids, some=True)}
    often, length = Counter(titles.values()), short_length(list(titles))
    return {
        job_id: title
        if title and often[title] == 1
        else t(
            "office.audit.job_named",
            title=title or t("office.job_without_title"),
            id=job_id[:length].rstrip("-"),
        )
        for job_id, title in titles.items()
    }


@bp.post("/api/invitations")
def invite() -> Response:
    """Make an invitation."""
    sent = body_object()
    base, job_id = link_base(), sent.get("job_id") or None
    hours = _number(sent, "hours", granting.INVITATION_HOURS)
    code = granting.invite(str(sent.get("role", SURVEYOR)), sent.get("name", ""), job_id, hours, guard.by())
    link = join_link(base, code)
    return answer_value({"ok": True, "link": link, "qr": qr_image(link), "hours": hours}, 201)


def _number(sent: dict[str, Any], name: str, default: float) -> float:
    value = sent.get(name, default)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise AppError("request_malformed", t("api.must_be_number", name=name), name)
    return value


@bp.get("/api/devices")
def devices() -> Response:
    """List the devices."""
    found: Sequence[Mapping[str, object]] = granting.devices()
    shown = [{name: row[name] for name in _SHOWN} for row in found]
    return answer_value({"ok": True, "devices": shown})


@bp.post("/api/devices/<device_id>/revoke")
def revoke(device_id: str) -> Response:
    """End a device's credential; what it sent stays."""
    body_object()
    granting.revoke(device_id, guard.by())
    return answer_value({"ok": True})


@bp.get("/api/client-links")
def client_links() -> Response:
    """List the client links; their secrets are not here."""
    return answer_value({"ok": True, "links": granting.links()})


@bp.post("/api/jobs/<job_id>/client-links")
def make_client_link(job_id: str) -> Response:
    """Make a client's link to one job."""
    sent = body_object()
    base, days = link_base(), _number(sent, "days", granting.LINK_DAYS)
    secret, row = granting.make_link(check_job_id(job_id), sent.get("name", ""), days, guard.by())
    link = client_link(base, secret)
    return answer_value({"ok": True, "link": link, "id": row["id"], "expires_at": row["expires_at"]}, 201)


@bp.post("/api/client-links/<link_id>/revoke")
def revoke_client_link(link_id: str) -> Response:
    """End a client's link."""
    body_object()
    granting.revoke_link(link_id, guard.by())
    return answer_value({"ok": True})


@bp.post("/api/jobs/<job_id>/beside/accept")
def accept_beside(job_id: str) -> Response:
    """Take the entries that one phone brought under a writer of another's."""
    body_object()
    return answer_value({"ok": True, **accept_held_back(check_job_id(job_id), guard.by())})


@bp.get("/api/audit")
def audit() -> Response:
    """Give the latest lines of the audit log, newest first."""
    job_id = request.args.get("job_id")
    if job_id is not None and not is_uuid(job_id):
        raise AppError("job_not_found")
    text = request.args.get("last", "100")
    last = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0
    if not 1 <= last <= MAX_LINES:
        raise AppError("request_malformed", t("api.audit_last", most=f"{MAX_LINES:,}"), "last")
    with reading() as connection:
        return answer_value({"ok": True, "lines": access_rows.log(connection, last, job_id)})

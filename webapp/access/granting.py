"""Let somebody in, and out again: invitations, devices, client links.  Every change is in the audit log."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict

from sqlalchemy import Connection

from .. import timesource
from ..errors import AppError
from ..messages import any_of, t
from ..schemas.base import is_uuid
from ..store import access_rows, entry_rows
from ..store.engine import reading, writing
from ..store.rows import DeviceRow, InvitationRow, LinkRow
from ..sync.exchange import now_text
from .moments import lies_ahead, link_refused
from .secret import hash_of, is_secret
from .terms import INVITATION_HOURS as INVITATION_HOURS
from .terms import INVITED_ROLES, ROLES
from .terms import LINK_DAYS as LINK_DAYS
from .who import MAX_LINKS, THIS_MACHINE

MAX_DAYS = 366
MAX_NAME = 80


@dataclass(frozen=True)
class By:
    """Who does it, for the log."""

    who: str = THIS_MACHINE
    address: str = ""
    device_id: str | None = None


class DeviceShown(TypedDict):
    """A device as the office and the command line see it: without secrets; ``jobs`` None is all of them."""

    id: str
    name: str
    role: str
    job_id: str | None
    created_at: str
    last_seen_at: str | None
    last_address: str | None
    revoked_at: str | None
    way: str
    expires_at: str | None
    jobs: list[str] | None


class LinkShown(TypedDict):
    """A client's link as the office and the command line see it, without its secret."""

    id: str
    name: str
    job_id: str
    made_at: str
    expires_at: str
    last_seen_at: str | None
    revoked_at: str | None


def later(**span: float) -> str:
    """Return a moment from now, as the database holds it."""
    moment = timesource.now_utc() + datetime.timedelta(**span)
    return moment.isoformat(timespec="milliseconds")


def clean_name(name: object, instead: str) -> str:
    """Return a name on one line, of at most 80 characters."""
    text = " ".join("".join(c if c.isprintable() else " " for c in str(name or "")).split())
    return text[:MAX_NAME] or instead


def check_job(connection: Connection, job_id: object) -> str:
    """Return the id of a job that is here; AppError ``job_not_found`` otherwise."""
    if not is_uuid(job_id) or not entry_rows.heads(connection, str(job_id)):
        raise AppError("job_not_found")
    return str(job_id)


def invite(role: str, name: str, job_id: str | None, hours: float, by: By) -> str:
    """Make an invitation and return its code, which is nowhere else."""
    if role not in INVITED_ROLES:
        raise AppError("request_malformed", t("api.roles", roles=any_of(INVITED_ROLES)), "role")
    if not 0 < hours <= MAX_DAYS * 24:
        raise AppError("request_malformed", t("api.invitation_hours"), "hours")
    if job_id is not None and not ROLES[role].one_job:
        raise AppError("request_malformed", t("api.role_all_jobs"), "job_id")
    code, now = timesource.new_secret(), now_text()
    row = {"code_sha256": hash_of(code), "name": clean_name(name, ""), "role": role, "job_id": job_id}
    with writing() as connection:
        if job_id is not None:
            check_job(connection, job_id)
        row |= {"made_at": now, "expires_at": later(hours=hours), "used_at": None, "device_id": None}
        access_rows.add(connection, access_rows.INVITATION, row)
        note(
            connection, by, "invited", job_id, {"role": role, "name": row["name"], "until": row["expires_at"]}
        )
    return code


def look(code: object) -> InvitationRow:
    """Return what an invitation is for, without using it; AppError says why it is no good."""
    with reading() as connection:
        return good_invitation(connection, code, now_text())


def good_invitation(connection: Connection, code: object, now: str) -> InvitationRow:
    """Return the row of an invitation that lets somebody in now; AppError says why it does not."""
    row = access_rows.invitation(connection, code_sha256=hash_of(str(code))) if is_secret(code) else None
    if row is None:
        raise AppError("invitation_unknown")
    if row["used_at"] is not None:
        raise AppError("invitation_used")
    if row["expires_at"] <= now:
        raise AppError("invitation_expired")
    if lies_ahead(row["made_at"]):
        raise AppError("made_ahead")
    return row


def devices(way: str | None = None) -> list[DeviceShown]:
    """Return every device that was ever let in, those in force first; ``way``: with that kind of secret."""
    with reading() as connection:
        found = access_rows.devices(connection)
        jobs = access_rows.jobs_by_device(connection)
    wanted = [row for row in found if way in (None, row["way"])]
    shown = [shown_device(row, _own_jobs(row, jobs.get(row["id"], ()))) for row in wanted]
    return sorted(shown, key=lambda row: row["revoked_at"] is not None)


def _own_jobs(row: DeviceRow, further: Sequence[str]) -> list[str] | None:
    return sorted({*further, row["job_id"]}) if row["job_id"] else None


def shown_device(row: DeviceRow, jobs: list[str] | None) -> DeviceShown:
    """Return what is shown of a device."""
    return {
        "id": row["id"],
        "name": row["name"],
        "role": row["role"],
        "job_id": row["job_id"],
        "created_at": row["created_at"],
        "last_seen_at": row["last_seen_at"],
        "last_address": row["last_address"],
        "revoked_at": row["revoked_at"],
        "way": row["way"],
        "expires_at": row["expires_at"],
        "jobs": jobs,
    }


def revoke(device_id: str, by: By) -> DeviceRow:
    """End the access of a phone, a browser or a script; what it sent stays."""
    with writing() as connection:
        row = access_rows.device(connection, id=device_id) if is_uuid(device_id) else None
        if row is None:
            raise AppError("device_unknown")
        if row["revoked_at"] is None:
            access_rows.change(connection, access_rows.DEVICE, {"id": device_id}, {"revoked_at": now_text()})
            note(connection, by, "revoked", None, {"device": device_id, "name": row["name"]})
    return row


def sign_out(by: By) -> bool:
    """End one's own credential; what the device sent stays.  False where there is none to end."""
    if by.device_id is None:
        return False
    with writing() as connection:
        standing = {"id": by.device_id, "revoked_at": None}
        ended = access_rows.change(connection, access_rows.DEVICE, standing, {"revoked_at": now_text()})
        if ended:
            note(connection, by, "signed_out", None, {"device": by.device_id, "name": by.who})
    return ended > 0


def make_link(job_id: str, name: str, days: float, by: By) -> tuple[str, LinkRow]:
    """Make a client's link to one job; return its secret, which is nowhere else, and its row."""
    if not 0 < days <= MAX_DAYS:
        raise AppError("request_malformed", t("api.link_days"), "days")
    secret, now = timesource.new_secret(), now_text()
    with writing() as connection:
        check_job(connection, job_id)
        row: LinkRow = {
            "id": timesource.new_id(),
            "name": clean_name(name, t("api.link_name")),
            "job_id": job_id,
            "secret_sha256": hash_of(secret),
            "made_at": now,
            "expires_at": later(days=days),
            "last_seen_at": None,
            "revoked_at": None,
        }
        access_rows.add(connection, access_rows.LINK, row)
        detail = {"link": row["id"], "name": row["name"], "until": row["expires_at"]}
        note(connection, by, "client_link_made", job_id, detail)
    return secret, row


def look_at_link(secret: object) -> None:
    """Refuse a client's link that is not in force, without opening it."""
    with reading() as connection:
        _good_link(connection, secret, now_text())


def _good_link(connection: Connection, secret: object, now: str) -> LinkRow:
    key = hash_of(str(secret)) if is_secret(secret) else ""
    row = access_rows.link(connection, secret_sha256=key)
    if row is None:
        raise AppError("client_link_unknown")
    if code := link_refused(row, now):
        raise AppError(code)
    return row


def open_link(secret: object, by: By) -> LinkRow:
    """Return the row of a client's link that is in force; AppError says why it is not."""
    now = now_text()
    with writing() as connection:
        row = _good_link(connection, secret, now)
        access_rows.change(connection, access_rows.LINK, {"id": row["id"]}, {"last_seen_at": now})
        note(
            connection, By(row["name"], by.address), "client_link_opened", row["job_id"], {"link": row["id"]}
        )
    return row


def links_in_force(cookie: str, but: str) -> list[str]:
    """Return the secrets of a browser's links that still open something, without one of them."""
    now, found = now_text(), []
    with reading() as connection:
        for secret in [s for s in cookie.split(".")[:MAX_LINKS] if is_secret(s) and s != but]:
            row = access_rows.link(connection, secret_sha256=hash_of(secret))
            if row and link_refused(row, now) is None:
                found.append(secret)
    return found


def links() -> list[LinkShown]:
    """Return every client link that was ever made."""
    with reading() as connection:
        return [_shown_link(row) for row in access_rows.links(connection)]


def _shown_link(row: LinkRow) -> LinkShown:
    return {
        "id": row["id"],
        "name": row["name"],
        "job_id": row["job_id"],
        "made_at": row["made_at"],
        "expires_at": row["expires_at"],
        "last_seen_at": row["last_seen_at"],
        "revoked_at": row["revoked_at"],
    }


def revoke_link(link_id: str, by: By) -> LinkRow:
    """End a client's link."""
    with writing() as connection:
        row = access_rows.link(connection, id=link_id) if is_uuid(link_id) else None
        if row is None:
            raise AppError("client_link_unknown")
        if row["revoked_at"] is None:
            access_rows.change(connection, access_rows.LINK, {"id": link_id}, {"revoked_at": now_text()})
            note(connection, by, "client_link_revoked", row["job_id"], {"link": link_id, "name": row["name"]})
    return row


def note_photos(sent: Sequence[tuple[str, int]], by: By) -> None:
    """Write down who sent photos: hash, bytes.  Which job they belong to, their records say."""
    if not sent:
        return
    with writing() as connection:
        for sha256, size_bytes in sent:
            note(connection, by, "sent_photo", None, {"sha256": sha256, "size_bytes": size_bytes})


def note(
    connection: Connection, by: By, action: str, job_id: str | None, detail: Mapping[str, object]
) -> None:
    """Write a line of the audit log."""
    access_rows.note(
        connection,
        at=now_text(),
        who=by.who,
        address=by.address,
        device_id=by.device_id,
        action=action,
        job_id=job_id,
        detail=detail,
    )

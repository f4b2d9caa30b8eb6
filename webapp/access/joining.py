"""A phone takes its invitation, once, however often its answer is lost.

The phone makes a secret, keeps it and sends it with the invitation.  The credential that it gets follows from
both, so a repeat gets the same again, and the used invitation with any other secret is refused.  The same
secret with a later invitation is the same phone, even if it has lost its cookie.  Phones of earlier versions
send no secret, and their credential is drawn by lot.
"""

import hmac
from base64 import urlsafe_b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import TypedDict

from sqlalchemy import Connection

from .. import timesource
from ..errors import AppError
from ..messages import t
from ..store import access_rows
from ..store.engine import writing
from ..store.rows import DeviceRow
from ..sync.exchange import now_text
from .granting import By, clean_name, good_invitation, note
from .permissions import rights_of
from .secret import hash_of, is_secret
from .who import COOKIE


class Joined(TypedDict):
    """The device that an invitation made, as its phone is told."""

    id: str
    name: str
    role: str
    job_id: str | None
    jobs: list[str] | None


@dataclass(frozen=True)
class Access:
    """What a device may do: its role, and in which jobs; ``jobs`` None is all of them."""

    role: str
    jobs: frozenset[str] | None


@dataclass(frozen=True)
class Request:
    """What a phone sends with its invitation; ``device_id`` is the device whose cookie it shows, good or not.

    ``instead``: what the invitation gives takes the place of what the device has, even if that is more.
    """

    code: object
    name: object = ""
    secret: object = None
    device_id: str | None = None
    instead: bool = False


def together(now: Access, given: Access) -> Access | None:
    """Return what a device may do that takes an invitation besides what it has.

    None where it would lose something by it, or where no single role gives what both give: then a person is
    asked.
    """
    if _covers(given, now):
        return given
    if now.role != given.role or now.jobs is None or given.jobs is None:
        return None
    return Access(now.role, now.jobs | given.jobs)


def _covers(one: Access, other: Access) -> bool:
    """Say whether the one may do everything that the other may."""
    jobs = one.jobs is None or (other.jobs is not None and one.jobs >= other.jobs)
    return jobs and rights_of(one.role) >= rights_of(other.role)


def credential_of(code: str, secret: str) -> str:
    """Return the credential that an invitation and a phone's secret make: 256 bits, as any secret here."""
    mac = hmac.digest(secret.encode(), b"fallbook credential of " + code.encode(), sha256)
    return urlsafe_b64encode(mac).rstrip(b"=").decode()


def redeem(sent: Request, by: By) -> tuple[str, Joined]:
    """Use an invitation: return the credential and the device it is for, with its ``jobs``.

    A phone that shows an earlier credential of its own, ended or not, or its earlier secret, stays the same
    device: it goes on owning the writers that it has used.
    """
    phone = _phone_secret(sent.secret)
    credential = credential_of(str(sent.code), phone) if phone and is_secret(sent.code) else ""
    now = now_text()
    with writing() as connection:
        if credential and (again := _again(connection, sent.code, credential)):
            return credential, again
        row = good_invitation(connection, sent.code, now)
        device = _device_of(connection, sent.device_id, phone)
        given = Access(row["role"], None if row["job_id"] is None else frozenset([row["job_id"]]))
        access = _agreed(connection, device, given, sent.instead)
        device_id = device["id"] if device else timesource.new_id()
        free = {"code_sha256": row["code_sha256"], "used_at": None}
        used = {"used_at": now, "device_id": device_id}
        if access_rows.change(connection, access_rows.INVITATION, free, used) != 1:
            raise AppError("invitation_used")
        credential = credential or timesource.new_secret()
        joined: Joined = {
            "id": device_id,
            "name": clean_name(sent.name, row["name"] or t("api.phone_without_name")),
            "role": access.role,
            "job_id": min(access.jobs) if access.jobs else None,
            "jobs": _listed(access.jobs),
        }
        made = {
            "name": joined["name"],
            "role": joined["role"],
            "job_id": joined["job_id"],
            "secret_sha256": hash_of(credential),
            "last_seen_at": now,
            "last_address": by.address[:64],
            "revoked_at": None,
        }
        _keep(connection, device_id, made, phone, now)
        access_rows.set_jobs(connection, device_id, access.jobs or (), now)
        as_itself = By(joined["name"], by.address, device_id)
        detail = {"role": access.role, "again": device is not None}
        note(
            connection,
            as_itself,
            "joined",
            row["job_id"],
            detail | ({"instead": True} if sent.instead else {}),
        )
    return credential, joined


def _phone_secret(secret: object) -> str:
    """Return the secret that a phone made; empty where it sent none, as earlier versions do."""
    if secret is None:
        return ""
    if not is_secret(secret):
        raise AppError("request_malformed", t("api.phone_secret"), "secret")
    return str(secret)


def _again(connection: Connection, code: object, credential: str) -> Joined | None:
    """Return the device of a used invitation, where its credential is the one that is asked for again."""
    row = access_rows.invitation(connection, code_sha256=hash_of(str(code)))
    if row is None or row["used_at"] is None or row["device_id"] is None:
        return None
    device = access_rows.device(connection, id=row["device_id"])
    if device is None or device["revoked_at"] is not None or device["way"] != COOKIE:
        return None
    if not hmac.compare_digest(device["secret_sha256"], hash_of(credential)):
        return None
    return {
        "id": device["id"],
        "name": device["name"],
        "role": device["role"],
        "job_id": device["job_id"],
        "jobs": _listed(access_rows.jobs_of(connection, device)),
    }


def _device_of(connection: Connection, device_id: str | None, phone: str) -> DeviceRow | None:
    """Return the device that a phone was before, by its cookie or else by its secret."""
    if device_id is not None:
        return access_rows.device(connection, id=device_id, way=COOKIE)
    if phone:
        return access_rows.device(connection, phone_sha256=hash_of(phone), way=COOKIE)
    return None


def _agreed(connection: Connection, device: DeviceRow | None, given: Access, instead: bool) -> Access:
    """Return what a device may do from now on; AppError ``join_lowers`` where somebody has to be asked."""
    if device is None or device["revoked_at"] is not None or instead:
        return given
    now = Access(device["role"], access_rows.jobs_of(connection, device))
    found = together(now, given)
    if found is None:
        raise AppError("join_lowers", t("api.join_lowers", now=words_of(now), then=words_of(given)))
    return found


def words_of(access: Access) -> str:
    """Return what somebody may do, for people."""
    if access.jobs is None:
        return t(f"api.access_{access.role}")
    return t(f"api.access_{access.role}_jobs", n=len(access.jobs))


def _keep(connection: Connection, device_id: str, made: Mapping[str, object], phone: str, now: str) -> None:
    own = {"phone_sha256": hash_of(phone)} if phone else {}
    if own:  # a phone is one device: it moves where a cookie says which
        access_rows.change(connection, access_rows.DEVICE, dict(own), {"phone_sha256": None})
    if access_rows.change(connection, access_rows.DEVICE, {"id": device_id}, {**made, **own}) == 0:
        access_rows.add(
            connection, access_rows.DEVICE, {**made, **own, "id": device_id, "created_at": now, "way": COOKIE}
        )


def _listed(jobs: frozenset[str] | None) -> list[str] | None:
    return None if jobs is None else sorted(jobs)

"""Credentials of scripts: made, listed, ended.  A script is a device; its secret is a bearer token."""

from .. import timesource
from ..errors import AppError
from ..messages import any_of, t
from ..store import access_rows
from ..store.engine import writing
from ..store.rows import DeviceRow
from ..sync.exchange import now_text
from .bearer import PREFIX
from .granting import MAX_DAYS, By, DeviceShown, check_job, clean_name, devices, later, note, shown_device
from .secret import hash_of
from .terms import CREDENTIAL_DAYS as CREDENTIAL_DAYS
from .terms import ROLES
from .who import BEARER


def add(role: str, name: str, job_id: str | None, days: float | None, by: By) -> tuple[str, DeviceShown]:
    """Make a credential; return its token, which is nowhere else, and its row.  ``days`` None: no end."""
    if role not in ROLES:
        raise AppError("request_malformed", t("api.roles", roles=any_of(ROLES)), "role")
    if days is not None and not 0 < days <= MAX_DAYS:
        raise AppError("request_malformed", t("api.credential_days"), "days")
    if job_id is not None and not ROLES[role].one_job:
        raise AppError("request_malformed", t("api.role_all_jobs"), "job_id")
    token, now = PREFIX + timesource.new_secret(), now_text()
    row: DeviceRow = {
        "id": timesource.new_id(),
        "name": clean_name(name, t("api.script_without_name")),
        "role": role,
        "job_id": job_id,
        "secret_sha256": hash_of(token),
        "created_at": now,
        "last_seen_at": None,
        "last_address": None,
        "revoked_at": None,
        "way": BEARER,
        "expires_at": None if days is None else later(days=days),
        "phone_sha256": None,
    }
    detail = {"device": row["id"], "name": row["name"], "role": role, "until": row["expires_at"]}
    with writing() as connection:
        if job_id is not None:
            check_job(connection, job_id)
        access_rows.add(connection, access_rows.DEVICE, row)
        note(connection, by, "credential_added", job_id, detail)
    return token, shown_device(row, None if job_id is None else [job_id])


def all_credentials() -> list[DeviceShown]:
    """Return every credential that was ever made, those in force first."""
    return devices(BEARER)

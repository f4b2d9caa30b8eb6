"""The credential of a script: a bearer token in the header ``Authorization``, and nowhere else.

Where a request shows one, it alone counts: no cookie, no way in that only this machine has.  That is why
such a request needs no check of its origin: nothing comes with it by itself.
"""

import re

from flask import Request
from sqlalchemy import Connection

from ..store import access_rows
from .moments import lies_ahead
from .secret import SECRET, hash_of
from .terms import NOBODY
from .who import BEARER, Who, by_loopback

PREFIX = "fallbook_"
_SCHEME = re.compile(r"\s*bearer(?![A-Za-z0-9])", re.IGNORECASE)
_TOKEN = re.compile(rf"bearer +({PREFIX}{SECRET.pattern})", re.IGNORECASE)


def shown(request: Request) -> bool:
    """Say whether a request shows a bearer token, good or not."""
    return _SCHEME.match(request.headers.get("Authorization", "")) is not None


def identify(request: Request, connection: Connection, now: str) -> Who:
    """Return whose token a request shows; whatever is not in order is refused."""
    address = request.remote_addr or ""
    if not (request.is_secure or by_loopback(request)):
        return Who(NOBODY, "", address, refused="credential_insecure")
    found = _TOKEN.fullmatch(request.headers.get("Authorization", "").strip())
    row = access_rows.device(connection, secret_sha256=hash_of(found[1])) if found else None
    if row is None or row["way"] != BEARER:
        return Who(NOBODY, "", address, refused="credential_unknown")
    if row["revoked_at"] is not None:
        return Who(NOBODY, row["name"], address, row["id"], refused="credential_ended", way=BEARER)
    if row["expires_at"] is not None and row["expires_at"] <= now:
        return Who(NOBODY, row["name"], address, row["id"], refused="credential_expired", way=BEARER)
    if row["expires_at"] is not None and lies_ahead(row["created_at"]):
        return Who(NOBODY, row["name"], address, row["id"], refused="made_ahead", way=BEARER)
    jobs = access_rows.jobs_of(connection, row)
    return Who(
        row["role"], row["name"], address, row["id"], jobs, last_seen_at=row["last_seen_at"], way=BEARER
    )

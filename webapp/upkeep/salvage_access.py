"""Who had been let in, and the audit log, out of a damaged data folder.

Whoever was let in is brought out as ended: damage may have given back an access that was ended, and nobody
can tell.  A phone that is let in again is then the device that it was, and goes on owning its writers.
Invitations are not brought out: one still open would let somebody in.
"""

import json
import re
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection, insert

from ..schemas.base import is_uuid
from ..schemas.entry import is_writer
from ..store import access_rows
from ..store.rows import DeviceRow, LinkRow
from .sqlite_pages import Row

_HASH = re.compile(r"[0-9a-f]{64}")
_WORD = re.compile(r"[a-z_]{1,40}")
AT_ONCE = 500

Text = str | None
Line = tuple[str, Text, str, str, str, Text, str]  # at, device, who, address, action, job, detail


@dataclass
class FoundAccess:
    """Devices and links by id; rows of three texts, which may be owners of writers or jobs of devices."""

    devices: dict[str, DeviceRow] = field(default_factory=dict)
    links: dict[str, LinkRow] = field(default_factory=dict)
    three: dict[tuple[str, str], str] = field(default_factory=dict)
    lines: set[Line] = field(default_factory=set)

    def take(self, row: Row) -> None:
        """Take a row by its shape; what is of no shape that is known is left."""
        match row:
            case (str(a), str(b), str(since)) if _is_moment(since):
                self.three.setdefault((a, b), since)
            case (str(id_), str(), str(role), _, str(secret), str(made), *_) if (
                8 < len(row) <= 12 and is_uuid(id_) and _WORD.fullmatch(role) and _HASH.fullmatch(secret)
            ):
                if _is_moment(made):
                    self._take_device(id_, row)
            case (str(id_), str(name), str(job_id), str(secret), str(made), str(until), seen, revoked) if (
                is_uuid(id_) and is_uuid(job_id) and _HASH.fullmatch(secret) and _is_moment(made)
            ):
                self.links[id_] = {
                    "id": id_,
                    "name": name[:80],
                    "job_id": job_id,
                    "secret_sha256": secret,
                    "made_at": made,
                    "expires_at": until,
                    "last_seen_at": _text(seen),
                    "revoked_at": _text(revoked),
                }
            case (_, str(at), device, str(who), str(address), str(action), job, str(detail)) if (
                _is_moment(at) and _WORD.fullmatch(action) and _is_object(detail)
            ):
                self.lines.add((at, _text(device), who[:120], address[:64], action, _text(job), detail))

    def _take_device(self, device_id: str, row: Row) -> None:
        values = [_text(value) for value in row] + [None] * (12 - len(row))
        _, name, role, job_id, secret, made, seen, address, revoked, way, expires, phone = values
        self.devices[device_id] = {
            "id": device_id,
            "name": (name or "")[:80],
            "role": (role or "")[:16],
            "job_id": job_id if job_id is None or is_uuid(job_id) else None,
            "secret_sha256": secret or "",
            "created_at": made or "",
            "last_seen_at": seen,
            "last_address": address,
            "revoked_at": revoked,
            "way": way or "cookie",
            "expires_at": expires,
            "phone_sha256": phone if phone and _HASH.fullmatch(phone) else None,
        }


def bring_out(connection: Connection, found: FoundAccess, now: str) -> None:
    """Put it into a database that has none of it, every access ended."""
    secrets: set[str] = set()
    for device in found.devices.values():
        own = {value for value in (device["secret_sha256"], device["phone_sha256"]) if value}
        if not own & secrets:  # two rows with one secret are one, read twice
            secrets |= own
            ended = device["revoked_at"] or now
            access_rows.add(connection, access_rows.DEVICE, {**device, "revoked_at": ended})
    for link in found.links.values():
        if link["secret_sha256"] not in secrets:
            secrets.add(link["secret_sha256"])
            access_rows.add(connection, access_rows.LINK, {**link, "revoked_at": link["revoked_at"] or now})
    _bring_out_owners(connection, found)
    columns = ("at", "device_id", "who", "address", "action", "job_id", "detail")
    lines = [dict(zip(columns, line, strict=True)) for line in sorted(found.lines, key=lambda line: line[0])]
    for start in range(0, len(lines), AT_ONCE):
        connection.execute(insert(access_rows.AUDIT), lines[start : start + AT_ONCE])


def _bring_out_owners(connection: Connection, found: FoundAccess) -> None:
    """Bring out owners of writers and jobs of devices, but those of a device that could not be read."""
    owners: dict[str, tuple[str, str]] = {}
    for (first, second), since in found.three.items():
        if first in found.devices and is_uuid(second):
            row = {"device_id": first, "job_id": second, "since": since}
            access_rows.add(connection, access_rows.DEVICE_JOB, row)
        elif is_writer(first) and (second in found.devices or second == access_rows.RESERVED):
            if first not in owners or owners[first][0] == access_rows.RESERVED:
                owners[first] = (second, since)
    for writer, (device_id, since) in owners.items():
        access_rows.own(connection, [writer], device_id, since)


def _text(value: object) -> Text:
    return value if isinstance(value, str) else None


def _is_moment(text: str) -> bool:
    try:
        return len(text) <= 40 and datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False


def _is_object(text: str) -> bool:
    try:
        return isinstance(json.loads(text), dict)
    except ValueError:
        return False

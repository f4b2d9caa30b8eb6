"""Queries on devices, invitations, client links, owners of writers and the audit log."""

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import cast

from sqlalchemy import Connection, Table, delete, insert, or_, select, update

from .models import Audit, ClientLink, Device, DeviceJob, Entry, Invitation, WriterOwner
from .rows import AuditRow, DeviceRow, InvitationRow, LinkRow

DEVICE: Table = Device.__table__  # type: ignore[assignment]
INVITATION: Table = Invitation.__table__  # type: ignore[assignment]
LINK: Table = ClientLink.__table__  # type: ignore[assignment]
DEVICE_JOB: Table = DeviceJob.__table__  # type: ignore[assignment]
RESERVED = ""  # the owner of a writer that came by a file: the phone that it names, once it comes itself
ENTRY: Table = Entry.__table__  # type: ignore[assignment]
OWNER: Table = WriterOwner.__table__  # type: ignore[assignment]
AUDIT: Table = Audit.__table__  # type: ignore[assignment]
_AT_ONCE = 500


def add(connection: Connection, table: Table, row: Mapping[str, object]) -> None:
    """Store one new row."""
    connection.execute(insert(table), row)


def change(
    connection: Connection, table: Table, key: Mapping[str, object], values: Mapping[str, object]
) -> int:
    """Change the rows that ``key`` names and return how many there were."""
    where = [table.c[name] == value for name, value in key.items()]
    return connection.execute(update(table).where(*where).values(dict(values))).rowcount


def device(connection: Connection, **key: str) -> DeviceRow | None:
    """Return the one device that ``key`` names, or None."""
    return cast(DeviceRow | None, _find(connection, DEVICE, key))


def invitation(connection: Connection, **key: str) -> InvitationRow | None:
    """Return the one invitation that ``key`` names, or None."""
    return cast(InvitationRow | None, _find(connection, INVITATION, key))


def link(connection: Connection, **key: str) -> LinkRow | None:
    """Return the one client's link that ``key`` names, or None."""
    return cast(LinkRow | None, _find(connection, LINK, key))


def devices(connection: Connection) -> list[DeviceRow]:
    """Return every device, the first that was let in first."""
    return cast(list[DeviceRow], _all(connection, DEVICE, "created_at"))


def links(connection: Connection) -> list[LinkRow]:
    """Return every client's link, the first that was made first."""
    return cast(list[LinkRow], _all(connection, LINK, "made_at"))


def _find(connection: Connection, table: Table, key: Mapping[str, str]) -> object:
    where = [table.c[name] == value for name, value in key.items()]
    row = connection.execute(select(table).where(*where)).mappings().first()
    return dict(row) if row else None


def _all(connection: Connection, table: Table, order: str) -> object:
    query = select(table).order_by(table.c[order], table.c.id)
    return [dict(row) for row in connection.execute(query).mappings()]


def jobs_of(connection: Connection, device: DeviceRow) -> frozenset[str] | None:
    """Return the jobs that a device is limited to; None for one that may see all."""
    if device["job_id"] is None:
        return None
    query = select(DEVICE_JOB.c.job_id).where(DEVICE_JOB.c.device_id == device["id"])
    return frozenset(connection.execute(query).scalars()) | {device["job_id"]}


def jobs_by_device(connection: Connection) -> dict[str, list[str]]:
    """Return the jobs of every device that is limited to some."""
    found: dict[str, list[str]] = {}
    for device_id, job_id in connection.execute(select(DEVICE_JOB.c.device_id, DEVICE_JOB.c.job_id)):
        found.setdefault(device_id, []).append(job_id)
    return found


def set_jobs(connection: Connection, device_id: str, jobs: Iterable[str], now: str) -> None:
    """Limit a device to these jobs; those that it had keep the time since when."""
    wanted = set(jobs)
    mine = DEVICE_JOB.c.device_id == device_id
    had = set(connection.execute(select(DEVICE_JOB.c.job_id).where(mine)).scalars())
    if gone := sorted(had - wanted):
        connection.execute(delete(DEVICE_JOB).where(mine, DEVICE_JOB.c.job_id.in_(gone)))
    if new := [{"device_id": device_id, "job_id": job_id, "since": now} for job_id in sorted(wanted - had)]:
        connection.execute(insert(DEVICE_JOB), new)


def owners(connection: Connection, writers: Iterable[str]) -> dict[str, str]:
    """Return the owner of each of ``writers`` that has one."""
    wanted, found = sorted(set(writers)), {}
    for start in range(0, len(wanted), _AT_ONCE):
        some = OWNER.c.writer.in_(wanted[start : start + _AT_ONCE])
        rows = connection.execute(select(OWNER.c.writer, OWNER.c.device_id).where(some))
        found.update({writer: device_id for writer, device_id in rows})
    return found


def writers_of_one_job(connection: Connection, writers: Iterable[str]) -> set[str]:
    """Return those of ``writers`` that belong to a device which may see one job only."""
    bound = set(connection.execute(select(DEVICE.c.id).where(DEVICE.c.job_id.is_not(None))).scalars())
    return {writer for writer, device_id in owners(connection, writers).items() if device_id in bound}


def phones_and_devices(connection: Connection, device_id: str, phone: str) -> set[tuple[str, str]]:
    """Return which phone used which device's credential, as far as it is about either: (phone, device)."""
    first = ENTRY.c.number == 1
    about = or_(OWNER.c.device_id == device_id, ENTRY.c.body.contains(json.dumps(phone), autoescape=True))
    joined = select(OWNER.c.device_id, ENTRY.c.body).join(ENTRY, ENTRY.c.writer == OWNER.c.writer)
    rows = connection.execute(joined.where(first, OWNER.c.device_id != RESERVED, about))
    return {(str(json.loads(body).get("device_id")), owner) for owner, body in rows}


def reserve(connection: Connection, writers: Iterable[str], now: str) -> None:
    """Keep writers that have no owner for the phone that their first entry names."""
    wanted = set(writers)
    own(connection, sorted(wanted - owners(connection, wanted).keys()), RESERVED, now)


def take_over(connection: Connection, writers: Sequence[str], device_id: str, now: str) -> None:
    """Give writers that are reserved to the device of their phone."""
    for writer in writers:
        change(
            connection,
            OWNER,
            {"writer": writer, "device_id": RESERVED},
            {"device_id": device_id, "since": now},
        )


def own(connection: Connection, writers: Sequence[str], device_id: str, now: str) -> None:
    """Make a device the owner of writers that have none."""
    if writers:
        rows = [{"writer": writer, "device_id": device_id, "since": now} for writer in writers]
        connection.execute(insert(OWNER), rows)


def note(
    connection: Connection,
    *,
    at: str,
    who: str,
    address: str,
    action: str,
    device_id: str | None = None,
    job_id: str | None = None,
    detail: Mapping[str, object] | None = None,
) -> None:
    """Write one line of the audit log, in the transaction of what it tells of."""
    row = {"at": at, "who": who[:120], "address": address[:64], "action": action}
    text = json.dumps(detail or {}, separators=(",", ":"), sort_keys=True)
    row |= {"device_id": device_id, "job_id": job_id, "detail": text}  # type: ignore[dict-item]
    connection.execute(insert(AUDIT), row)


def log(connection: Connection, most: int, job_id: str | None = None) -> list[AuditRow]:
    """Return the latest lines of the audit log, newest first."""
    query = select(AUDIT).order_by(AUDIT.c.id.desc()).limit(most)
    if job_id is not None:
        query = query.where(AUDIT.c.job_id == job_id)
    rows = [dict(row) for row in connection.execute(query).mappings()]
    return cast(list[AuditRow], [row | {"detail": json.loads(row["detail"])} for row in rows])

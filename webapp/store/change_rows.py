"""The log of changes: what went on in a job, in the list of jobs, or among photos, since a stamp.

::

    note_entries(connection, rows)      new entries: their writers went on, their jobs may have new titles
    note_jobs(connection, job_ids)      other changes to how jobs stand in the list
    note_photos(connection, hashes)     photos that came, were taken away or given back
    stamp(connection, scope)            the stamp of the moment; None while nothing has been noted
    since(connection, scope, stamp)     what went on since, and from where; None if the stamp is not known

What is held is always read from the entries.  The log only says where to look, so where it is damaged there
are no stamps.  A batch that cannot be noted makes all stamps so far unknown (on SQLite by the number that a
file has for its user, which lies on another page).
"""

import re
import secrets
from collections.abc import Iterable, Mapping

from sqlalchemy import Connection, insert, text
from sqlalchemy.exc import DBAPIError

from ..errors import AppError
from . import damage
from .models import Change
from .rows import EntryRow

JOBS = "jobs"  # the scope of the list of jobs; that of a job is its id
PHOTOS = "photos"  # the scope of all photos, whatever job they are of
STAMP = re.compile(r"([1-9][0-9]{0,17})-([0-9a-f]{16})-([0-9a-f]{1,8})")
BATCHES = 20_000  # of one scope; who was away for longer gets the whole
ITEMS = 5_000  # told at once; of more the whole is no longer
_START = ""  # the item of a batch that only makes a stamp

_LAST = text("""
SELECT sequence, name FROM change WHERE scope = :scope ORDER BY sequence DESC LIMIT 1""")
_NAME = text("SELECT name FROM change WHERE scope = :scope AND sequence = :sequence LIMIT 1")
_SINCE = text("""
SELECT item, before FROM change WHERE scope = :scope AND sequence > :sequence
ORDER BY sequence DESC LIMIT :most""")
_FORGET = text("DELETE FROM change WHERE scope = :scope AND sequence <= :sequence")
_ALONE = text("SELECT pg_advisory_xact_lock(hashtextextended(:scope, 0))")


def note_entries(connection: Connection, rows: Iterable[EntryRow]) -> None:
    """Note the writers that some new entries are of, and the jobs whose own record they change."""
    before: dict[str, dict[str, int]] = {}
    listed: set[str] = set()
    for row in rows:
        writers = before.setdefault(row["job_id"], {})
        number = row["number"] - 1
        if writers.setdefault(row["writer"], number) > number:
            writers[row["writer"]] = number
        if row["kind"] == "job":
            listed.add(row["job_id"])
    for job_id in sorted(before):
        _note(connection, job_id, before[job_id])
    note_jobs(connection, listed)


def note_jobs(connection: Connection, job_ids: Iterable[str]) -> None:
    """Note that jobs stand in the list otherwise than before: new, renamed, removed, there again."""
    if items := dict.fromkeys(job_ids, 0):
        _note(connection, JOBS, items)


def note_photos(connection: Connection, hashes: Iterable[str]) -> None:
    """Note photos of which it changed whether they are here, or may be."""
    if items := dict.fromkeys(hashes, 0):
        _note(connection, PHOTOS, items)


def begin(connection: Connection, scopes: Iterable[str]) -> None:
    """Give scopes of which nothing has been noted a first stamp."""
    for scope in sorted(scopes):
        if stamp(connection, scope) is None:
            _note(connection, scope, {_START: 0})


def _note(connection: Connection, scope: str, items: Mapping[str, int]) -> None:
    if connection.dialect.name == "postgresql":
        # Whoever reads a sequence must find all that come before it: they are given one after another.
        connection.execute(_ALONE, {"scope": scope})
    try:
        _write(connection, scope, items)
    except DBAPIError as error:
        if connection.dialect.name != "sqlite" or not damage.is_damage(error):
            raise
        connection.exec_driver_sql(f"PRAGMA user_version = {secrets.randbits(30) + 1}")


def _write(connection: Connection, scope: str, items: Mapping[str, int]) -> None:
    last = connection.execute(_LAST, {"scope": scope}).first()
    sequence = (last.sequence if last else 0) + 1
    batch = {"scope": scope, "sequence": sequence, "name": secrets.token_hex(8)}
    connection.execute(insert(Change), [batch | {"item": i, "before": n} for i, n in items.items()])
    if sequence > BATCHES:
        connection.execute(_FORGET, {"scope": scope, "sequence": sequence - BATCHES})


def stamp(connection: Connection, scope: str) -> str | None:
    """Return the stamp of the moment; None while nothing has been noted, or where the log cannot be read."""
    try:
        with damage.one_job(connection):
            last = connection.execute(_LAST, {"scope": scope}).first()
            return f"{last.sequence}-{last.name}-{_epoch(connection)}" if last else None
    except AppError:
        return None


def since(connection: Connection, scope: str, known: str) -> dict[str, int] | None:
    """Return what went on since a stamp, and the number from which; None if the stamp is not of this log."""
    parts = STAMP.fullmatch(known)
    if parts is None:
        return None
    place = {"scope": scope, "sequence": int(parts[1])}
    try:
        with damage.one_job(connection):
            if connection.execute(_NAME, place).scalar() != parts[2] or _epoch(connection) != parts[3]:
                return None
            rows = connection.execute(_SINCE, place | {"most": ITEMS + 1}).all()
    except AppError:
        return None
    if len(rows) > ITEMS:
        return None
    return {item: number for item, number in rows if item != _START}  # the earliest comes last, and stays


def place_of(known: str) -> int:
    """Return where in its log a stamp stands; -1 if it is none."""
    parts = STAMP.fullmatch(known)
    return int(parts[1]) if parts else -1


def _epoch(connection: Connection) -> str:
    if connection.dialect.name != "sqlite":
        return "0"
    return f"{connection.exec_driver_sql('PRAGMA user_version').scalar_one():x}"

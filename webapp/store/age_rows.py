"""Queries on what is cleared away by age, and on what must not be."""

import json
import re
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, Select, delete, or_, select

from ..records.erasure import QUARANTINED
from .access_rows import AUDIT, INVITATION
from .entry_rows import ENTRY
from .erasure_rows import ERASURE, HIDDEN
from .held_back_rows import HELD_BACK

LINES_AT_ONCE = 10_000  # of the audit log: nobody waits long for his turn to write
_ROWS_AT_ONCE = 200
_HASH = re.compile(r"[0-9a-f]{64}")


def named(connection: Connection, hashes: set[str]) -> set[str]:
    """Return those of some photos that an entry speaks of, be it kept, rejected, held back or hidden."""
    if not hashes:
        return set()
    found: set[str] = set()
    for query in _speaking():
        for body in connection.execute(query.execution_options(yield_per=_ROWS_AT_ONCE)).scalars():
            found |= hashes.intersection(_HASH.findall(body))
    return found


def _speaking() -> Iterator[Select[Any]]:
    yield select(ENTRY.c.body).where(or_(ENTRY.c.kind == "photo", ENTRY.c.aside.is_not(None)))
    yield select(HELD_BACK.c.body)
    yield select(HIDDEN.c.body)


def old_invitations(connection: Connection, before: str) -> list[str]:
    """Return the invitations that were used before a moment, or expired before it unused."""
    unused = INVITATION.c.used_at.is_(None)
    over = or_(INVITATION.c.used_at < before, unused & (INVITATION.c.expires_at < before))
    return list(connection.execute(select(INVITATION.c.code_sha256).where(over)).scalars())


def forget_invitations(connection: Connection, before: str) -> int:
    """Forget the same, and return how many there were."""
    old = old_invitations(connection, before)
    for code_sha256 in old:
        connection.execute(delete(INVITATION).where(INVITATION.c.code_sha256 == code_sha256))
    return len(old)


def old_lines(connection: Connection, before: str) -> list[int]:
    """Return the lines of the audit log from before a moment, but those of erasures that can be undone."""
    undoable = set(connection.execute(select(ERASURE.c.id).where(ERASURE.c.state == QUARANTINED)).scalars())
    query = select(AUDIT.c.id, AUDIT.c.detail).where(AUDIT.c.at < before).order_by(AUDIT.c.id)
    found: list[int] = []
    with connection.execute(query.execution_options(yield_per=_ROWS_AT_ONCE)) as rows:
        for line, detail in rows:
            if not undoable or json.loads(detail).get("erasure") not in undoable:
                found.append(line)
            if len(found) == LINES_AT_ONCE:
                break
    return found


def forget_lines(connection: Connection, lines: list[int]) -> None:
    """Forget some lines of the audit log."""
    for start in range(0, len(lines), _ROWS_AT_ONCE):
        some = lines[start : start + _ROWS_AT_ONCE]
        connection.execute(delete(AUDIT).where(AUDIT.c.id.in_(some)))

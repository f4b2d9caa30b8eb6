"""Queries on the eraser's acts, and on what they hide until they can no longer be undone."""

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, TypedDict, cast

from sqlalchemy import Connection, Table, and_, delete, func, insert, inspect, not_, or_, select, update

from .. import timesource
from ..records.erasure import CODE, EXPUNGED, Act
from .entry_rows import ENTRY
from .held_back_rows import HELD_BACK
from .models import ErasedEntry, ErasedPhoto, Erasure, ServerKey
from .rows import EntryRow, HeldBackRow

ERASURE: Table = Erasure.__table__  # type: ignore[assignment]
HIDDEN: Table = ErasedEntry.__table__  # type: ignore[assignment]
PHOTOS: Table = ErasedPhoto.__table__  # type: ignore[assignment]
KEY: Table = ServerKey.__table__  # type: ignore[assignment]
KEPT, GOING, GONE = "kept", "going", "gone"
NAME = "erasures"
# What the eraser left says so in why it stands aside, as that is stored.
IS_ERASED = ENTRY.c.aside.contains(json.dumps({"code": CODE})[1:-1], autoescape=True)
_AT_ONCE = 200
_OWN = ("job_id", "writer", "number")
REWRITTEN = ("entry", "clash", "erased_entry")


class HiddenRow(TypedDict):
    """What an act keeps beside: an entry, or what was held back under its name."""

    erasure_id: str
    place: str
    job_id: str
    writer: str
    number: int
    sha256: str
    body: str
    aside: str | None
    received_at: str


class ErasedPhotoRow(TypedDict):
    """A photo that an act took away; without a size one that was not here."""

    erasure_id: str
    sha256: str
    state: str
    size_bytes: int | None
    media_type: str | None
    received_at: str | None


def key(connection: Connection) -> bytes:
    """Return the key that proves acts, made when it is first asked for."""
    found = connection.execute(select(KEY.c.secret).where(KEY.c.name == NAME)).scalar()
    if found is None:
        found = timesource.new_secret()
        put_key(connection, found)
    return found.encode()


def put_key(connection: Connection, secret: str) -> None:
    """Store the key, in the place of the one that is here."""
    connection.execute(delete(KEY).where(KEY.c.name == NAME))
    connection.execute(insert(KEY), {"name": NAME, "secret": secret})


def known_key(connection: Connection) -> bytes | None:
    """Return the key, if there is one."""
    found = connection.execute(select(KEY.c.secret).where(KEY.c.name == NAME)).scalar()
    return None if found is None else found.encode()


def acts(connection: Connection, job_ids: Iterable[str] | None = None) -> list[Act]:
    """Return the acts of some jobs, or all, in the order of their making."""
    if job_ids is None:
        return [
            _act(body) for body in connection.execute(select(ERASURE.c.body).order_by(ERASURE.c.id)).scalars()
        ]
    wanted = sorted(set(job_ids))
    found: list[str] = []
    for start in range(0, len(wanted), _AT_ONCE):
        some = ERASURE.c.job_id.in_(wanted[start : start + _AT_ONCE])
        found += connection.execute(select(ERASURE.c.body).where(some).order_by(ERASURE.c.id)).scalars()
    return [_act(body) for body in found]


def states(connection: Connection, job_ids: Iterable[str]) -> dict[str, dict[str, str]]:
    """Return the state of every act of some jobs, by job."""
    found: dict[str, dict[str, str]] = {}
    query = select(ERASURE.c.job_id, ERASURE.c.id, ERASURE.c.state)
    wanted = sorted(set(job_ids))
    for start in range(0, len(wanted), _AT_ONCE):
        some = query.where(ERASURE.c.job_id.in_(wanted[start : start + _AT_ONCE]))
        for job_id, act_id, state in connection.execute(some):
            found.setdefault(job_id, {})[act_id] = state
    return found


def _act(body: str) -> Act:
    return Act(**json.loads(body))


def find(connection: Connection, act_id: str) -> Act | None:
    """Return an act by its id."""
    body = connection.execute(select(ERASURE.c.body).where(ERASURE.c.id == act_id)).scalar()
    return None if body is None else _act(body)


def put(connection: Connection, act: Act) -> None:
    """Store an act in the place of its earlier state."""
    connection.execute(delete(ERASURE).where(ERASURE.c.id == act.id))
    row: dict[str, object] = {"id": act.id, "job_id": act.job_id, "state": act.state, "until": act.until}
    row["cleared"] = int(act.state != EXPUNGED)
    connection.execute(insert(ERASURE), row | {"body": json.dumps(act.as_json())})


def uncleared(connection: Connection) -> list[str]:
    """Return the acts of which something may be left in unused pages."""
    return list(connection.execute(select(ERASURE.c.id).where(ERASURE.c.cleared == 0)).scalars())


def set_cleared(connection: Connection, act_ids: Iterable[str]) -> None:
    """Note that nothing of some acts is left."""
    for act_id in act_ids:
        connection.execute(update(ERASURE).where(ERASURE.c.id == act_id).values(cleared=1))


def entries_of(connection: Connection, act: Act) -> Iterator[EntryRow]:
    """Yield the rows of the entries that an act names, some at a time."""
    for where in _spans(act, ENTRY):
        yield from [
            cast(EntryRow, dict(row)) for row in connection.execute(select(ENTRY).where(where)).mappings()
        ]


def entry_of(connection: Connection, job_id: str, writer: str, number: int) -> EntryRow | None:
    """Return the row of one entry."""
    own = [ENTRY.c.job_id == job_id, ENTRY.c.writer == writer, ENTRY.c.number == number]
    row = connection.execute(select(ENTRY).where(*own)).mappings().first()
    return cast(EntryRow, dict(row)) if row else None


def live_counts(connection: Connection, job_ids: Iterable[str]) -> dict[str, int]:
    """Return how many entries that are not erased some jobs have, by job."""
    found: dict[str, int] = {}
    live = or_(ENTRY.c.aside.is_(None), not_(IS_ERASED))
    query = select(ENTRY.c.job_id, func.count()).where(live).group_by(ENTRY.c.job_id)
    wanted = sorted(set(job_ids))
    for start in range(0, len(wanted), _AT_ONCE):
        some = query.where(ENTRY.c.job_id.in_(wanted[start : start + _AT_ONCE]))
        found |= {job_id: number for job_id, number in connection.execute(some)}
    return found


def held_back_of(connection: Connection, act: Act) -> Iterator[HeldBackRow]:
    """Yield what was held back under the names that an act names."""
    for where in _spans(act, HELD_BACK):
        yield from [
            cast(HeldBackRow, dict(row))
            for row in connection.execute(select(HELD_BACK).where(where)).mappings()
        ]


def _spans(act: Act, table: Table) -> Iterator[Any]:
    pairs = [(writer, first, last) for writer, spans in act.spans.items() for first, last in spans]
    for start in range(0, len(pairs), _AT_ONCE):
        some = [
            and_(table.c.writer == writer, table.c.number.between(first, last))
            for writer, first, last in pairs[start : start + _AT_ONCE]
        ]
        yield and_(table.c.job_id == act.job_id, or_(*some))


def hide(connection: Connection, rows: Sequence[HiddenRow]) -> None:
    """Keep rows whole beside."""
    if rows:
        connection.execute(insert(HIDDEN), [dict(row) for row in rows])


def hidden(connection: Connection, act_id: str) -> list[HiddenRow]:
    """Return what an act keeps beside."""
    return [
        cast(HiddenRow, dict(row))
        for row in connection.execute(select(HIDDEN).where(HIDDEN.c.erasure_id == act_id)).mappings()
    ]


def drop_hidden(connection: Connection, act_id: str) -> None:
    """Forget what an act kept beside."""
    connection.execute(delete(HIDDEN).where(HIDDEN.c.erasure_id == act_id))


def rewrite(connection: Connection, row: EntryRow) -> None:
    """Put a row of an entry in the place of the one with its identity."""
    values: dict[str, object] = {**row}
    own = [ENTRY.c[name] == values.pop(name) for name in _OWN]
    connection.execute(update(ENTRY).where(*own).values(values))


def add_photo(connection: Connection, row: ErasedPhotoRow) -> None:
    """Note a photo that an act took away."""
    own = [PHOTOS.c.erasure_id == row["erasure_id"], PHOTOS.c.sha256 == row["sha256"]]
    connection.execute(delete(PHOTOS).where(*own))
    connection.execute(insert(PHOTOS), dict(row))


def photos_of(connection: Connection, act_id: str) -> list[ErasedPhotoRow]:
    """Return the photos that an act took away."""
    return [
        cast(ErasedPhotoRow, dict(row))
        for row in connection.execute(select(PHOTOS).where(PHOTOS.c.erasure_id == act_id)).mappings()
    ]


def set_photos(connection: Connection, act_id: str, state: str) -> None:
    """Note of all photos of an act how far they are; of those that go nothing else is kept."""
    connection.execute(update(PHOTOS).where(PHOTOS.c.erasure_id == act_id).values(state=state))


def photos_going(connection: Connection) -> list[str]:
    """Return the photos whose files are to be deleted, but for those that another act may still give back."""
    found = {state: _photos_at(connection, state) for state in (GOING, KEPT)}
    return sorted(found[GOING] - found[KEPT])


def _photos_at(connection: Connection, state: str) -> set[str]:
    return set(connection.execute(select(PHOTOS.c.sha256).where(PHOTOS.c.state == state)).scalars())


def kept_photos(connection: Connection) -> dict[str, int]:
    """Return the photos that acts hide and may give back, each with its size [bytes].

    The database of an earlier version, which is only read, may have no such table.
    """
    if not inspect(connection).has_table(PHOTOS.name):
        return {}
    query = select(PHOTOS.c.sha256, PHOTOS.c.size_bytes)
    query = query.where(PHOTOS.c.state == KEPT, PHOTOS.c.size_bytes.is_not(None))
    return {sha256: size_bytes for sha256, size_bytes in connection.execute(query)}


def photo_is_gone(connection: Connection, sha256: str) -> None:
    """Note that the file of a photo was deleted."""
    where = [PHOTOS.c.sha256 == sha256, PHOTOS.c.state == GOING]
    connection.execute(update(PHOTOS).where(*where).values(state=GONE))


def drop_photos(connection: Connection, act_id: str) -> None:
    """Forget which photos an act took away: it was undone."""
    connection.execute(delete(PHOTOS).where(PHOTOS.c.erasure_id == act_id))


def erased_photos(connection: Connection, hashes: Iterable[str]) -> set[str]:
    """Return those of ``hashes`` that a standing act took away."""
    wanted = list(hashes)
    found: set[str] = set()
    for start in range(0, len(wanted), _AT_ONCE):
        some = PHOTOS.c.sha256.in_(wanted[start : start + _AT_ONCE])
        found.update(connection.execute(select(PHOTOS.c.sha256).where(some)).scalars())
    return found

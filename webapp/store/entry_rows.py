"""Queries on entries and those held back.  Each takes the connection of the caller's transaction."""

import json
from collections.abc import Generator, Iterable, Iterator, Sequence
from functools import partial
from operator import itemgetter
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Connection, Table, case, delete, func, insert, select, text
from sqlalchemy.dialects import sqlite
from sqlalchemy.exc import DBAPIError

from ..budgets import BUDGETS
from ..errors import AppError
from ..records import entry
from ..records.entry_budget import frame_of
from ..schemas.entry import KINDS
from . import change_rows, damage
from .models import Entry, HeldBack
from .rows import EntryRow, HeldBackRow

ENTRY: Table = Entry.__table__  # type: ignore[assignment]
HELD_BACK: Table = HeldBack.__table__  # type: ignore[assignment]

# A loose scan of the primary key: one look-up for each writer (job), however many entries it has.
# UNION, not UNION ALL: keys that damage put out of order lead in no circle.
_HEADS = text("""
WITH RECURSIVE w(writer) AS (
  SELECT min(writer) FROM entry WHERE job_id = :job
  UNION
  SELECT (SELECT min(writer) FROM entry WHERE job_id = :job AND writer > w.writer)
  FROM w WHERE w.writer IS NOT NULL)
SELECT writer, (SELECT max(number) FROM entry WHERE job_id = :job AND entry.writer = w.writer)
FROM w WHERE writer IS NOT NULL""")
_JOBS = text("""
WITH RECURSIVE j(job_id) AS (
  SELECT min(job_id) FROM entry
  UNION
  SELECT (SELECT min(job_id) FROM entry WHERE job_id > j.job_id) FROM j WHERE j.job_id IS NOT NULL)
SELECT job_id FROM j WHERE job_id IS NOT NULL""")
ROWS_AT_ONCE = 100  # each may have as many bytes as an entry
_VALUES = itemgetter(*ENTRY.columns.keys())
_ADD = str(insert(ENTRY).compile(dialect=sqlite.dialect()))  # question marks, in the order of the columns
_HEAD = text("SELECT max(number) FROM entry WHERE job_id = :job AND writer = :writer")
_BEYOND = text("""
SELECT number, CASE WHEN length(body) <= :most THEN body END, aside, sha256 FROM entry
WHERE job_id = :job AND writer = :writer AND number > :number ORDER BY number LIMIT :limit
""").execution_options(yield_per=ROWS_AT_ONCE)
_KEPT_AFTER = text("""
SELECT number, body, sha256 FROM entry
WHERE job_id = :job AND writer = :writer AND number > :number AND kind = :kind AND aside IS NULL
ORDER BY number""")

# What the index knows of a job's rows; a page of the table that lost some cannot hide them.
_WITNESS = text("""
SELECT writer, number FROM entry INDEXED BY ix_entry_kind_job_id
WHERE kind IN (SELECT value FROM json_each(:kinds)) AND job_id = :job""")
_COUNT_WITNESS = text(_WITNESS.text.replace("writer, number", "count(*)", 1))


def heads(connection: Connection, job_id: str) -> dict[str, int]:
    """Return the version vector of a job: the last number held of each writer (there are no gaps)."""
    return {writer: number for writer, number in connection.execute(_HEADS, {"job": job_id})}


def head(connection: Connection, job_id: str, writer: str) -> int:
    """Return the last number held of one writer in one job; 0 for none."""
    return connection.execute(_HEAD, {"job": job_id, "writer": writer}).scalar() or 0


def job_ids(connection: Connection) -> list[str]:
    """Return the ids of all jobs of which anything is held."""
    return [row[0] for row in connection.execute(_JOBS)]


def jobs_found(connection: Connection) -> tuple[list[str], bool]:
    """Return the ids of all jobs that can be found, and whether none is hidden by damage."""
    try:
        with damage.one_job(connection):
            return job_ids(connection), True
    except AppError:
        ids = damage.job_ids(partial(_rows, connection))
        return [job_id for job_id in ids if may_be(connection, job_id)], False


def _rows(connection: Connection, query: str) -> list[Any]:
    with damage.one_statement(connection):
        return list(connection.exec_driver_sql(query))


def may_be(connection: Connection, job_id: str) -> bool:
    """Say whether a job is here, or cannot be looked for."""
    try:
        with damage.one_job(connection):
            query = select(ENTRY.c.number).where(ENTRY.c.job_id == job_id).limit(1)
            return connection.execute(query).first() is not None
    except AppError:
        return True


def stored(
    connection: Connection, job_id: str, writer: str, first: int, last: int
) -> dict[int, tuple[str, str | None]]:
    """Return hash and reasons of a writer's entries from ``first`` to ``last``, by number."""
    query = select(ENTRY.c.number, ENTRY.c.sha256, ENTRY.c.aside).where(
        ENTRY.c.job_id == job_id, ENTRY.c.writer == writer, ENTRY.c.number.between(first, last)
    )
    return {number: (sha256, aside) for number, sha256, aside in connection.execute(query).all()}


class Following(NamedTuple):
    """Some entries of a writer that follow one another, each proved to be the text that was stored."""

    first: int
    bodies: tuple[str | None, ...]  # None: beyond today's budget, of an earlier version; ``body_of`` has it
    asides: tuple[str | None, ...]  # the reasons of one that was set aside


def beyond(
    connection: Connection, job_id: str, writer: str, number: int, limit: int
) -> Generator[Following, None, None]:
    """Yield a writer's entries after ``number``, ascending.

    Rows are read a few at a time: whoever has enough of them stops.
    """
    requested = {
        "job": job_id,
        "writer": writer,
        "number": number,
        "limit": limit,
        "most": BUDGETS.entry_bytes,
    }
    first = number + 1
    with connection.execute(_BEYOND, requested) as rows:
        for some in rows.partitions(ROWS_AT_ONCE):
            numbers, bodies, asides, hashes = zip(*some, strict=True)
            damage.check_bodies(bodies, hashes)
            if numbers != tuple(range(first, first + len(some))):  # numbers have no gaps
                raise damage.of_job()
            yield Following(first, bodies, asides)
            first += len(some)


def body_of(connection: Connection, job_id: str, writer: str, number: int) -> str | None:
    """Return the text of one entry; None if it is not here."""
    query = select(ENTRY.c.body).where(
        ENTRY.c.job_id == job_id, ENTRY.c.writer == writer, ENTRY.c.number == number
    )
    return connection.execute(query).scalar_one_or_none()


def add(connection: Connection, rows: list[EntryRow]) -> None:
    """Store new entries, and note what they change."""
    change_rows.note_entries(connection, rows)
    if rows and connection.dialect.name == "sqlite":
        # Thousands at once: the driver takes them as they are, while SQLAlchemy would look at each value.
        connection.exec_driver_sql(_ADD, list(map(_VALUES, rows)))
    elif rows:
        connection.execute(insert(ENTRY), rows)


def add_held_back(connection: Connection, rows: Iterable[HeldBackRow]) -> None:
    """Store entries whose identity was taken, each content once."""
    for row in rows:
        if not is_held_back(connection, row):
            connection.execute(insert(HELD_BACK), row)


def is_held_back(connection: Connection, row: HeldBackRow) -> bool:
    """Say whether the same content is held back already under its identity."""
    return connection.execute(select(HELD_BACK.c.number).where(*_is_row(row))).first() is not None


def kept(connection: Connection, job_id: str, kind: str, record_id: str = "") -> list[entry.Entry]:
    """Return a job's kept entries of one kind or record; where the index is damaged, from the table."""
    try:
        with damage.one_job(connection):
            found = _kept_of(connection, "writer, number, body, sha256", job_id, kind, record_id)
            return [damage.proved(job_id, w, n, body, sha256) for w, n, body, sha256 in found]
    except AppError:
        entries, aside = whole_job(connection, job_id)
        return [
            e
            for e in entries
            if e.get("kind") == kind
            and record_id in ("", e["record_id"])
            and f"{e['writer']}:{e['number']}" not in aside
        ]


def kept_after(connection: Connection, identity: tuple[str, str, int], kind: str) -> list[entry.Entry]:
    """Return the kept entries of one kind that follow one of a writer in a job."""
    job_id, writer, number = identity
    requested = {"job": job_id, "writer": writer, "number": number, "kind": kind}
    rows = connection.execute(_KEPT_AFTER, requested)
    return [damage.proved(job_id, writer, n, body, sha256) for n, body, sha256 in rows]


def kept_one(connection: Connection, job_id: str, writer: str, number: int) -> entry.Entry | None:
    """Return one entry; None if it is not here, or set aside."""
    query = select(ENTRY.c.body, ENTRY.c.sha256).where(
        ENTRY.c.job_id == job_id, ENTRY.c.writer == writer, ENTRY.c.number == number, ENTRY.c.aside.is_(None)
    )
    row = connection.execute(query).first()
    return damage.proved(job_id, writer, number, *row) if row else None


def received(connection: Connection, job_id: str, kind: str) -> dict[tuple[str, int], str]:
    """Return when each of a job's kept entries of one kind came, by writer and number."""
    found = _kept_of(connection, "writer, number, received_at", job_id, kind)
    return {(writer, number): at for writer, number, at in found}


def _kept_of(
    connection: Connection, columns: str, job_id: str, kind: str, record_id: str = ""
) -> Sequence[Any]:
    """Return columns of a job's kept entries of one kind or record, in the order of their identities."""
    # Without statistics SQLite takes the primary key, and reads all of the job.
    by_kind = "INDEXED BY ix_entry_kind_job_id" if connection.dialect.name == "sqlite" else ""
    query = f"""SELECT {columns} FROM entry {by_kind}
    WHERE kind = :kind AND job_id = :job AND aside IS NULL {"AND record_id = :record" if record_id else ""}
    ORDER BY writer, number"""  # noqa: S608
    requested = {"kind": kind, "job": job_id} | ({"record": record_id} if record_id else {})
    return connection.execute(text(query), requested).all()


def whole_job(
    connection: Connection, job_id: str, *, framed: bool = False
) -> tuple[list[entry.Entry], entry.Aside]:
    """Return all entries of a job, those set aside among them, and the reasons by entry.

    ``framed``: only the frame of one that was set aside and is beyond today's budget.
    AppError ``data_damaged`` if one is not what was stored, or is missing.
    """
    entries: list[entry.Entry] = []
    aside: entry.Aside = {}
    for writer, number, body, reasons in _sound_rows(connection, job_id):
        whole = damage.entry_of(job_id, writer, number, body)
        large = framed and reasons is not None and len(body) > BUDGETS.entry_bytes
        entries.append(frame_of(whole) if large else whole)
        if reasons is not None:
            aside[f"{writer}:{number}"] = damage.reasons_of(reasons)
    return entries, aside


def texts_of_job(connection: Connection, job_id: str) -> Iterator[tuple[str, str | None]]:
    """Yield the text of each entry of a job as it was kept, and of the reasons why it stands aside.

    AppError ``data_damaged`` if one is not what was stored, or is missing.
    """
    for _, _, body, reasons in _sound_rows(connection, job_id):
        yield body, reasons


def proved_heads(connection: Connection, job_id: str) -> dict[str, int]:
    """Return the version vector of a job, each of its entries read, and none of them damaged or missing.

    AppError ``data_damaged`` if one is not what was stored, or is missing.
    """
    return {writer: number for writer, number, _, _ in _sound_rows(connection, job_id)}


def _sound_rows(connection: Connection, job_id: str) -> Iterator[tuple[str, int, str, str | None]]:
    """Yield writer, number, body and reasons of a job's entries, each proved, none missing."""
    small = case((func.length(ENTRY.c.body) <= BUDGETS.entry_bytes, ENTRY.c.body))
    query = (
        select(ENTRY.c.writer, ENTRY.c.number, small, ENTRY.c.sha256, ENTRY.c.aside)
        .where(ENTRY.c.job_id == job_id)
        .order_by(ENTRY.c.writer, ENTRY.c.number)
    )
    last: dict[str, int] = {}
    with damage.one_job(connection):
        for writer, number, body, sha256, reasons in connection.execute(
            query.execution_options(yield_per=100)
        ):
            if body is None:  # an earlier version may have taken 31 MB in one
                body = body_of(connection, job_id, writer, number) or ""
            damage.check_body(body, sha256)
            if number != last.get(writer, 0) + 1:
                raise damage.of_job()
            last[writer] = number
            yield writer, number, body, reasons
        _check_witness(connection, job_id, last)


def _check_witness(connection: Connection, job_id: str, last: dict[str, int]) -> None:
    """Refuse a job of which the index knows rows that the table has lost; a damaged index proves nothing."""
    if connection.dialect.name != "sqlite":
        return
    requested = {"job": job_id, "kinds": json.dumps(["", *KINDS])}
    try:
        if connection.execute(_COUNT_WITNESS, requested).scalar_one() <= sum(last.values()):
            return
        known = connection.execute(_WITNESS, requested).all()
    except DBAPIError as error:
        if not damage.is_damage(error):
            raise
        return
    if any(number > last.get(writer, 0) for writer, number in known):
        raise damage.of_job()


def holds_job(connection: Connection, job_id: str) -> bool:
    """Say whether there is an entry of a job."""
    query = select(ENTRY.c.number).where(ENTRY.c.job_id == job_id).limit(1)
    return connection.execute(query).first() is not None


def held_back(connection: Connection, job_id: str) -> list[HeldBackRow]:
    """Return the entries of a job whose identity was taken."""
    query = (
        select(HELD_BACK).where(HELD_BACK.c.job_id == job_id).order_by(HELD_BACK.c.writer, HELD_BACK.c.number)
    )
    return [
        {
            "job_id": row.job_id,
            "writer": row.writer,
            "number": row.number,
            "sha256": row.sha256,
            "body": row.body,
            "reasons": row.reasons,
            "received_at": row.received_at,
        }
        for row in connection.execute(query)
    ]


def held_back_jobs(connection: Connection) -> list[str]:
    """Return the ids of the jobs of which something is held back."""
    return list(
        connection.execute(select(HELD_BACK.c.job_id).distinct().order_by(HELD_BACK.c.job_id)).scalars()
    )


def drop_held_back(connection: Connection, row: HeldBackRow) -> None:
    """Forget an entry that stood beside: it is among the entries now."""
    connection.execute(delete(HELD_BACK).where(*_is_row(row)))


def _is_row(row: HeldBackRow) -> list[ColumnElement[bool]]:
    columns = HELD_BACK.c
    return [
        columns.job_id == row["job_id"],
        columns.writer == row["writer"],
        columns.number == row["number"],
        columns.sha256 == row["sha256"],
    ]


def counts(connection: Connection, kind: str) -> dict[str, int]:
    """Return how many entries of one kind each job has."""
    query = select(ENTRY.c.job_id, func.count()).where(ENTRY.c.kind == kind).group_by(ENTRY.c.job_id)
    return {job_id: number for job_id, number in connection.execute(query)}


def count(connection: Connection, job_id: str, kind: str) -> int:
    """Return how many entries of one kind a job has."""
    query = select(func.count()).where(ENTRY.c.kind == kind, ENTRY.c.job_id == job_id)
    return connection.execute(query).scalar_one()


def record_ids(connection: Connection, job_id: str, kind: str) -> set[str]:
    """Return the ids of a job's records of one kind, by the entries that are kept."""
    return {record_id for (record_id,) in _kept_of(connection, "record_id", job_id, kind)}


def last_received(connection: Connection, job_id: str) -> str | None:
    """Return when the last entry of a job came."""
    return connection.execute(select(func.max(ENTRY.c.received_at)).where(ENTRY.c.job_id == job_id)).scalar()

"""Queries on entries and those held back.  Each takes the connection of the caller's transaction."""

from collections.abc import Generator
from functools import partial
from operator import itemgetter
from typing import Any, NamedTuple

from sqlalchemy import Connection, Table, func, insert, select, text
from sqlalchemy.dialects import sqlite

from ..budgets import BUDGETS
from ..errors import AppError
from . import change_rows, damage
from .models import Entry
from .rows import EntryRow

ENTRY: Table = Entry.__table__  # type: ignore[assignment]

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


def holds_job(connection: Connection, job_id: str) -> bool:
    """Say whether there is an entry of a job."""
    query = select(ENTRY.c.number).where(ENTRY.c.job_id == job_id).limit(1)
    return connection.execute(query).first() is not None


def counts(connection: Connection, kind: str) -> dict[str, int]:
    """Return how many entries of one kind each job has."""
    query = select(ENTRY.c.job_id, func.count()).where(ENTRY.c.kind == kind).group_by(ENTRY.c.job_id)
    return {job_id: number for job_id, number in connection.execute(query)}


def count(connection: Connection, job_id: str, kind: str) -> int:
    """Return how many entries of one kind a job has."""
    query = select(func.count()).where(ENTRY.c.kind == kind, ENTRY.c.job_id == job_id)
    return connection.execute(query).scalar_one()


class Newest(NamedTuple):
    """The entry of a job that came last, and when."""

    writer: str
    number: int
    received_at: str


def newest(connection: Connection, job_id: str) -> Newest | None:
    """Return which entry of a job came last; its text is not read."""
    query = select(ENTRY.c.writer, ENTRY.c.number, ENTRY.c.received_at).where(ENTRY.c.job_id == job_id)
    row = connection.execute(
        query.order_by(ENTRY.c.received_at.desc(), ENTRY.c.number.desc()).limit(1)
    ).first()
    return None if row is None else Newest(*row)

"""Queries on entries and those held back.  Each takes the connection of the caller's transaction."""

import json
from collections.abc import Iterable, Iterator, Sequence
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, Table, case, delete, func, insert, select, text
from sqlalchemy.dialects import sqlite

from ..budgets import BUDGETS
from .models import Entry, HeldBack

ENTRY: Table = Entry.__table__  # type: ignore[assignment]
HELD_BACK: Table = HeldBack.__table__  # type: ignore[assignment]

# A loose scan of the primary key: one look-up for each writer (job), however many entries it has.
_HEADS = text("""
WITH RECURSIVE w(writer) AS (
  SELECT min(writer) FROM entry WHERE job_id = :job
  UNION ALL
  SELECT (SELECT min(writer) FROM entry WHERE job_id = :job AND writer > w.writer)
  FROM w WHERE w.writer IS NOT NULL)
SELECT writer, (SELECT max(number) FROM entry WHERE job_id = :job AND entry.writer = w.writer)
FROM w WHERE writer IS NOT NULL""")
_JOBS = text("""
WITH RECURSIVE j(job_id) AS (
  SELECT min(job_id) FROM entry
  UNION ALL
  SELECT (SELECT min(job_id) FROM entry WHERE job_id > j.job_id) FROM j WHERE j.job_id IS NOT NULL)
SELECT job_id FROM j WHERE job_id IS NOT NULL""")
_VALUES = itemgetter(*ENTRY.columns.keys())
_ADD = str(insert(ENTRY).compile(dialect=sqlite.dialect()))  # question marks, in the order of the columns
_HEAD = text("SELECT max(number) FROM entry WHERE job_id = :job AND writer = :writer")


def heads(connection: Connection, job_id: str) -> dict[str, int]:
    """Return the version vector of a job: the last number held of each writer (there are no gaps)."""
    return {writer: number for writer, number in connection.execute(_HEADS, {"job": job_id})}


def head(connection: Connection, job_id: str, writer: str) -> int:
    """Return the last number held of one writer in one job; 0 for none."""
    return connection.execute(_HEAD, {"job": job_id, "writer": writer}).scalar() or 0


def job_ids(connection: Connection) -> list[str]:
    """Return the ids of all jobs of which anything is held."""
    return [row[0] for row in connection.execute(_JOBS)]


def stored(
    connection: Connection, job_id: str, writer: str, first: int, last: int
) -> dict[int, tuple[str, str | None]]:
    """Return hash and reasons of a writer's entries from ``first`` to ``last``, by number."""
    query = select(ENTRY.c.number, ENTRY.c.sha256, ENTRY.c.aside).where(
        ENTRY.c.job_id == job_id, ENTRY.c.writer == writer, ENTRY.c.number.between(first, last)
    )
    return {number: (sha256, aside) for number, sha256, aside in connection.execute(query)}


def beyond(
    connection: Connection, job_id: str, writer: str, number: int, limit: int
) -> Sequence[tuple[int, str | None, str | None]]:
    """Return number, body and reasons of a writer's entries after ``number``, ascending.

    The body is None of one that is beyond today's budget, which an earlier version took: ``body_of`` has it.
    """
    body = case((func.length(ENTRY.c.body) <= BUDGETS.entry_bytes, ENTRY.c.body))
    query = (
        select(ENTRY.c.number, body, ENTRY.c.aside)
        .where(ENTRY.c.job_id == job_id, ENTRY.c.writer == writer, ENTRY.c.number > number)
        .order_by(ENTRY.c.number)
        .limit(limit)
    )
    return [(n, body, aside) for n, body, aside in connection.execute(query)]


def body_of(connection: Connection, job_id: str, writer: str, number: int) -> str | None:
    """Return the text of one entry; None if it is not here."""
    query = select(ENTRY.c.body).where(
        ENTRY.c.job_id == job_id, ENTRY.c.writer == writer, ENTRY.c.number == number
    )
    return connection.execute(query).scalar_one_or_none()


def add(connection: Connection, rows: list[dict[str, Any]]) -> None:
    """Store new entries."""
    if rows and connection.dialect.name == "sqlite":
        # Thousands at once: the driver takes them as they are, while SQLAlchemy would look at each value.
        connection.exec_driver_sql(_ADD, list(map(_VALUES, rows)))
    elif rows:
        connection.execute(insert(ENTRY), rows)


def add_held_back(connection: Connection, rows: Iterable[dict[str, Any]]) -> None:
    """Store entries whose identity was taken, each content once."""
    for row in rows:
        key = [HELD_BACK.c[name] == row[name] for name in ("job_id", "writer", "number", "sha256")]
        if connection.execute(select(HELD_BACK.c.number).where(*key)).first() is None:
            connection.execute(insert(HELD_BACK), row)


def kept(connection: Connection, job_id: str, kind: str) -> list[dict[str, Any]]:
    """Return a job's kept entries of one kind."""
    query = select(ENTRY.c.body).where(
        ENTRY.c.kind == kind, ENTRY.c.job_id == job_id, ENTRY.c.aside.is_(None)
    )
    return [json.loads(body) for body in connection.execute(query).scalars()]


def whole_job(connection: Connection, job_id: str) -> tuple[list[dict[str, Any]], dict[str, dict[str, Any]]]:
    """Return all entries of a job, those set aside among them, and the reasons by entry."""
    query = select(ENTRY.c.writer, ENTRY.c.number, ENTRY.c.body, ENTRY.c.aside).where(
        ENTRY.c.job_id == job_id
    )
    entries, aside = [], {}
    for writer, number, body, reasons in connection.execute(query):
        entries.append(json.loads(body))
        if reasons is not None:
            aside[f"{writer}:{number}"] = json.loads(reasons)
    return entries, aside


def texts_of_job(connection: Connection, job_id: str) -> Iterator[tuple[str, str | None]]:
    """Yield the text of each entry of a job as it was kept, and of the reasons why it stands aside."""
    query = select(ENTRY.c.body, ENTRY.c.aside).where(ENTRY.c.job_id == job_id)
    rows = connection.execute(query.execution_options(yield_per=500))
    yield from ((body, reasons) for body, reasons in rows)


def holds_job(connection: Connection, job_id: str) -> bool:
    """Say whether there is an entry of a job."""
    query = select(ENTRY.c.number).where(ENTRY.c.job_id == job_id).limit(1)
    return connection.execute(query).first() is not None


def held_back(connection: Connection, job_id: str) -> list[dict[str, Any]]:
    """Return the entries of a job whose identity was taken."""
    query = (
        select(HELD_BACK).where(HELD_BACK.c.job_id == job_id).order_by(HELD_BACK.c.writer, HELD_BACK.c.number)
    )
    return [dict(row) for row in connection.execute(query).mappings()]


def drop_held_back(connection: Connection, row: dict[str, Any]) -> None:
    """Forget an entry that stood beside: it is among the entries now."""
    key = [HELD_BACK.c[name] == row[name] for name in ("job_id", "writer", "number", "sha256")]
    connection.execute(delete(HELD_BACK).where(*key))


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
    query = select(ENTRY.c.record_id).where(
        ENTRY.c.kind == kind, ENTRY.c.job_id == job_id, ENTRY.c.aside.is_(None)
    )
    return set(connection.execute(query).scalars())


def last_received(connection: Connection, job_id: str) -> str | None:
    """Return when the last entry of a job came."""
    return connection.execute(select(func.max(ENTRY.c.received_at)).where(ENTRY.c.job_id == job_id)).scalar()

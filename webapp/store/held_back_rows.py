"""Queries on the entries that are held back.  Each takes the connection of the caller's transaction."""

from collections.abc import Iterable
from typing import NamedTuple

from sqlalchemy import ColumnElement, Connection, Table, delete, func, insert, select

from .models import HeldBack
from .rows import HeldBackRow

HELD_BACK: Table = HeldBack.__table__  # type: ignore[assignment]


def add_held_back(connection: Connection, rows: Iterable[HeldBackRow]) -> None:
    """Store entries whose identity was taken, each content once."""
    for row in rows:
        if not is_held_back(connection, row):
            connection.execute(insert(HELD_BACK), row)


def is_held_back(connection: Connection, row: HeldBackRow) -> bool:
    """Say whether the same content is held back already under its identity."""
    return connection.execute(select(HELD_BACK.c.number).where(*_is_row(row))).first() is not None


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


class HeldBackName(NamedTuple):
    """What is held back, without its text."""

    writer: str
    number: int
    sha256: str
    reasons: str
    length: int  # of its text, in characters


def held_back_names(connection: Connection, job_id: str) -> list[HeldBackName]:
    """Return what is held back of a job."""
    columns = (HELD_BACK.c.writer, HELD_BACK.c.number, HELD_BACK.c.sha256, HELD_BACK.c.reasons)
    query = select(*columns, func.length(HELD_BACK.c.body)).where(HELD_BACK.c.job_id == job_id)
    ordered = query.order_by(HELD_BACK.c.writer, HELD_BACK.c.number)
    return [HeldBackName(*row) for row in connection.execute(ordered)]


def body_held_back(connection: Connection, job_id: str, one: HeldBackName) -> str:
    """Return the text of what is held back."""
    own = {"job_id": job_id, "writer": one.writer, "number": one.number, "sha256": one.sha256}
    where = [HELD_BACK.c[name] == value for name, value in own.items()]
    body: str = connection.execute(select(HELD_BACK.c.body).where(*where)).scalar_one()
    return body


def _is_row(row: HeldBackRow) -> list[ColumnElement[bool]]:
    columns = HELD_BACK.c
    return [
        columns.job_id == row["job_id"],
        columns.writer == row["writer"],
        columns.number == row["number"],
        columns.sha256 == row["sha256"],
    ]

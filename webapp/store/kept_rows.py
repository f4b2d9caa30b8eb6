"""Queries on the entries that are kept, which are not set aside, of one kind or record."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, select, text

from ..errors import AppError
from ..records import entry
from . import damage
from .entry_rows import ENTRY
from .whole_jobs import whole_job

_KEPT_AFTER = text("""
SELECT number, body, sha256 FROM entry
WHERE job_id = :job AND writer = :writer AND number > :number AND kind = :kind AND aside IS NULL
ORDER BY number""")


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


def record_ids(connection: Connection, job_id: str, kind: str) -> set[str]:
    """Return the ids of a job's records of one kind, by the entries that are kept."""
    return {record_id for (record_id,) in _kept_of(connection, "record_id", job_id, kind)}

"""All entries of a job, each proved to be what was stored, and none missing."""

import json
from collections.abc import Iterator

from sqlalchemy import Connection, case, func, select, text
from sqlalchemy.exc import DBAPIError

from ..budgets import BUDGETS
from ..records import entry
from ..records.entry_budget import frame_of
from ..schemas.entry import KINDS
from . import damage
from .entry_rows import ENTRY, body_of

# What the index knows of a job's rows; a page of the table that lost some cannot hide them.
_WITNESS = text("""
SELECT writer, number FROM entry INDEXED BY ix_entry_kind_job_id
WHERE kind IN (SELECT value FROM json_each(:kinds)) AND job_id = :job""")
_COUNT_WITNESS = text(_WITNESS.text.replace("writer, number", "count(*)", 1))


def whole_job(
    connection: Connection, job_id: str, *, framed: bool = False
) -> tuple[list[entry.Entry], entry.Aside]:
    """Return all entries of a job, those set aside among them, and the reasons by entry.

    ``framed``: only the frame of one that was set aside and is beyond today's budget.
    AppError ``data_damaged`` if one is not what was stored, or is missing.
    """
    entries: list[entry.Entry] = []
    aside: entry.Aside = {}
    for writer, number, body, reasons in sound_rows(connection, job_id):
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
    for _, _, body, reasons in sound_rows(connection, job_id):
        yield body, reasons


def proved_heads(connection: Connection, job_id: str) -> dict[str, int]:
    """Return the version vector of a job, each of its entries read, and none of them damaged or missing.

    AppError ``data_damaged`` if one is not what was stored, or is missing.
    """
    return {writer: number for writer, number, _, _ in sound_rows(connection, job_id)}


def sound_rows(connection: Connection, job_id: str) -> Iterator[tuple[str, int, str, str | None]]:
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

"""Some entries of a job by their identities, each proved to be what was stored."""

import json
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from sqlalchemy import Connection, text

from ..budgets import BUDGETS
from ..records.entry import Entry
from ..records.entry_budget import frame_of
from . import damage, entry_rows

AT_ONCE = 400
# CROSS JOIN: for each identity one look-up by the primary key, whatever SQLite believes of the table.
_SQLITE = text("""
SELECT entry.writer, entry.number, CASE WHEN length(body) <= :most THEN body END, sha256, aside
FROM json_each(:few) AS own CROSS JOIN entry ON entry.job_id = :job
AND entry.writer = json_extract(own.value, '$[0]') AND entry.number = json_extract(own.value, '$[1]')""")
_POSTGRESQL = text("""
SELECT entry.writer, entry.number, CASE WHEN length(body) <= :most THEN body END, sha256, aside
FROM json_array_elements(CAST(:few AS json)) AS own(value) JOIN entry ON entry.job_id = :job
AND entry.writer = own.value ->> 0 AND entry.number = CAST(own.value ->> 1 AS bigint)""")
Identity = tuple[str, int]  # writer and number


class Found(NamedTuple):
    """An entry, and the reasons of one that is set aside."""

    entry: Entry
    reasons: str | None


def some(
    connection: Connection, job_id: str, identities: Iterable[Identity], *, framed: bool = False
) -> dict[Identity, Found]:
    """Return entries of a job.

    ``framed``: only the frame of one that was set aside and is beyond today's budget.
    AppError ``data_damaged`` if one is not what was stored, or is missing.
    """
    wanted = list(identities)
    with damage.one_job(connection):
        found = {
            (writer, number): _found(job_id, writer, number, body, reasons, framed)
            for start in range(0, len(wanted), AT_ONCE)
            for writer, number, body, reasons in _proved(connection, job_id, wanted[start : start + AT_ONCE])
        }
    if len(found) != len(set(wanted)):
        raise damage.of_job()
    return found


def _proved(
    connection: Connection, job_id: str, few: list[Identity]
) -> Iterator[tuple[str, int, str, str | None]]:
    query = _SQLITE if connection.dialect.name == "sqlite" else _POSTGRESQL
    requested = {"job": job_id, "few": json.dumps(few), "most": BUDGETS.entry_bytes}
    for writer, number, body, sha256, reasons in connection.execute(query, requested).all():
        if body is None:  # an earlier version may have taken 31 MB in one
            body = entry_rows.body_of(connection, job_id, writer, number) or ""
        damage.check_body(body, sha256)
        yield writer, number, body, reasons


def _found(job_id: str, writer: str, number: int, body: str, reasons: str | None, framed: bool) -> Found:
    whole = damage.entry_of(job_id, writer, number, body)
    large = framed and reasons is not None and len(body) > BUDGETS.entry_bytes
    return Found(frame_of(whole) if large else whole, reasons)

"""A database that is damaged in places: what says so, and how to read around it.

::

    is_damage(error)        whether a failure means that stored bytes are not what was stored
    one_job(connection)     a block that reads one job: damage in it is `data_damaged` of this job alone
    proved(row)             the entry of a row, if its hash and its identity are right
    job_ids(query)          the ids of all jobs that can be found, around damaged pages
"""

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, cast

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from ..errors import AppError
from ..messages import t
from ..records.entry import Entry, Rejection
from ..schemas.base import is_uuid

Query = Callable[[str], Iterable[Sequence[Any]]]
# https://www.sqlite.org/rescode.html: CORRUPT, NOTADB, TOOBIG; and of IOERR those that come from reading.
_SQLITE = {11, 26, 18}
_SQLITE_READING = {266, 522, 8458}
_POSTGRES = {"XX001", "XX002"}  # data_corrupted, index_corrupted
_SAYS = ("malformed", "not a database", "Could not decode to UTF-8", "database corruption")
_DEPTH = 8
_LOWEST, _HIGHEST = "", "~"


def is_damage(error: BaseException) -> bool:
    """Say whether a failure means that bytes in the database are not those that were stored."""
    if isinstance(error, AppError):
        return error.code == "data_damaged"
    own = error.orig if isinstance(error, DBAPIError) else error
    if getattr(own, "sqlstate", None) in _POSTGRES:
        return True
    if not isinstance(own, sqlite3.Error):
        return False
    code = getattr(own, "sqlite_errorcode", 0)
    return code & 0xFF in _SQLITE or code in _SQLITE_READING or any(words in str(own) for words in _SAYS)


@contextmanager
def one_job(connection: Connection) -> Iterator[None]:
    """Read of one job only; AppError ``data_damaged`` where its rows cannot be read, and others go on."""
    try:
        with one_statement(connection):
            yield
    except DBAPIError as error:
        if not is_damage(error):
            raise
        raise of_job() from error


@contextmanager
def one_statement(connection: Connection) -> Iterator[None]:
    """Let others follow a statement that fails: PostgreSQL would end the transaction with it."""
    if connection.dialect.name == "postgresql":
        with connection.begin_nested():
            yield
    else:
        yield


def of_job() -> AppError:
    """Return the error of a job that cannot be read whole."""
    return AppError("data_damaged", t("upkeep.job_damaged"))


def proved(job_id: str, writer: str, number: int, body: Any, sha256: Any) -> Entry:
    """Return the entry of a row; AppError ``data_damaged`` if it is not the one that was stored."""
    check_body(body, sha256)
    return entry_of(job_id, writer, number, body)


def check_body(body: Any, sha256: Any) -> None:
    """Refuse a text that is not the one that was stored."""
    if _hash_of(body) != sha256:
        raise of_job()


def check_bodies(bodies: Sequence[Any], hashes: Sequence[Any]) -> None:
    """Refuse texts of which one is not what was stored; None stands for one that was not read."""
    found = tuple(map(_hash_of, bodies))
    if found != hashes and any(
        own != sha256 for body, own, sha256 in zip(bodies, found, hashes, strict=True) if body is not None
    ):
        raise of_job()


def _hash_of(body: Any) -> str | None:
    if not isinstance(body, str):
        return None
    return hashlib.sha256(body.encode("utf-8", "replace")).hexdigest()


def entry_of(job_id: str, writer: str, number: int, body: str) -> Entry:
    """Return the entry of a text that was proved, if it is the one of its row."""
    entry: Entry = json.loads(body)
    if (entry.get("job_id"), entry.get("writer"), entry.get("number")) != (job_id, writer, number):
        raise of_job()
    return entry


def reasons_of(text: Any) -> Rejection:
    """Return the stored reasons for which an entry was set aside."""
    try:
        found = json.loads(text)
    except (TypeError, ValueError):
        found = None
    if not isinstance(found, dict):
        raise of_job()
    return cast(Rejection, found)


def job_ids(query: Query) -> list[str]:
    """Return the ids of all jobs that can be found: whole pages lead to them from both sides of a bad one."""
    found: set[str] = set()
    _between(query, _LOWEST, _HIGHEST, found, _DEPTH)
    for text in ("SELECT DISTINCT job_id FROM entry WHERE kind = 'job'", "SELECT DISTINCT job_id FROM audit"):
        try:
            found.update(row[0] for row in query(text) if is_uuid(row[0]))
        except (sqlite3.Error, DBAPIError) as error:
            if not is_damage(error):
                raise
    return sorted(found)


def _between(query: Query, low: str, high: str, found: set[str], depth: int) -> None:
    """Add the ids between two; what damage hides is looked for again from the middle."""
    low = _walk(query, "SELECT min(job_id) FROM entry WHERE job_id > '{}'", low, high, found)
    if low >= high:
        return
    high = _walk(query, "SELECT max(job_id) FROM entry WHERE job_id < '{}'", high, low, found)
    middle = _middle(low, high)
    if depth and low < middle < high:
        _between(query, low, middle, found, depth - 1)
        _between(query, middle, high, found, depth - 1)


def _walk(query: Query, text: str, start: str, end: str, found: set[str]) -> str:
    """Go from id to id; return where it ended: at ``end``, or at the last id before a page that is bad."""
    at, forward = start, start < end
    while True:
        try:
            (row,) = query(text.format(at))
        except (sqlite3.Error, DBAPIError) as error:
            if not is_damage(error):
                raise
            return at
        following = row[0]
        if following is None or not (following < end if forward else following > end):
            return end
        if not is_uuid(following) or (following <= at if forward else following >= at):
            return at  # a damaged key
        found.add(following)
        at = following


def _middle(low: str, high: str) -> str:
    """Return the id half-way between two."""
    first = int(low.replace("-", "") or "0", 16) if is_uuid(low) else 0
    last = int(high.replace("-", ""), 16) if is_uuid(high) else (1 << 128) - 1
    digits = f"{(first + last) // 2:032x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))

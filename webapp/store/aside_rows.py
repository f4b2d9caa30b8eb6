"""How many entries are set aside or held back, for the budgets."""

import json

from sqlalchemy import Connection, func, not_, select, text

from ..records.erasure import CODE
from .entry_rows import ENTRY
from .erasure_rows import IS_ERASED
from .held_back_rows import HELD_BACK

_ERASED = f"%{json.dumps({'code': CODE})[1:-1]}%"  # as IS_ERASED looks for it


def count_held_back(connection: Connection, job_id: str, writer: str = "", number: int = 0) -> int:
    """Return how much is held back of a job, or under one identity in it."""
    where = [HELD_BACK.c.job_id == job_id]
    if writer:
        where += [HELD_BACK.c.writer == writer, HELD_BACK.c.number == number]
    return connection.execute(select(func.count()).select_from(HELD_BACK).where(*where)).scalar_one()


def count_rejected_of_job(connection: Connection, job_id: str, most: int) -> int:
    """Return how many entries of a job are set aside, but not erased; ``most`` for more."""
    # Without statistics SQLite takes the primary key, and reads all of the job.
    by = "INDEXED BY ix_entry_aside" if connection.dialect.name == "sqlite" else ""
    query = f"""SELECT count(*) FROM (SELECT number FROM entry {by}
    WHERE job_id = :job AND aside IS NOT NULL AND aside NOT LIKE :erased LIMIT :most) AS rejected"""  # noqa: S608
    requested = {"job": job_id, "erased": _ERASED, "most": most}
    return int(connection.execute(text(query), requested).scalar_one())


def count_rejected(connection: Connection, job_id: str, writer: str, most: int) -> int:
    """Return how many entries of a writer in a job are set aside, but not erased; ``most`` for more."""
    own = select(ENTRY.c.number).where(ENTRY.c.job_id == job_id, ENTRY.c.writer == writer)
    rejected = own.where(ENTRY.c.aside.is_not(None), not_(IS_ERASED)).limit(most)
    return connection.execute(select(func.count()).select_from(rejected.subquery())).scalar_one()


def newest(connection: Connection, job_id: str) -> str:
    """Return what changes with each entry of a job that comes, or comes whole: all rows are looked at."""
    columns = func.count(), func.count(ENTRY.c.aside), func.max(ENTRY.c.received_at)
    row: tuple[object, ...] = tuple(
        connection.execute(select(*columns).where(ENTRY.c.job_id == job_id)).one()
    )
    return str(row)

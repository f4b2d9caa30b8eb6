"""How many entries are set aside or held back, for the budgets."""

from sqlalchemy import Connection, func, not_, select

from .entry_rows import ENTRY, HELD_BACK
from .erasure_rows import IS_ERASED


def count_held_back(connection: Connection, job_id: str, writer: str = "", number: int = 0) -> int:
    """Return how much is held back of a job, or under one identity in it."""
    where = [HELD_BACK.c.job_id == job_id]
    if writer:
        where += [HELD_BACK.c.writer == writer, HELD_BACK.c.number == number]
    return connection.execute(select(func.count()).select_from(HELD_BACK).where(*where)).scalar_one()


def count_rejected(connection: Connection, job_id: str, writer: str, most: int) -> int:
    """Return how many entries of a writer in a job are set aside, but not erased; ``most`` for more."""
    own = select(ENTRY.c.number).where(ENTRY.c.job_id == job_id, ENTRY.c.writer == writer)
    rejected = own.where(ENTRY.c.aside.is_not(None), not_(IS_ERASED)).limit(most)
    return connection.execute(select(func.count()).select_from(rejected.subquery())).scalar_one()

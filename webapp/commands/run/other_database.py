"""Plain SQL on a database that is not the data folder's own."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import text

from ...store.engine import reading
from ...store.job_list import Query
from .opening import TO_READ, opened


@contextmanager
def query_of(data: Path | None) -> Iterator[Query]:
    """Return the query of the database that the setting names."""
    with opened(data, **TO_READ), reading() as connection:
        # A colon would begin a parameter there.
        yield lambda sql: connection.execute(text(sql.replace(":", "\\:")))

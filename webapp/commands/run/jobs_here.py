"""The jobs of the data folder as commands name them; nothing but SQLite is loaded where that is enough."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ...environment import setting
from ...errors import AppError
from ...messages import t
from ...store.folder import DATABASE, is_writable, refuse_lost_database
from ...store.job_list import ListedJob, Query, all_jobs, named, sqlite_query
from ...store.user_folders import stated_folder
from ..loading import loaded


@contextmanager
def query_of(data: Path | None) -> Iterator[Query]:
    """Return the query of the data folder's database; the folder is never made."""
    folder = stated_folder(data)
    if setting("DATABASE_URL"):
        with loaded("other_database:query_of")(data) as query:
            yield query
        return
    refuse_lost_database(folder)
    database = folder / DATABASE
    if not database.is_file():
        raise AppError("data_missing", f"({folder})")
    with sqlite_query(database, writable=is_writable(folder)) as query:
        yield query


def jobs_of(data: Path | None) -> list[ListedJob]:
    """Return the jobs of the data folder."""
    with query_of(data) as query:
        return all_jobs(query)


def job_id_of(data: Path | None, name: str) -> str:
    """Return the id of the job that is meant; AppError if there is none, or if it may be several."""
    try:
        return named(jobs_of(data), name).job_id
    except AppError as error:
        if error.code in ("job_not_found", "data_missing") and os.sep in name:
            raise AppError("file_unreadable", t("cli.no_file_no_job", name=name)) from error
        raise

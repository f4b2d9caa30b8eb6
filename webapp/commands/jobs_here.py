"""The jobs of the data folder as commands name them; nothing but SQLite is loaded where that is enough."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.shell_completion import CompletionItem

from ..environment import setting
from ..errors import AppError
from ..messages import t
from ..store.folder import DATABASE
from ..store.user_folders import stated_folder
from .common import TextType, opened

if TYPE_CHECKING:
    from ..store.job_list import ListedJob, Query


@contextmanager
def query_of(data: Path | None) -> Iterator["Query"]:
    """Return the query of the data folder's database; the folder is never made."""
    from ..store.job_list import sqlite_query

    folder = stated_folder(data)
    if setting("DATABASE_URL"):
        from sqlalchemy import text

        from ..store.engine import reading

        with opened(data, LOCK_FOLDER=False, MIGRATE=False), reading() as connection:
            # A colon would begin a parameter there.
            yield lambda sql: connection.execute(text(sql.replace(":", "\\:")))
        return
    database = folder / DATABASE
    if not database.is_file():
        raise AppError("data_missing", f"({folder})")
    with sqlite_query(database, writable=os.access(folder, os.W_OK)) as query:
        yield query


def jobs_of(data: Path | None) -> list["ListedJob"]:
    """Return the jobs of the data folder."""
    from ..store.job_list import listed

    with query_of(data) as query:
        return listed(query)


def job_id_of(data: Path | None, name: str) -> str:
    """Return the id of the job that is meant; AppError if there is none, or if it may be several."""
    from ..store.job_list import named

    try:
        return named(jobs_of(data), name).job_id
    except AppError as error:
        if error.code in ("job_not_found", "data_missing") and os.sep in name:
            raise AppError("file_unreadable", t("cli.no_file_no_job", name=name)) from error
        raise


class JobName(TextType):
    """A job of the data folder, by its id or the beginning of it, its title or its reference."""

    name = "job"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Return the ids of the jobs with their titles, and the titles that go on from what stands there."""
        try:
            jobs = jobs_of(_data_of(ctx))
        except Exception:  # completion says nothing rather than something in the middle of a line
            return []
        start = incomplete.casefold()
        ids = [CompletionItem(j.short_id, help=j.title) for j in jobs if j.job_id.startswith(start)]
        titles = [
            CompletionItem(j.title, help=j.short_id)
            for j in jobs
            if start and j.title.casefold().startswith(start)
        ]
        return ids + titles


class JobOrFile(JobName):
    """A job of the data folder, or a file or folder that holds one; - is standard input."""

    name = "job or file"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Return the jobs, and let the shell go on with file names."""
        return [*super().shell_complete(ctx, param, incomplete), CompletionItem(incomplete, type="file")]


def _data_of(ctx: click.Context) -> Path | None:
    value: Any = ctx.params.get("data")
    return Path(value) if value else None

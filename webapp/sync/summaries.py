"""What a sync answer says of jobs as wholes: their titles, and the photos they want.

Folding is cheap but not free, so what was folded is remembered for as long as the entries it came
from are the same.  Nothing of it is stored.
"""

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection

from ..errors import AppError
from ..records.erasure import stamp
from ..records.fold import fold
from ..store import damage, entry_rows, erasure_rows, kept_rows
from .wanted import Wanted


@dataclass(frozen=True)
class Title:
    """A job in a list."""

    job_id: str
    title: str
    site: str
    removed: bool
    damaged: bool = False  # its job entries cannot be read

    def as_json(self) -> dict[str, str]:
        """Return the row of a list of jobs."""
        return {"job_id": self.job_id, "title": self.title, "site": self.site}


class Summaries:
    """Titles of jobs, folded again only when their entries changed; and the photos that are wanted."""

    def __init__(self, is_whole: Callable[[str, int], bool]) -> None:
        """``is_whole`` says whether a photo's file has its size: one that was lost or cut is wanted again."""
        self._titles: dict[str, tuple[tuple[int, str], Title]] = {}
        self.wanted = Wanted(is_whole)
        self.stamped: set[str] = set()  # jobs, and the list of them, of which changes are noted
        self.damaged: set[str] = set()  # jobs of which a look found that they cannot be read whole

    def titles(self, connection: Connection, job_ids: Iterable[str], *, some: bool = False) -> list[Title]:
        """Return the titles of jobs that are here, removed ones too, by id; ``some``: of a few, read anew."""
        counts: dict[str, int] | None = None
        job_ids = sorted(job_ids)
        erased: dict[str, dict[str, str]] = {}
        with suppress(AppError), damage.one_job(connection):
            erased = erasure_rows.states(connection, job_ids)
            counts = None if some else entry_rows.counts(connection, "job")
        return [
            self._title(
                connection, job_id, None if counts is None else counts.get(job_id, 0), erased.get(job_id, {})
            )
            for job_id in job_ids
        ]

    def _title(
        self, connection: Connection, job_id: str, count: int | None, erased: Mapping[str, str]
    ) -> Title:
        """Return the title of a job; of one that cannot be read the one last known.

        ``count`` of its job entries, where that is known, tells of new ones: without any nothing is read.
        ``erased``: the states of its acts of the eraser.
        """
        known, acts = self._titles.get(job_id), stamp(erased)
        if known is not None and known[0] == (count, acts):
            return known[1]
        try:
            with damage.one_job(connection):
                kept = kept_rows.kept(connection, job_id, "job")
        except AppError as error:
            if not damage.is_damage(error):
                raise
            return replace(known[1] if known else Title(job_id, "", "", False), damaged=True)
        records = fold(kept)
        fields: dict[str, Any] = records[0].fields if records else {}
        # Where its own record was erased there is no job to show.
        removed = records[0].removed if records else bool(erased)
        title = Title(job_id, fields.get("title") or "", fields.get("site") or "", removed)
        self._titles[job_id] = ((len(kept) if count is None else count, acts), title)
        return title

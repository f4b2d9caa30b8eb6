"""What a sync answer says of jobs as wholes: their titles, and the photos they want.

Folding is cheap but not free, so what was folded is remembered for as long as the entries it came
from are the same.  Nothing of it is stored.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from ..records.fold import fold
from ..store import entries as store
from ..store import photos as photo_rows


@dataclass(frozen=True)
class Title:
    """A job in a list."""

    job_id: str
    title: str
    site: str
    removed: bool

    def as_json(self) -> dict[str, str]:
        """Return the row of a list of jobs."""
        return {"job_id": self.job_id, "title": self.title, "site": self.site}


class Summaries:
    """Titles of jobs and hashes of their photos, folded again only when their entries changed."""

    def __init__(self, is_file: Callable[[str], bool]) -> None:
        """``is_file`` says whether a photo's file is there: one that was lost is wanted again."""
        self._is_file = is_file
        self._titles: dict[str, tuple[int, Title]] = {}
        self._photos: dict[str, tuple[str, frozenset[str]]] = {}

    def titles(self, connection: Connection) -> list[Title]:
        """Return the title of every job, removed ones too, by id."""
        counts = store.counts(connection, "job")
        return [self._title(connection, j, counts.get(j, 0)) for j in sorted(store.job_ids(connection))]

    def _title(self, connection: Connection, job_id: str, count: int) -> Title:
        known = self._titles.get(job_id)
        if known is None or known[0] != count:
            records = fold(store.kept(connection, job_id, "job"))
            fields: dict[str, Any] = records[0].fields if records else {}
            removed = bool(records) and records[0].removed
            title = Title(job_id, fields.get("title") or "", fields.get("site") or "", removed)
            known = self._titles[job_id] = (count, title)
        return known[1]

    def photos_wanted(self, connection: Connection, job_id: str, digest: str) -> list[str]:
        """Return the hashes of the job's photos that are not here; ``digest`` is that of its vector."""
        known = self._photos.get(job_id)
        hashes = known[1] if known and known[0] == digest else self._hashes(connection, job_id)
        rows = photo_rows.find_all(connection, hashes)
        missing = hashes - {sha256 for sha256 in rows if self._is_file(sha256)}
        # A photo that is here stays here: only what is missing needs another look.
        self._photos[job_id] = (digest, frozenset(missing))
        return sorted(missing)

    @staticmethod
    def _hashes(connection: Connection, job_id: str) -> frozenset[str]:
        found: set[str] = set()
        for record in fold(store.kept(connection, job_id, "photo")):
            if not record.removed:
                values = [record.fields.get("sha256"), *(v for _, v in record.conflicts.get("sha256", ()))]
                found.update(v for v in values if isinstance(v, str))
        return frozenset(found)

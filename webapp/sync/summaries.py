"""What a sync answer says of jobs as wholes: their titles, and the photos they want.

Folding is cheap but not free, so what was folded is remembered for as long as the entries it came
from are the same.  Nothing of it is stored.
"""

from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection

from ..errors import AppError
from ..records.fold import Entry, fold
from ..store import damage, entry_rows, photo_rows

LOOKED_AT = 500  # files of a job whose sizes one answer compares; of more, each gets its turn


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


@dataclass
class _PhotosOfJob:
    """The photos that a job's records name, and the sizes of those that were last seen whole."""

    digest: str
    hashes: frozenset[str]
    here: dict[str, int]
    turn: int = 0

    def to_look_at(self) -> list[str]:
        """Return the photos whose files are looked at this time: all, or of many the next ones in turn."""
        names = sorted(self.here) if len(self.here) > LOOKED_AT else list(self.here)
        if len(names) <= LOOKED_AT:
            return names
        start = self.turn % len(names)
        self.turn = start + LOOKED_AT
        return (names + names)[start : start + LOOKED_AT]


class Summaries:
    """Titles of jobs and hashes of their photos, folded again only when their entries changed."""

    def __init__(self, is_whole: Callable[[str, int], bool]) -> None:
        """``is_whole`` says whether a photo's file has its size: one that was lost or cut is wanted again."""
        self._is_whole = is_whole
        self._titles: dict[str, tuple[int, Title]] = {}
        self._photos: dict[str, _PhotosOfJob] = {}
        self.damaged: set[str] = set()  # jobs of which a look found that they cannot be read whole

    def titles(self, connection: Connection, job_ids: Iterable[str]) -> list[Title]:
        """Return the titles of jobs that are here, removed ones too, by id."""
        counts: dict[str, int] | None = None
        with suppress(AppError), damage.one_job(connection):
            counts = entry_rows.counts(connection, "job")
        return [
            self._title(connection, job_id, None if counts is None else counts.get(job_id, 0))
            for job_id in sorted(job_ids)
        ]

    def _title(self, connection: Connection, job_id: str, count: int | None) -> Title:
        """Return the title of a job; of one that cannot be read the one last known.

        ``count`` of its job entries, where that is known, tells of new ones: without any nothing is read.
        """
        known = self._titles.get(job_id)
        if known is not None and known[0] == count:
            return known[1]
        try:
            with damage.one_job(connection):
                kept = entry_rows.kept(connection, job_id, "job")
        except AppError as error:
            if not damage.is_damage(error):
                raise
            return replace(known[1] if known else Title(job_id, "", "", False), damaged=True)
        records = fold(kept)
        fields: dict[str, Any] = records[0].fields if records else {}
        removed = bool(records) and records[0].removed
        title = Title(job_id, fields.get("title") or "", fields.get("site") or "", removed)
        self._titles[job_id] = (len(kept) if count is None else count, title)
        return title

    def photos_wanted(self, connection: Connection, job_id: str, digest: str) -> list[str]:
        """Return the hashes of the job's photos that are not here; ``digest`` is that of its vector."""
        known = self._photos.get(job_id)
        if known is None or known.digest != digest:
            before = known.here if known else {}
            hashes = photos_named(entry_rows.kept(connection, job_id, "photo"))
            known = _PhotosOfJob(digest, hashes, {h: before[h] for h in hashes & before.keys()})
            self._photos[job_id] = known
        for sha256 in known.to_look_at():
            if not self._is_whole(sha256, known.here[sha256]):
                del known.here[sha256]
        missing = known.hashes - known.here.keys()
        for sha256, row in photo_rows.find_all(connection, missing).items():
            if self._is_whole(sha256, row["size_bytes"]):
                known.here[sha256] = row["size_bytes"]
        return sorted(known.hashes - known.here.keys())


def photos_named(entries: Iterable[Entry]) -> frozenset[str]:
    """Return the hashes that the standing photo records of some entries name, each side of a conflict too."""
    found: set[str] = set()
    for record in fold(entries):
        if not record.removed:
            values = [record.fields.get("sha256"), *(v for _, v in record.conflicts.get("sha256", ()))]
            found.update(v for v in values if isinstance(v, str))
    return frozenset(found)

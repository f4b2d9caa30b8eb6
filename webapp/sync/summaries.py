"""What a sync answer says of jobs as wholes: their titles, and the photos they want.

Folding is cheap but not free, so what was folded is remembered for as long as the entries it came
from are the same.  Nothing of it is stored.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import Any

from sqlalchemy import Connection

from ..errors import AppError
from ..records.entry import Entry
from ..records.erasure import stamp
from ..records.fold import fold
from ..store import change_rows, damage, entry_rows, erasure_rows, photo_rows

LOOKED_AT = 100  # files of a job whose sizes one answer compares; of more, each gets its turn


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

    version: str
    named: dict[str, frozenset[str]]  # by record; of a removed one none
    hashes: Counter[str]  # how many records name each
    here: dict[str, int] = field(default_factory=dict)
    missing: set[str] = field(default_factory=set)
    turn: int = 0
    acts: str = ""

    @classmethod
    def of(cls, version: str, entries: Iterable[Entry]) -> "_PhotosOfJob":
        """Return those of all photo entries of a job."""
        named = hashes_by_record(entries)
        made = cls(version, named, Counter(h for own in named.values() for h in own))
        made.missing = set(made.hashes)
        return made

    def rename(self, record_id: str, hashes: frozenset[str]) -> None:
        """Note what a record names now."""
        for sha256 in self.named.get(record_id, ()):
            self.hashes[sha256] -= 1
            if not self.hashes[sha256]:
                del self.hashes[sha256]
                self.here.pop(sha256, None)
                self.missing.discard(sha256)
        self.named[record_id] = hashes
        for sha256 in hashes:
            self.hashes[sha256] += 1
            if sha256 not in self.here:
                self.missing.add(sha256)

    def to_look_at(self) -> list[str]:
        """Return the photos whose files are looked at this time: all, or of many the next ones in turn."""
        if len(self.here) <= LOOKED_AT:
            return list(self.here)
        self.turn = (self.turn + LOOKED_AT) % len(self.here)
        turns = islice(self.here, self.turn, self.turn + LOOKED_AT)
        return list(turns)


class Summaries:
    """Titles of jobs and hashes of their photos, folded again only when their entries changed."""

    def __init__(self, is_whole: Callable[[str, int], bool]) -> None:
        """``is_whole`` says whether a photo's file has its size: one that was lost or cut is wanted again."""
        self._is_whole = is_whole
        self._titles: dict[str, tuple[tuple[int, str], Title]] = {}
        self._photos: dict[str, _PhotosOfJob] = {}
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
                kept = entry_rows.kept(connection, job_id, "job")
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

    def photos_wanted(self, connection: Connection, job_id: str, version: str, acts: str = "") -> list[str]:
        """Return the hashes of the job's photos that are not here; ``version`` changes with its entries.

        ``acts``: the stamp of its acts of the eraser.
        """
        known = self._photos.get(job_id)
        stale = known is not None and known.version != version and not _catch_up(connection, job_id, known)
        if known is None or stale or known.acts != acts:
            before = known.here if known else {}
            known = _PhotosOfJob.of(version, entry_rows.kept(connection, job_id, "photo"))
            known.here = {h: size for h, size in before.items() if h in known.hashes}
            known.missing -= known.here.keys()
            self._photos[job_id] = known
        known.version, known.acts = version, acts
        for sha256 in known.to_look_at():
            if not self._is_whole(sha256, known.here[sha256]):
                del known.here[sha256]
                known.missing.add(sha256)
        for sha256, row in photo_rows.find_all(connection, known.missing).items():
            if self._is_whole(sha256, row["size_bytes"]):
                known.here[sha256] = row["size_bytes"]
                known.missing.discard(sha256)
        return sorted(known.missing - erasure_rows.erased_photos(connection, known.missing))


def _catch_up(connection: Connection, job_id: str, known: _PhotosOfJob) -> bool:
    """Take in the photo entries that came since; False where all have to be read."""
    then = change_rows.since(connection, job_id, known.version)
    if then is None:
        return False
    for writer, number in then.items():
        for entry in entry_rows.kept_after(connection, (job_id, writer, number), "photo"):
            record_id, fields = entry["record_id"], entry["fields"]
            if record_id not in known.named:
                known.rename(record_id, photos_named([entry]))
            elif not known.named[record_id] or "sha256" in fields or "removed" in fields:
                known.rename(record_id, photos_named(entry_rows.kept(connection, job_id, "photo", record_id)))
    return True


def hashes_by_record(entries: Iterable[Entry]) -> dict[str, frozenset[str]]:
    """Return the hashes that each photo record names, each side of a conflict too; none of a removed one."""
    found: dict[str, frozenset[str]] = {}
    for record in fold(entries):
        values = [record.fields.get("sha256"), *(v for _, v in record.conflicts.get("sha256", ()))]
        named = frozenset(v for v in values if isinstance(v, str))
        found[record.id] = frozenset() if record.removed else named
    return found


def photos_named(entries: Iterable[Entry]) -> frozenset[str]:
    """Return the hashes that the standing photo records of some entries name."""
    return frozenset[str]().union(*hashes_by_record(entries).values())

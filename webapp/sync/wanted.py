"""The photos that the server wants: those that standing records name and that are not here whole.

What was folded is remembered in memory for as long as the entries, and the log of photos, say that it is the
same; of what went on since only that is read.  Nothing of it is stored.  A list that was told has a stamp:
where the log of photos stood, and a digest of the list (tests/sync/wants_model.py).
"""

import threading
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import NamedTuple

from sqlalchemy import Connection

from ..records.entry import Entry
from ..records.fold import fold
from ..records.wants import digest_text, share_of
from ..store import change_rows, erasure_rows, kept_rows, photo_rows
from ..store.engine import reading
from ..store.entry_some import Identity

LOOKED_AT = 100  # files of a job whose sizes one answer compares; of more, each gets its turn


class Version(NamedTuple):
    """What changes with a job's entries, its acts of the eraser, and the photos that are here."""

    entries: str
    acts: str
    photos: str | None


@dataclass
class _PhotosOfJob:
    """The photos that a job's records name, and the sizes of those that were last seen whole."""

    version: Version
    named: dict[str, frozenset[str]]  # by record; of a removed one none
    entries: dict[str, list[Identity]]  # by record: all that tell of it
    ever: dict[str, frozenset[str]]  # by record: what any of those ever named
    hashes: Counter[str]  # how many records name each
    here: dict[str, int] = field(default_factory=dict)
    lost: dict[str, int] = field(default_factory=dict)  # known, but not whole in its place
    remarks: dict[str, str] = field(default_factory=dict)  # on those here that no report will show
    wanted: set[str] = field(default_factory=set)
    digest: int = 0
    turn: int = 0

    @classmethod
    def of(cls, version: Version, entries: Iterable[Entry]) -> "_PhotosOfJob":
        """Return those of all photo entries of a job; which are here is not known yet."""
        entries = list(entries)
        named = hashes_by_record(entries)
        found = cls(version, named, {}, {}, Counter(h for own in named.values() for h in own))
        for entry in entries:
            found.note(entry)
        return found

    def note(self, entry: Entry) -> None:
        """Note who tells of a record, and what that names."""
        record_id, sha256 = entry["record_id"], entry["fields"].get("sha256")
        self.entries.setdefault(record_id, []).append((entry["writer"], entry["number"]))
        before = self.ever.get(record_id, frozenset())
        if isinstance(sha256, str) and sha256 not in before:
            before |= {sha256}
        self.ever[record_id] = before

    def rename(self, record_id: str, hashes: frozenset[str]) -> set[str]:
        """Note what a record names now; return what it names, or did until now."""
        before = self.named.get(record_id, frozenset())
        self.hashes.subtract(before)
        self.hashes.update(hashes)
        self.named[record_id] = hashes
        for sha256 in before - hashes:
            if not self.hashes[sha256]:
                del self.hashes[sha256]
        return {*before, *hashes}

    def want(self, sha256: str, wanted: bool) -> bool:
        """Set whether a photo is wanted; False if that is nothing new."""
        if wanted == (sha256 in self.wanted):
            return False
        (self.wanted.add if wanted else self.wanted.discard)(sha256)
        self.digest ^= share_of(sha256)
        return True

    def in_turn(self, sizes: dict[str, int]) -> list[str]:
        """Return the photos whose files are looked at this time: all, or of many the next ones in turn."""
        if len(sizes) <= LOOKED_AT:
            return list(sizes)
        self.turn = (self.turn + LOOKED_AT) % len(sizes)
        return list(islice(sizes, self.turn, self.turn + LOOKED_AT))


class Wanted:
    """What is wanted of each job, as one process knows it."""

    def __init__(self, is_whole: Callable[[str, int], bool]) -> None:
        """``is_whole`` says whether a photo's file has its size: one that was lost or cut is wanted again."""
        self.is_whole = is_whole
        self._jobs: dict[str, _PhotosOfJob] = {}
        self._by_several: Counter[str] = Counter()  # photos that jobs want, by how many do
        self._shared: set[str] = set()  # those that more than one wants
        self.lock = threading.RLock()

    def bring_up(self, connection: Connection, job_id: str, version: Version) -> None:
        """Take in what went on in a job, and which of its photos came."""
        known = self._jobs.get(job_id)
        if known is None or known.version.acts != version.acts:
            known = self.read_anew(connection, job_id, version)
        elif known.version != version and not self._catch_up(connection, job_id, known, version):
            known = self.read_anew(connection, job_id, version)
        self.look_at_files(job_id, known)

    def read_anew(self, connection: Connection, job_id: str, version: Version) -> _PhotosOfJob:
        """Read all photo entries of a job."""
        made = _PhotosOfJob.of(version, kept_rows.kept(connection, job_id, "photo"))
        if before := self._jobs.get(job_id):
            for sha256 in list(before.wanted):
                self._want(before, sha256, wanted=False)
        self._jobs[job_id] = made
        self._settle(connection, made, made.hashes)
        return made

    def _catch_up(self, connection: Connection, job_id: str, known: _PhotosOfJob, version: Version) -> bool:
        """Take in the entries and photos that came since; False where all have to be read."""
        touched, all_of_them = set[str](), False
        if known.version.entries != version.entries:
            if _is_ahead(job_id, version.entries, known.version.entries):
                return True  # another thread has read what came after this one began
            then = change_rows.since(connection, job_id, known.version.entries)
            if then is None:
                return False
            touched = take_in(connection, job_id, known, then)
        photos = known.version.photos
        if photos != version.photos or photos is None:
            if photos and version.photos and _is_ahead(change_rows.PHOTOS, version.photos, photos):
                version = version._replace(photos=photos)
            else:
                came = change_rows.since(connection, change_rows.PHOTOS, photos) if photos else None
                touched |= {h for h in came or () if h in known.hashes}
                all_of_them = came is None
        self._settle(connection, known, touched | known.hashes.keys() if all_of_them else touched)
        known.version = version
        return True

    def _settle(self, connection: Connection, known: _PhotosOfJob, hashes: Iterable[str]) -> None:
        """Find out of some photos whether they are here, and so whether they are wanted."""
        asked = list(hashes)
        rows = photo_rows.find_all(connection, asked)
        erased = erasure_rows.erased_photos(connection, asked)
        remarks = photo_rows.remarks(connection, rows)
        for sha256 in asked:
            for before in (known.here, known.lost, known.remarks):
                before.pop(sha256, None)
            named, row = sha256 in known.hashes, rows.get(sha256)
            if named and row:
                whole = self.is_whole(sha256, row["size_bytes"])
                (known.here if whole else known.lost)[sha256] = row["size_bytes"]
                if sha256 in remarks:
                    known.remarks[sha256] = remarks[sha256]
            self._want(known, sha256, wanted=named and sha256 not in known.here and sha256 not in erased)

    def look_at_files(self, job_id: str, known: _PhotosOfJob) -> None:
        """See whether files were lost, or are there again."""
        for sha256 in known.in_turn(known.here):
            if not self.is_whole(sha256, known.here[sha256]):
                known.lost[sha256] = known.here.pop(sha256)
                self._want(known, sha256, wanted=True)
        for sha256 in known.in_turn(known.lost):
            if self.is_whole(sha256, known.lost[sha256]):
                known.here[sha256] = known.lost.pop(sha256)
                self._want(known, sha256, wanted=False)

    def _want(self, known: _PhotosOfJob, sha256: str, *, wanted: bool) -> None:
        if known.want(sha256, wanted):
            self._by_several[sha256] += 1 if wanted else -1
            (self._shared.add if self._by_several[sha256] > 1 else self._shared.discard)(sha256)
            if not self._by_several[sha256]:
                del self._by_several[sha256]

    def all_of(self, job_ids: Iterable[str]) -> set[str]:
        """Return the photos that are wanted of some jobs."""
        return set[str]().union(*(known.wanted for known in self._some(job_ids)))

    def among(self, hashes: Iterable[str], job_ids: Iterable[str]) -> set[str]:
        """Return those of ``hashes`` that are wanted of some jobs."""
        some = self._some(job_ids)
        return {sha256 for sha256 in hashes if any(sha256 in known.wanted for known in some)}

    def remarks(self, job_ids: Iterable[str]) -> dict[str, str]:
        """Return why no report will show photos of some jobs that are here."""
        found: dict[str, str] = {}
        for known in self._some(job_ids):
            found |= known.remarks
        return found

    def digest(self, job_ids: Iterable[str]) -> str:
        """Return the digest of the list of some jobs; a photo that several want is in it once."""
        some = [known for known in self._some(job_ids) if known.wanted]
        digest = 0
        for known in some:
            digest ^= known.digest
        for sha256 in self._shared if len(some) > 1 else ():
            times = sum(sha256 in known.wanted for known in some)
            if times and not times % 2:
                digest ^= share_of(sha256)
        return digest_text(digest)

    def touched(self, connection: Connection, job_id: str, then: Mapping[str, int]) -> set[str]:
        """Return the photos that a job's records which went on have ever named; ``then``: from where."""
        known, found = self._jobs[job_id], set[str]()
        for writer, number in then.items():
            for entry in kept_rows.kept_after(connection, (job_id, writer, number), "photo"):
                found |= known.ever.get(entry["record_id"], frozenset())
        return found

    def _some(self, job_ids: Iterable[str]) -> list[_PhotosOfJob]:
        return [known for job_id in job_ids if (known := self._jobs.get(job_id))]


def take_in(connection: Connection, job_id: str, known: _PhotosOfJob, then: Mapping[str, int]) -> set[str]:
    """Take in the photo entries that came since; return the photos that their records name or named."""
    touched = set[str]()
    for writer, number in then.items():
        for entry in kept_rows.kept_after(connection, (job_id, writer, number), "photo"):
            record_id, fields = entry["record_id"], entry["fields"]
            is_new = record_id not in known.named
            known.note(entry)
            if is_new:
                touched |= known.rename(record_id, photos_named([entry]))
            elif not known.named[record_id] or "sha256" in fields or "removed" in fields:
                own = (kept_rows.kept_one(connection, job_id, *one) for one in known.entries[record_id])
                touched |= known.rename(record_id, photos_named([one for one in own if one]))
    return touched


def _is_ahead(scope: str, mine: str, known: str) -> bool:
    """Say whether what is known is of a later moment of this very log than the one that is answered from."""
    if change_rows.place_of(known) <= change_rows.place_of(mine):
        return False
    with reading() as now:
        return change_rows.since(now, scope, known) is not None


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

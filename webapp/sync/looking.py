"""The slow look in the background: is every photo still what its name says, is every job still whole?

It reads at a gentle pace, one photo or a piece of a job at a time, and begins again a day after it ended.
Where it stands is in a file, so that a restart goes on.  A damaged photo is kept aside and so asked from the
phones again; a damaged job is refused by itself until a later look finds it whole.
"""

import json
import os
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import asdict, dataclass
from pathlib import Path

from sqlalchemy import select

from .. import timesource
from ..store import entry_rows, whole_jobs
from ..store.damage import is_damage
from ..store.engine import reading
from ..store.filelock import try_lock
from ..store.photo_rows import PHOTO
from .photos import Photos
from .summaries import Summaries

FILE = "looking.json"
FIRST_AFTER_S = 20.0
EVERY_S = 86_400.0
AGAIN_AFTER_FAULT_S = 60.0
BYTES_A_SECOND = 4_000_000
ENTRIES_A_SECOND = 20_000
AT_ONCE = 100
KEPT_EVERY_S = 5.0
Tell = Callable[[str, dict[str, object]], None]


@dataclass
class Stand:
    """How far the look has come: the last photo and job, and when the last round ended."""

    photo: str = ""
    job: str = ""
    ended_s: float = 0.0  # seconds since 1970


class Looking:
    """One thread that looks at one data folder."""

    def __init__(
        self,
        folder: Path,
        photos: Photos,
        summaries: Summaries,
        context: Callable[[], AbstractContextManager[object]],
        tell: Tell,
    ) -> None:
        """``context`` gives the database to the thread; ``tell`` is told what was found damaged."""
        self._path, self._photos, self._summaries = folder / FILE, photos, summaries
        self._context, self._tell = context, tell
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._kept_at_s = 0.0
        self.damaged_photos: set[str] = set()

    @property
    def all_whole(self) -> bool:
        """Say whether nothing was found damaged that still is."""
        return not (self._summaries.damaged or self.damaged_photos)

    def start(self) -> None:
        """Begin, once for each server."""
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="looking", daemon=True)
            self._thread.start()

    def close(self) -> None:
        """End, within the photo that is being read."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(10)

    def _run(self) -> None:
        wait_s = FIRST_AFTER_S
        while not self._stop.wait(wait_s):
            try:
                with self._alone() as first, self._context():
                    wait_s = self.look() if first else EVERY_S
            except Exception as error:  # it must not end with a fault that may pass, such as a full disk
                self._tell("look_failed", {"error": f"{type(error).__name__}: {error}"})
                wait_s = AGAIN_AFTER_FAULT_S

    def _alone(self) -> "_Turn":
        """Of several processes that share a folder one looks."""
        return _Turn(self._path.with_suffix(".turn"))

    def look(self) -> float:
        """Go on to the end of the round; return after how many seconds the next one begins."""
        stand = self._read()
        rest_s = stand.ended_s + EVERY_S - timesource.now_utc().timestamp()
        if 0 < rest_s <= EVERY_S and not stand.photo and not stand.job:
            return rest_s
        self._look_at_jobs(stand)
        self._look_at_photos(stand)
        if not self._stop.is_set():
            self._keep(Stand(ended_s=timesource.now_utc().timestamp()), at_once=True)
        return EVERY_S

    def _look_at_jobs(self, stand: Stand) -> None:
        with reading() as connection:
            jobs, _ = entry_rows.jobs_found(connection)
        for job_id in sorted(jobs):
            if job_id <= stand.job or stand.photo:
                continue
            if self._stop.is_set():
                return
            self._look_at_job(job_id)
            stand.job = job_id
            self._keep(stand)

    def _look_at_job(self, job_id: str) -> None:
        count = 0
        try:
            with reading() as connection:
                for _ in whole_jobs.texts_of_job(connection, job_id):
                    count += 1
        except Exception as error:
            if not is_damage(error):
                raise
            if job_id not in self._summaries.damaged:
                self._tell("job_damaged", {"job_id": job_id})
            self._summaries.damaged.add(job_id)
        else:
            self._summaries.damaged.discard(job_id)
        self._stop.wait(count / ENTRIES_A_SECOND)

    def _look_at_photos(self, stand: Stand) -> None:
        if self._photos.place.trusted:
            return
        for sha256, size_bytes in self._rows(stand.photo):
            if self._stop.is_set():
                return
            here = self._photos.place.size(sha256)
            if here is not None and (here != size_bytes or not self._photos.prove(sha256)):
                self.damaged_photos.add(sha256)
                self._tell("photo_damaged", {"sha256": sha256, "size_bytes": here})
            elif here is not None:
                self.damaged_photos.discard(sha256)
                self._photos.look_whether_shown(sha256, size_bytes)
            stand.photo = sha256
            self._keep(stand)
            self._stop.wait((here or 0) / BYTES_A_SECOND)

    def _rows(self, after: str) -> Iterator[tuple[str, int]]:
        """Yield hash and size of the photos after one, a few at a time."""
        while True:
            query = select(PHOTO.c.sha256, PHOTO.c.size_bytes).where(PHOTO.c.sha256 > after)
            with reading() as connection:
                rows = connection.execute(query.order_by(PHOTO.c.sha256).limit(AT_ONCE)).all()
            if not rows:
                return
            yield from ((sha256, size_bytes) for sha256, size_bytes in rows)
            after = rows[-1].sha256

    def _read(self) -> Stand:
        try:
            found = json.loads(self._path.read_text(encoding="utf-8"))
            return Stand(str(found["photo"]), str(found["job"]), float(found["ended_s"]))
        except (OSError, ValueError, KeyError, TypeError):
            return Stand()

    def _keep(self, stand: Stand, *, at_once: bool = False) -> None:
        now_s = timesource.monotonic_s()
        if not at_once and now_s - self._kept_at_s < KEPT_EVERY_S:
            return
        self._kept_at_s = now_s
        new = self._path.with_suffix(".new")
        new.write_text(json.dumps(asdict(stand)), encoding="utf-8")
        os.replace(new, self._path)


class _Turn:
    """A file lock that is not waited for."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def __enter__(self) -> bool:
        self._file = self._path.open("ab")
        return try_lock(self._file.fileno())

    def __exit__(self, *_: object) -> None:
        self._file.close()

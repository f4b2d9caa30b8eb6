"""What an answer says of the photos that the server wants of the jobs of a request.

A sender that keeps the list, and can take differences, gets those photos that were touched since its stamps:
``photos_wanted`` and ``photos_unwanted``.  The digest in the stamp proves the list that it makes of them.
"""

import hashlib
from collections.abc import Mapping

from sqlalchemy import Connection

from ..messages import t
from ..store import change_rows
from .wanted import Version, Wanted


class Wants:
    """The photos wanted of the jobs of one request, which are added one by one."""

    def __init__(self, connection: Connection, wanted: Wanted) -> None:
        self._connection, self._wanted = connection, wanted
        self._place = change_rows.stamp(connection, change_rows.PHOTOS)
        self._jobs: list[str] = []
        self._touched: set[str] | None = set()  # None: not known of every job
        self._whole = True

    def add(self, job_id: str, entries: str, acts: str, then: Mapping[str, int] | None) -> None:
        """Add a job; ``then``: where its writers were at the sender's stamp, if that is known."""
        with self._wanted.lock:
            self._whole = False
            self._wanted.bring_up(self._connection, job_id, Version(entries, acts, self._place))
            self._jobs.append(job_id)
            if then is None:
                self._touched = None
            elif self._touched is not None:
                self._touched |= self._wanted.touched(self._connection, job_id, then)
            self._whole = True

    def all(self) -> list[str]:
        """Return the whole list."""
        with self._wanted.lock:
            return sorted(self._wanted.all_of(self._jobs))

    def told(self, known: str, differences: bool) -> tuple[dict[str, object], str | None]:
        """Return what is told to a sender that keeps the list of a stamp, and the stamp of the new one."""
        if not differences:
            return self._told_whole(known)
        with self._wanted.lock:
            digest = self._wanted.digest(self._jobs)
            stamp = f"{self._place}.{digest}" if self._place and self._whole else None
            before, touched = known.partition(".")[2], self._touched_since(known)
            if touched is None or stamp is None or (not touched and before != digest):
                return {"photos_wanted": self.all()}, stamp
            wanted = self._wanted.among(touched, self._jobs)
            parts = {"photos_wanted": sorted(wanted), "photos_unwanted": sorted(touched - wanted)}
        found: dict[str, object] = {name: hashes for name, hashes in parts.items() if hashes}
        return (found | {"photos_since": known} if found else {}), stamp

    def _touched_since(self, known: str) -> set[str] | None:
        """Return the photos that were touched since the stamps of a request; None where that is not known."""
        came = change_rows.since(self._connection, change_rows.PHOTOS, known.partition(".")[0])
        return None if came is None or self._touched is None else self._touched | came.keys()

    def remarks(self, known: str, *, whole: bool) -> list[dict[str, object]]:
        """Return why no report will show photos of the jobs: of all, or of those touched since the stamps."""
        with self._wanted.lock:
            remarks = self._wanted.remarks(self._jobs)
            touched = None if whole or not remarks else self._touched_since(known)
        if touched is not None:
            remarks = {sha256: why for sha256, why in remarks.items() if sha256 in touched}
        by_reason = {
            why: sorted(h for h in remarks if remarks[h] == why) for why in sorted({*remarks.values()})
        }
        return [
            {"note": t(f"api.photo_not_shown.{why}"), "photos": found} for why, found in by_reason.items()
        ]

    def _told_whole(self, known: str) -> tuple[dict[str, object], str | None]:
        """Tell a sender that takes no differences: all of it, where it is not the same as before."""
        wanted = self.all()
        stamp = hashlib.sha256("".join(wanted).encode()).hexdigest()[:16]
        return ({} if known == stamp else {"photos_wanted": wanted}), stamp

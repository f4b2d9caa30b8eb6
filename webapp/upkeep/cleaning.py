"""What is cleared away by age: uploads that broke off, used invitations, packs, lines of the audit log.

Nothing goes that was entered, and no photo; of an upload that a record still waits for the pieces stay.  The
rows go in one transaction with the line of the audit log that counts everything, the files after it.  Where
that is broken off, the files that are left are found, counted and cleared away the next time.

Ages are counted to a moment that goes on by at most 7 days at a look, and not at all within a day of the
last: one start with the clock years ahead makes nothing old.
"""

import json
import os
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from .. import timesource
from ..config import KeepDays
from ..store import access_rows, age_rows
from ..store.engine import reading, writing
from ..store.filelock import open_lock, try_lock
from ..sync.exchange import now_text
from ..sync.photos import SHA256, Photos
from ..sync.sender import Sender
from ..web.packing import USED

FILE, TURN = "cleaning.json", "cleaning.turn"
DAY_S = 86_400.0
STEP_S = 7 * DAY_S
HALVES_AT_ONCE = 1_000


@dataclass
class Stand:
    """The last look: when it was, and to which moment ages were counted [s since 1970]."""

    at_s: float
    counted_to_s: float


@dataclass
class Old:
    """What is older than it is to be kept; ``waiting``: uploads that a record waits for."""

    uploads: list[str] = field(default_factory=list)
    waiting: int = 0
    invitations: int = 0
    packs: list[Path] = field(default_factory=list)
    audit: list[int] = field(default_factory=list)
    counted_to: str = ""  # the day to which ages were counted
    more: bool = False  # there is more than is cleared away at once

    def counts(self) -> dict[str, int]:
        """Return how much of each goes."""
        gone = {"uploads": len(self.uploads), "invitations": self.invitations}
        return gone | {"packs": len(self.packs), "audit": len(self.audit)}


@dataclass(frozen=True)
class Ground:
    """What a server holds beside its database, and how long it keeps what."""

    folder: Path
    photos: Photos
    keep: KeepDays


def on_its_day(ground: Ground) -> Old | None:
    """Clean where a day has gone by since the last look; None where it has not.  A server asks now and then.

    The first look of a data folder takes nothing away: it is the one that a wrong clock can lead astray.
    """
    stand, now_s = _read(ground.folder), timesource.now_utc().timestamp()
    if stand is None:
        _keep(ground.folder, Stand(now_s, now_s))
        return None
    if 0 <= now_s - stand.at_s < DAY_S:
        return None
    return clean(ground)


def clean(ground: Ground) -> Old | None:
    """Clear away now what is old, and return what went; None where another process is at it."""
    handle = open_lock(ground.folder / TURN)
    try:
        if not try_lock(handle):
            return None
        stand = _next(_read(ground.folder))
        old = _clear(ground, stand.counted_to_s)
        if not old.more:
            _keep(ground.folder, stand)
        return old
    finally:
        os.close(handle)


def look(ground: Ground) -> Old:
    """Return what would go now; nothing is changed."""
    return _old(ground, _next(_read(ground.folder)).counted_to_s)


def _clear(ground: Ground, to_s: float) -> Old:
    old = _old(ground, to_s)
    with writing() as connection:
        if ground.keep.invitations:
            old.invitations = age_rows.forget_invitations(connection, _before(to_s, ground.keep.invitations))
        if any(old.counts().values()):
            access_rows.note(
                connection,
                at=now_text(),
                who=Sender().name,
                address="",
                action="cleaned",
                detail={name: count for name, count in old.counts().items() if count},
            )
        age_rows.forget_lines(connection, old.audit)  # after it: the number of the last is not used again
    before_s = to_s - ground.keep.uploads * DAY_S
    for sha256 in old.uploads:
        ground.photos.drop_half(sha256, before_s)
    for path in old.packs:
        with suppress(OSError):  # Windows keeps a file that is being read
            path.unlink(missing_ok=True)
            for end in (".state", USED):
                path.with_suffix(end).unlink(missing_ok=True)
    return old


def _old(ground: Ground, to_s: float) -> Old:
    keep, old = ground.keep, Old(counted_to=_text(to_s)[:10])
    with reading() as connection:
        if keep.invitations:
            before = _before(to_s, keep.invitations)
            old.invitations = len(age_rows.old_invitations(connection, before))
        if keep.audit:
            old.audit = age_rows.old_lines(connection, _before(to_s, keep.audit))
    if keep.uploads:
        old.uploads, old.waiting = _old_halves(ground.photos, to_s - keep.uploads * DAY_S)
        old.uploads, old.more = old.uploads[:HALVES_AT_ONCE], len(old.uploads) > HALVES_AT_ONCE
    if keep.packs:
        old.packs = _old_packs(ground.folder, to_s - keep.packs * DAY_S)
    old.more |= len(old.audit) == age_rows.LINES_AT_ONCE
    return old


def _old_halves(photos: Photos, before_s: float) -> tuple[list[str], int]:
    """Return the uploads that broke off before a moment and that nobody needs, and how many others did."""
    old = []
    for sha256 in filter(SHA256.fullmatch, photos.place.gathering()):  # what else lies there is not ours
        came_s = photos.place.last_piece_s(sha256)
        if came_s is not None and came_s < before_s:
            old.append(sha256)
    missing = {sha256 for sha256 in old if photos.row(sha256) is None}
    with reading() as connection:
        waiting = age_rows.named(connection, missing)
    return [sha256 for sha256 in old if sha256 not in waiting], len(waiting)


def _old_packs(folder: Path, before_s: float) -> list[Path]:
    """Return the packs that were neither made nor fetched since a moment."""
    found = []
    for path in sorted((folder / "packs").glob("*.zip")):
        times = [one.stat().st_mtime for one in (path, path.with_suffix(USED)) if one.exists()]
        if times and max(times) < before_s:
            found.append(path)
    return found


def _next(stand: Stand | None) -> Stand:
    now_s = timesource.now_utc().timestamp()
    if stand is None:
        return Stand(now_s, now_s)
    if now_s < stand.at_s:  # the clock was set back
        return Stand(now_s, min(now_s, stand.counted_to_s))
    if now_s - stand.at_s < DAY_S:
        return stand
    return Stand(now_s, min(now_s, stand.counted_to_s + STEP_S))


def _before(to_s: float, days: int) -> str:
    return _text(to_s - days * DAY_S)


def _text(moment_s: float) -> str:
    """Return a moment as the database holds it."""
    return datetime.fromtimestamp(max(moment_s, 0.0), UTC).isoformat(timespec="milliseconds")


def _read(folder: Path) -> Stand | None:
    try:
        found = json.loads((folder / FILE).read_text(encoding="utf-8"))
        return Stand(float(found["at_s"]), float(found["counted_to_s"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _keep(folder: Path, stand: Stand) -> None:
    new = (folder / FILE).with_suffix(".new")
    new.write_text(json.dumps(asdict(stand)), encoding="utf-8")
    os.replace(new, folder / FILE)

"""What is left to do once an act was expunged: photo files, unused pages, packs made before.

It may be broken off anywhere and done again: what is still to do is told by the rows that the act left.
Backups and packs that somebody has taken away are out of reach.
"""

from contextlib import suppress
from pathlib import Path

from ..access.granting import By
from ..errors import AppError
from ..store import erasure_rows
from ..store.engine import reading, rewrite, writing
from ..store.photo_storage import PhotoStorage
from .acts import expunge_due


def on_its_day(folder: Path, place: PhotoStorage) -> None:
    """Expunge what can no longer be undone, and do what is left to do; a running server asks now and then."""
    if expunge_due(By()):
        drop_packs(folder)
    clear(folder, place)


def clear(folder: Path, place: PhotoStorage) -> bool:
    """Do what is left to do; False where some of it has to wait, for a reader, the photos or the disk."""
    with reading() as connection:
        photos = erasure_rows.photos_going(connection)
        left = erasure_rows.uncleared(connection)
    for sha256 in photos:
        try:
            place.delete(sha256)
        except AppError:  # the store of photos cannot be reached: the rows stay, and it is done another time
            return False
        with writing() as connection:
            erasure_rows.photo_is_gone(connection, sha256)
    if not left:
        return True
    drop_packs(folder)
    if not rewrite(erasure_rows.REWRITTEN):
        return False
    with writing() as connection:
        erasure_rows.set_cleared(connection, left)
    return True


def drop_packs(folder: Path) -> None:
    """Take away every pack on the server: it may hold what was erased, and is made again when asked for."""
    for path in (folder / "packs").glob("*.zip"):
        with suppress(OSError):
            path.unlink()

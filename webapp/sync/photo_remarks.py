"""Why no report will show a photo: looked at as it comes, and kept beside its row."""

from sqlalchemy.exc import DBAPIError

from ..errors import AppError
from ..picture_header import why_not_shown
from ..store import photo_rows
from ..store.damage import is_damage
from ..store.engine import reading, writing
from ..store.photo_storage import Bytes, PhotoStorage

HEAD_BYTES = 256 * 1024  # of a photo, which tell its kind and size


def remark_on(place: PhotoStorage, sha256: str, size_bytes: int, head: Bytes | None = None) -> str:
    """Return why no report will show a photo that is in its place; "" where it may.

    ``head``: the first of its bytes, where they are at hand.
    """
    if head is None:
        try:
            with place.open(sha256) as stream:
                head = stream.read(HEAD_BYTES)
        except (AppError, OSError):  # it is kept, which is what matters; the slow look tries again
            return ""
    return why_not_shown(bytes(head), size_bytes)


def keep_remarks(found: dict[str, str]) -> bool:
    """Keep what is new of some remarks, and say whether anything is; damage there keeps no photo out."""
    with reading() as connection:
        known = photo_rows.remarks(connection, found)
    new = {sha256: why for sha256, why in found.items() if why != known.get(sha256, "")}
    try:
        if new:
            with writing() as connection:
                photo_rows.put_remarks(connection, new)
    except DBAPIError as error:  # in a transaction of its own: SQLite goes on with none that met damage
        if not is_damage(error):
            raise
        return False
    return bool(new)

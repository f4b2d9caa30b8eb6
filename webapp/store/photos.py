"""Photo rows, and where the bytes lie."""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, Table, insert, select

from .models import Photo

PHOTO: Table = Photo.__table__  # type: ignore[assignment]
_AT_ONCE = 500


def find(connection: Connection, sha256: str) -> dict[str, Any] | None:
    """Return a photo's row, or None."""
    row = connection.execute(select(PHOTO).where(PHOTO.c.sha256 == sha256)).mappings().first()
    return dict(row) if row else None


def find_all(connection: Connection, hashes: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the rows of those photos of ``hashes`` that are here, by hash."""
    wanted, found = list(hashes), {}
    for start in range(0, len(wanted), _AT_ONCE):
        query = select(PHOTO).where(PHOTO.c.sha256.in_(wanted[start : start + _AT_ONCE]))
        found.update({row["sha256"]: dict(row) for row in connection.execute(query).mappings()})
    return found


def add(connection: Connection, sha256: str, size_bytes: int, media_type: str, received_at: str) -> None:
    """Store a photo's row unless it is there."""
    if find(connection, sha256) is None:
        row = {"sha256": sha256, "size_bytes": size_bytes, "media_type": media_type}
        connection.execute(insert(PHOTO), {**row, "received_at": received_at})

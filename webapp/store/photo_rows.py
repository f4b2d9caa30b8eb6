"""Photo rows, and where the bytes lie."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from operator import itemgetter

from sqlalchemy import Connection, RowMapping, Table, bindparam, delete, select
from sqlalchemy.dialects import postgresql, sqlite

from ..errors import AppError
from . import change_rows, damage
from .models import Photo, PhotoRemark
from .rows import PhotoRow

PHOTO: Table = Photo.__table__  # type: ignore[assignment]
REMARK: Table = PhotoRemark.__table__  # type: ignore[assignment]
_AT_ONCE = 500
# Made once: to build a statement takes longer than to run it.
_BY_HASH = select(PHOTO).where(PHOTO.c.sha256 == bindparam("sha256"))
# The size of bytes that were just proved is right, whatever a damaged row says.
_ADD = {
    "sqlite": (new := sqlite.insert(PHOTO)).on_conflict_do_update(
        index_elements=["sha256"],
        set_={"size_bytes": new.excluded.size_bytes},
        where=PHOTO.c.size_bytes != new.excluded.size_bytes,
    ),
    "postgresql": (new_pg := postgresql.insert(PHOTO)).on_conflict_do_update(
        index_elements=["sha256"],
        set_={"size_bytes": new_pg.excluded.size_bytes},
        where=PHOTO.c.size_bytes != new_pg.excluded.size_bytes,
    ),
}
_PUT_REMARK = {
    "sqlite": (remark := sqlite.insert(REMARK)).on_conflict_do_update(
        index_elements=["sha256"], set_={"why": remark.excluded.why}
    ),
    "postgresql": (remark_pg := postgresql.insert(REMARK)).on_conflict_do_update(
        index_elements=["sha256"], set_={"why": remark_pg.excluded.why}
    ),
}


def find(connection: Connection, sha256: str) -> PhotoRow | None:
    """Return a photo's row, or None."""
    row = connection.execute(_BY_HASH, {"sha256": sha256}).mappings().first()
    return _row(row) if row else None


def some(connection: Connection, count: int) -> list[str]:
    """Return the hashes of a few photos that have a row."""
    return list(connection.execute(select(PHOTO.c.sha256).limit(count)).scalars())


def find_all(connection: Connection, hashes: Iterable[str]) -> dict[str, PhotoRow]:
    """Return the rows of those photos of ``hashes`` that are here, by hash."""
    wanted = list(hashes)
    found: dict[str, PhotoRow] = {}
    for start in range(0, len(wanted), _AT_ONCE):
        query = select(PHOTO).where(PHOTO.c.sha256.in_(wanted[start : start + _AT_ONCE]))
        found.update({row["sha256"]: _row(row) for row in connection.execute(query).mappings()})
    return found


def add(connection: Connection, rows: Sequence[PhotoRow]) -> None:
    """Store the rows of photos, and note that they came; of those here only a wrong size is put right."""
    # In one order: two transactions with the same photos would else wait for each other.
    in_order = sorted(rows, key=itemgetter("sha256"))
    connection.execute(_ADD[connection.dialect.name], in_order)
    change_rows.note_photos(connection, (row["sha256"] for row in in_order))


def remarks(connection: Connection, hashes: Iterable[str]) -> dict[str, str]:
    """Return why no report will show some of the photos of ``hashes``, by hash."""
    wanted = list(hashes)
    found: dict[str, str] = {}
    with suppress(AppError), damage.one_job(connection):  # where it is damaged, photos go on without
        for start in range(0, len(wanted), _AT_ONCE):
            query = select(REMARK).where(REMARK.c.sha256.in_(wanted[start : start + _AT_ONCE]))
            found.update({row.sha256: row.why for row in connection.execute(query)})
    return found


def put_remarks(connection: Connection, found: Mapping[str, str]) -> None:
    """Keep why no report will show photos, by hash; "" for one that it will.  The caller notes the change."""
    for sha256 in sorted(found):
        if found[sha256]:
            row = {"sha256": sha256, "why": found[sha256]}
            connection.execute(_PUT_REMARK[connection.dialect.name], row)
        else:
            connection.execute(delete(REMARK).where(REMARK.c.sha256 == sha256))


def _row(row: RowMapping) -> PhotoRow:
    return {
        "sha256": row["sha256"],
        "size_bytes": row["size_bytes"],
        "media_type": row["media_type"],
        "received_at": row["received_at"],
    }

"""What an act of the eraser does to the rows of a server, in the transaction of whoever brings it.

Doing it again changes nothing, so that a phone may bring an act back to a server that forgot it.
"""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, TypedDict

from sqlalchemy import Connection, delete

from ..errors import AppError
from ..messages import t
from ..records.entry import Entry, Rejection
from ..records.erasure import (
    CODE,
    EXPUNGED,
    QUARANTINED,
    UNDONE,
    Act,
    act_of,
    frame_of,
    is_erased,
    reasons_of,
    stamp,
)
from ..schemas.base import is_uuid
from ..schemas.entry import ENTRY_ID
from ..store import change_rows, erasure_rows, held_back_rows, photo_rows
from ..store.erasure_rows import ErasedPhotoRow, HiddenRow
from ..store.photo_rows import PHOTO
from ..store.rows import EntryRow, HeldBackRow, PhotoRow
from .stored import columns_of, held_back_row, text_of

MAX_ACTS, MAX_AGAIN = 200, 500  # of one job that a request may bring, or ask for


class Erasures:
    """The acts of some jobs, as a batch of entries meets them."""

    def __init__(self, connection: Connection, job_ids: Iterable[str]) -> None:
        self._connection = connection
        self._acts: dict[str, list[Act]] = {}
        for act in erasure_rows.acts(connection, job_ids):
            self._acts.setdefault(act.job_id, []).append(act)

    def standing(self, entry: Entry) -> Act | None:
        """Return the act that erased an entry; an expunged one before one that may be undone."""
        return _first(
            self._acts.get(entry["job_id"], ()), entry["writer"], entry["number"], (EXPUNGED, QUARANTINED)
        )

    def came_back(self, entry: Entry) -> bool:
        """Say whether an entry of which only the frame is here may come whole: no act stands against it."""
        return self.standing(entry) is None

    def hide(self, act: Act, row: EntryRow) -> None:
        """Keep a new entry whole beside, where its act may still be undone."""
        if act.state == QUARANTINED:
            erasure_rows.hide(self._connection, [_kept(act, "entry", row, row["aside"])])

    def fill(self, row: EntryRow) -> None:
        """Put an entry that came whole again in the place of its frame, and note that it came."""
        erasure_rows.rewrite(self._connection, row)
        change_rows.note_entries(self._connection, [row])


def _first(acts: Iterable[Act], writer: str, number: int, states: tuple[str, ...]) -> Act | None:
    found = [act for act in acts if act.state in states and act.covers(writer, number)]
    return min(found, key=lambda act: states.index(act.state), default=None)


def was_erased(aside: str | None) -> bool:
    """Say whether a row is the frame of an erased entry, by why it is set aside."""
    return aside is not None and CODE in aside and json.loads(aside).get("code") == CODE


def own_job(act: Any) -> Any:
    """Return the job that what may be an act names."""
    return act.get("job_id") if isinstance(act, dict) else None


def hear(connection: Connection, brought: Iterable[Any]) -> list[Act]:
    """Take acts that a phone brings back and this server once made; return those that were news."""
    key = erasure_rows.known_key(connection)
    found = [act for act in map(act_of, brought) if act is not None]
    return [act for act in found if key and act.is_proved(key) and apply(connection, act)]


class News(TypedDict, total=False):
    """What a phone is told of a job: acts, and entries that came back, with the marks of those aside."""

    acts: list[dict[str, object]]
    entries: list[Entry]
    aside: dict[str, Rejection]


@dataclass(frozen=True)
class Told:
    """What a phone says of a job's erasures: which it knows, brings back, and what it wants again."""

    stamp: str = ""
    acts: tuple[Any, ...] = ()
    again: tuple[str, ...] = ()


def told_of(value: Any) -> dict[str, Told]:
    """Return the part ``erased`` of a request; AppError if it is not of the form."""
    if not isinstance(value, dict):
        raise AppError("request_malformed", t("api.erased_object"), "erased")
    found = {}
    for job_id, own in value.items():
        parts: dict[Any, Any] = own if isinstance(own, dict) else {"": None}
        known, acts, again = parts.get("stamp", ""), parts.get("acts", []), parts.get("again", [])
        sound = (
            is_uuid(job_id)
            and set(parts) <= {"stamp", "acts", "again"}
            and isinstance(known, str)
            and isinstance(acts, list)
            and isinstance(again, list)
            and len(acts) <= MAX_ACTS
            and len(again) <= MAX_AGAIN
            and all(isinstance(one, str) and ENTRY_ID.fullmatch(one) for one in again)
        )
        if not sound:
            raise AppError("request_malformed", t("api.erased_object"), "erased")
        found[job_id] = Told(known, tuple(acts), tuple(again))
    return found


def news(connection: Connection, told: dict[str, Told], states: dict[str, dict[str, str]]) -> dict[str, News]:
    """Return what a phone does not know of each job: acts, and entries that came back."""
    found: dict[str, News] = {}
    changed = [job_id for job_id, own in told.items() if stamp(states.get(job_id, {})) != own.stamp]
    for job_id in changed:
        found[job_id] = {"acts": []}
    for act in erasure_rows.acts(connection, changed):
        found[act.job_id]["acts"].append(act.as_json())
    for job_id, own in told.items():
        if back := _whole_again(connection, job_id, own.again):
            found[job_id] = {**found.get(job_id, {}), **back}
    return found


def _whole_again(connection: Connection, job_id: str, identities: Iterable[str]) -> News:
    """Return entries whole of which a phone has the frames only."""
    entries, aside = [], {}
    for identity in identities:
        writer, _, number = identity.rpartition(":")
        row = erasure_rows.entry_of(connection, job_id, writer, int(number))
        if row is None or was_erased(row["aside"]):
            continue
        entries.append(json.loads(row["body"]))
        if row["aside"] is not None:
            aside[identity] = json.loads(row["aside"])
    return {"entries": entries, "aside": aside} if entries else {}


def apply(connection: Connection, act: Act) -> bool:
    """Do what an act says; False if it, or a later state of it, was done already."""
    before = erasure_rows.find(connection, act.id)
    if before is not None and not act.supersedes(before):
        return False
    erasure_rows.put(connection, act)
    change_rows.note_jobs(connection, [act.job_id])
    change_rows.note_photos(connection, act.photos)
    if act.state == UNDONE:
        _bring_back(connection, act)
        return True
    _hide_entries(connection, act)
    _hide_photos(connection, act)
    if act.state == EXPUNGED:
        erasure_rows.drop_hidden(connection, act.id)
        erasure_rows.set_photos(connection, act.id, erasure_rows.GOING)
    return True


def _hide_entries(connection: Connection, act: Act) -> None:
    aside = json.dumps(reasons_of(act))
    kept = []
    for row in list(erasure_rows.entries_of(connection, act)):
        if was_erased(row["aside"]):
            continue
        kept.append(_kept(act, "entry", row, row["aside"]))
        frame = frame_of(json.loads(row["body"]), act)
        erasure_rows.rewrite(connection, _row_of(frame, aside, row["received_at"]))
    for clash in list(erasure_rows.held_back_of(connection, act)):
        kept.append(_kept(act, "clash", clash, clash["reasons"]))
        held_back_rows.drop_held_back(connection, clash)
    erasure_rows.hide(connection, kept)


def _kept(act: Act, place: str, row: EntryRow | HeldBackRow, aside: str | None) -> HiddenRow:
    return {
        "erasure_id": act.id,
        "place": place,
        "job_id": row["job_id"],
        "writer": row["writer"],
        "number": row["number"],
        "sha256": row["sha256"],
        "body": row["body"],
        "aside": aside,
        "received_at": row["received_at"],
    }


def _row_of(entry: Entry, aside: str | None, received_at: str) -> EntryRow:
    body = text_of(entry)
    return columns_of(entry, body, hashlib.sha256(body.encode()).hexdigest(), aside, received_at)


def _hide_photos(connection: Connection, act: Act) -> None:
    noted = {row["sha256"] for row in erasure_rows.photos_of(connection, act.id)}
    rows = photo_rows.find_all(connection, act.photos)
    for sha256 in act.photos:
        if sha256 in noted and sha256 not in rows:
            continue
        own = rows.get(sha256)
        row: ErasedPhotoRow = {
            "erasure_id": act.id,
            "sha256": sha256,
            "state": erasure_rows.KEPT,
            "size_bytes": own["size_bytes"] if own else None,
            "media_type": own["media_type"] if own else None,
            "received_at": own["received_at"] if own else None,
        }
        erasure_rows.add_photo(connection, row)
    if rows:
        connection.execute(delete(PHOTO).where(PHOTO.c.sha256.in_(list(rows))))


def _bring_back(connection: Connection, act: Act) -> None:
    """Put everything back as it was, but for what another act took away too."""
    others = [one for one in erasure_rows.acts(connection, [act.job_id]) if one.stands and one.id != act.id]
    for row in erasure_rows.hidden(connection, act.id):
        if other := _first(others, row["writer"], row["number"], (EXPUNGED, QUARANTINED)):
            if other.state == QUARANTINED:
                erasure_rows.hide(connection, [{**row, "erasure_id": other.id}])
            continue
        if row["place"] == "clash":
            reasons = row["aside"] or "{}"
            again = held_back_row(row, row["body"], row["sha256"], reasons, row["received_at"])
            held_back_rows.add_held_back(connection, [again])
            continue
        entry, received_at = json.loads(row["body"]), row["received_at"]
        whole = columns_of(entry, row["body"], row["sha256"], row["aside"], received_at)
        erasure_rows.rewrite(connection, whole)
    erasure_rows.drop_hidden(connection, act.id)
    back = [photo for row in erasure_rows.photos_of(connection, act.id) if (photo := _photo_row(row))]
    erasure_rows.drop_photos(connection, act.id)
    still = erasure_rows.erased_photos(connection, [row["sha256"] for row in back])
    if rows := [row for row in back if row["sha256"] not in still]:
        photo_rows.add(connection, rows)


def _photo_row(row: ErasedPhotoRow) -> PhotoRow | None:
    size_bytes, media_type, received_at = row["size_bytes"], row["media_type"], row["received_at"]
    if size_bytes is None or media_type is None or received_at is None:
        return None
    return {
        "sha256": row["sha256"],
        "size_bytes": size_bytes,
        "media_type": media_type,
        "received_at": received_at,
    }


def frame_row(entry: Entry, act: Act | None, received_at: str, said: Rejection | None = None) -> EntryRow:
    """Return the row of the frame that is stored for an entry that comes after its act.

    ``said``: what a file that brings a frame says of it, for where its act is not known.
    """
    if act is None and said is not None and said.get("code") == CODE:
        return _row_of(entry, json.dumps(said), received_at)
    frame = entry if act is None or is_erased(entry) else frame_of(entry, act)
    return _row_of(frame, json.dumps(reasons_of(act)), received_at)

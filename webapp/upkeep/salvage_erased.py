"""What the eraser did, out of a damaged folder: what it hid comes out hidden, what is gone stays gone."""

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import cast

from sqlalchemy import Connection

from ..records.entry import Entry
from ..records.erasure import EXPUNGED, QUARANTINED, Act, act_of
from ..store import erasure_rows
from ..store.erasure_rows import KEPT, ErasedPhotoRow, HiddenRow
from ..store.rows import EntryRow
from ..sync.erasing import apply, frame_row
from ..sync.photos import SHA256, clean_media_type
from .sqlite_pages import Pages, Row

Hidden = tuple[str, str, str, str, int, str]  # the key of what is hidden


@dataclass
class FoundErased:
    """Acts, the keys that may prove them, and what they keep beside."""

    acts: dict[str, Act] = field(default_factory=dict)
    keys: set[str] = field(default_factory=set)
    hidden: dict[Hidden, HiddenRow] = field(default_factory=dict)
    photo_types: dict[str, str] = field(default_factory=dict)

    def take(self, row: Row) -> None:
        """Take a row by its shape, if it proves itself."""
        match row:
            case (str(), str(), str(), str(), int(), str(body)):
                self._take_act(body)
            case (erasure_rows.NAME, str(key)):
                self.keys.add(key)
            case (str(act), str("entry" | "clash" as place), str(), str(), int(), str(sha256), str(body), *_):
                if len(row) == 9 and (entry := proved(body, sha256)):
                    self._take_hidden(act, place, entry, row)
            case (str(), str(sha256), str(), int(), str(media_type), str()) if SHA256.fullmatch(sha256):
                self.photo_types[sha256] = media_type

    def _take_act(self, body: str) -> None:
        """Take an act; of several states of one the latest."""
        try:
            act = act_of(json.loads(body))
        except ValueError:
            return
        if act and (act.id not in self.acts or act.supersedes(self.acts[act.id])):
            self.acts[act.id] = act

    def _take_hidden(self, act_id: str, place: str, entry: Entry, row: Row) -> None:
        sha256, body, aside, received_at = row[5:9]
        job_id, writer, number = entry["job_id"], entry["writer"], entry["number"]
        self.hidden[act_id, place, job_id, writer, number, str(sha256)] = {
            "erasure_id": act_id,
            "place": place,
            "job_id": job_id,
            "writer": writer,
            "number": number,
            "sha256": str(sha256),
            "body": str(body),
            "aside": aside if isinstance(aside, str) else None,
            "received_at": str(received_at),
        }

    def proved_acts(self) -> tuple[str, list[Act]]:
        """Return the key of the server and the acts that it made, in the order of their making."""
        for key in sorted(self.keys):
            if own := [act for act in self.acts.values() if act.is_proved(key.encode())]:
                return key, sorted(own, key=lambda act: act.id)
        return "", []

    def of(self, acts: Iterable[Act]) -> Iterator[tuple[Act, HiddenRow]]:
        """Yield what those of some acts hide that can be undone."""
        undoable = {act.id: act for act in acts if act.state == QUARANTINED}
        for key, row in sorted(self.hidden.items()):
            if key[0] in undoable:
                yield undoable[key[0]], row

    def gone_photos(self) -> set[str]:
        """Return the photos that were expunged, and that nothing else may give back."""
        _, acts = self.proved_acts()
        kept = {sha256 for act in acts if act.state == QUARANTINED for sha256 in act.photos}
        return {sha256 for act in acts if act.state == EXPUNGED for sha256 in act.photos} - kept

    def frames(self) -> Iterator[EntryRow]:
        """Yield the frame of each entry that is hidden: its own may be lost."""
        for act, row in self.of(self.proved_acts()[1]):
            if row["place"] == "entry":
                yield frame_row(cast(Entry, json.loads(row["body"])), act, row["received_at"])

    def not_known(self) -> list[HiddenRow]:
        """Return what is hidden by an act that cannot be read: nobody could undo it."""
        known = {act.id for act in self.proved_acts()[1]}
        return [row for row in self.hidden.values() if row["erasure_id"] not in known]


def proved(body: str, sha256: str) -> Entry | None:
    """Return an entry whose text has its hash."""
    if hashlib.sha256(body.encode("utf-8", "replace")).hexdigest() != sha256:
        return None
    found = json.loads(body)
    is_entry = isinstance(found, dict) and {"job_id", "writer", "number"} <= found.keys()
    return cast(Entry, found) if is_entry else None


def erase_again(connection: Connection, found: FoundErased) -> int:
    """Do what the eraser had done, once all entries are in; return how many entries are hidden.

    An old page may have given back what was erased since.
    """
    key, acts = found.proved_acts()
    if not acts:
        return 0
    erasure_rows.put_key(connection, key)
    for act in acts:
        apply(connection, act)
    here = {
        (row["erasure_id"], row["place"], row["job_id"], row["writer"], row["number"], row["sha256"])
        for act in acts
        for row in erasure_rows.hidden(connection, act.id)
    }
    wanted = [row for _, row in found.of(acts)]
    erasure_rows.hide(connection, [row for row in wanted if _key(row) not in here])
    return len(here | {_key(row) for row in wanted})


def _key(row: HiddenRow) -> Hidden:
    return row["erasure_id"], row["place"], row["job_id"], row["writer"], row["number"], row["sha256"]


def hidden_photos(found: FoundErased, files: dict[str, Path], now: str) -> list[ErasedPhotoRow]:
    """Return the rows of the photos that acts hide and whose files can be read."""
    rows: list[ErasedPhotoRow] = []
    for act in found.proved_acts()[1]:
        for sha256 in act.photos if act.state == QUARANTINED else ():
            if sha256 in files:
                row: ErasedPhotoRow = {
                    "erasure_id": act.id,
                    "sha256": sha256,
                    "state": KEPT,
                    "size_bytes": files[sha256].stat().st_size,
                    "media_type": clean_media_type(found.photo_types.get(sha256, "")),
                    "received_at": now,
                }
                rows.append(row)
    return rows


def acts_in(database: Path) -> list[Act]:
    """Return the acts in an SQLite file, damaged or not, each in its latest state, the first made first."""
    found = FoundErased()
    for page in Pages(database).pages():
        for row in page.rows:
            found.take(row)
    return sorted(found.acts.values(), key=lambda act: act.id)

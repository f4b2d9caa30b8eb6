"""Everything readable out of a damaged data folder, into a new one; the damaged folder is only read.

An entry is brought out where its text has the hash that lies beside it, wherever the row was found: on whole
pages, on damaged ones, in the write-ahead log.  A photo is brought out where its bytes have the hash that is
its name.  Who was let in is not: damage may have given back an access that was ended.
"""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

from flask import Flask
from sqlalchemy import Connection

from ..messages import t
from ..records.entry import Entry
from ..records.erasure import Act, act_of
from ..schemas import check_entry
from ..schemas.base import is_uuid
from ..store import entry_rows, erasure_rows
from ..store.engine import writing
from ..store.folder import DATABASE
from ..store.photo_storage import ASIDE, hash_of
from ..store.rows import EntryRow, HeldBackRow
from ..sync.erasing import apply, was_erased
from ..sync.exchange import now_text
from ..sync.photos import SHA256, clean_media_type
from ..sync.stored import columns_of, held_back_row
from ..web.state import state_of
from .backup import keep_certificates
from .copying import Progress
from .sqlite_pages import Pages, Row

__all__ = ["Found", "Salvaged", "bring_out", "keep_certificates", "look"]

Identity = tuple[str, str, int]
AT_ONCE = 1000


@dataclass
class Found:
    """What lay in the damaged folder."""

    entries: dict[Identity, EntryRow] = field(default_factory=dict)
    held_back: dict[tuple[str, str, int, str], HeldBackRow] = field(default_factory=dict)
    photo_types: dict[str, str] = field(default_factory=dict)  # of the photos that have a row
    known: set[Identity] = field(default_factory=set)  # entries that something else speaks of
    last: dict[tuple[str, str], int] = field(default_factory=dict)  # the highest number that is spoken of
    acts: dict[str, Act] = field(default_factory=dict)  # of the eraser
    keys: set[str] = field(default_factory=set)  # that may prove them
    photos: dict[str, Path] = field(default_factory=dict)
    photos_damaged: list[str] = field(default_factory=list)


@dataclass
class Salvaged:
    """What was brought out, and what could not be read."""

    jobs: int = 0
    entries: int = 0
    held_back: int = 0
    photos: int = 0
    lost: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def look(folder: Path, tell: Progress) -> Found:
    """Read a damaged data folder."""
    found = Found()
    for count, page in enumerate(Pages(folder / DATABASE).pages(), start=1):
        tell("page", count)
        for row in page.rows:
            _take_row(row, found)
    for path in _photo_files(folder):
        tell("photo", len(found.photos) + 1)
        _take_photo(path, found)
    found.photos_damaged = [name for name in found.photos_damaged if name not in found.photos]
    return found


def _take_row(row: Row, found: Found) -> None:
    """Take a row by its shape, if it proves itself."""
    match row:
        case (str(), str(), int(), record_id, _, str(body), str(sha256), aside, received_at, *_):
            if is_uuid(record_id) or record_id == "":
                _take_entry(body, sha256, aside, received_at, found)
        case (str(), str(), int(), str(sha256), str(body), str(reasons), received_at):
            if entry := _proved(body, sha256):
                reasons = reasons if _is_json(reasons) else "{}"
                key = (entry["job_id"], entry["writer"], entry["number"], sha256)
                found.held_back[key] = held_back_row(entry, body, sha256, reasons, _moment(received_at))
        case (str(), str(), str(), str(), int(), str(body)):
            _take_act(body, found)
        case (erasure_rows.NAME, str(key)):
            found.keys.add(key)
        case (str(sha256), int(), str(media_type), str()) if SHA256.fullmatch(sha256):
            found.photo_types[sha256] = media_type
        case (str(), str(job_id), str(writer), int(number)) if is_uuid(job_id) and 0 < number < 1 << 40:
            found.known.add((job_id, writer, number))
        case (_, str(), _, str(), str(), str("sent" | "imported"), str(job_id), str(detail)):
            _take_audit(job_id, detail, found)


def _proved(body: str, sha256: str) -> Entry | None:
    """Return an entry whose text has its hash."""
    if hashlib.sha256(body.encode("utf-8", "replace")).hexdigest() != sha256:
        return None
    found = json.loads(body)
    is_entry = isinstance(found, dict) and {"job_id", "writer", "number"} <= found.keys()
    return cast(Entry, found) if is_entry else None


def _take_entry(body: str, sha256: str, aside: Any, received_at: Any, found: Found) -> None:
    if entry := _proved(body, sha256):
        row = columns_of(entry, body, sha256, _reasons(entry, aside), _moment(received_at))
        identity = row["job_id"], row["writer"], row["number"]
        # An old page may still hold whole what was erased since: its frame stands.
        if identity not in found.entries or not was_erased(found.entries[identity]["aside"]):
            found.entries[identity] = row


def _take_act(body: str, found: Found) -> None:
    """Take an act of the eraser; of several states of one the latest."""
    act = act_of(json.loads(body)) if _is_json(body) else None
    if act and (act.id not in found.acts or act.supersedes(found.acts[act.id])):
        found.acts[act.id] = act


def _moment(received_at: Any) -> str:
    return received_at if isinstance(received_at, str) else now_text()


def _reasons(entry: Entry, aside: Any) -> str | None:
    """Return why an entry was set aside; one whose reasons cannot be read stays aside."""
    if aside is None or (isinstance(aside, str) and _is_json(aside)):
        return aside
    reasons = check_entry(entry) or {"entry": [t("upkeep.reasons_unreadable")]}
    return json.dumps({"code": "entry_refused", "reasons": reasons})


def _held_back(row: EntryRow, reasons: str) -> HeldBackRow:
    return {
        "job_id": row["job_id"],
        "writer": row["writer"],
        "number": row["number"],
        "sha256": row["sha256"],
        "body": row["body"],
        "reasons": reasons,
        "received_at": row["received_at"],
    }


def _is_json(text: str) -> bool:
    try:
        return isinstance(json.loads(text), dict)
    except ValueError:
        return False


def _take_audit(job_id: str, detail: str, found: Found) -> None:
    """Note how far each writer went by the audit log."""
    try:
        spans = json.loads(detail).get("writers", {})
        for writer, (_, last) in spans.items():
            key = (job_id, writer)
            found.last[key] = max(found.last.get(key, 0), int(last))
    except (ValueError, TypeError, AttributeError):
        pass


def _photo_files(folder: Path) -> Iterator[Path]:
    for name in ("photos", ASIDE):
        yield from sorted(path for path in (folder / name).rglob("*") if path.is_file())


def _take_photo(path: Path, found: Found) -> None:
    name = path.name.split(".")[0]
    if not SHA256.fullmatch(name) or name in found.photos:
        return
    try:
        with path.open("rb") as stream:
            whole = hash_of(stream) == name
    except OSError:
        whole = False
    if whole:
        found.photos[name] = path
    elif not path.suffix:
        found.photos_damaged.append(name)


def bring_out(found: Found, app: Flask, tell: Progress) -> Salvaged:
    """Put what was found into the application in context, which holds nothing, and say what is lacking."""
    result, photos = Salvaged(), state_of(app).photos
    rows, beyond = _without_gaps(found)
    held_back = [row for key, row in found.held_back.items() if not _is_entry(key, found)] + beyond
    result.jobs = len({row["job_id"] for row in rows} | {row["job_id"] for row in beyond})
    result.entries, result.held_back = len(rows), len(held_back)
    with writing() as connection:
        for start in range(0, len(rows), AT_ONCE):
            entry_rows.add(connection, rows[start : start + AT_ONCE])
            tell("entry", start)
        entry_rows.add_held_back(connection, held_back)
        _erase_again(connection, found)
    media_types = _media_types(found)
    for sha256, path in sorted(found.photos.items()):
        if photos.is_erased(sha256):
            continue
        photos.keep_whole(sha256, path.read_bytes(), clean_media_type(media_types.get(sha256, "")))
        result.photos += 1
        tell("photo", result.photos)
    result.lost = [*_missing_entries(found), *_missing_photos(found)]
    if beyond:
        result.notes.append(t("upkeep.salvage_beyond", entries=t("count.entry", n=len(beyond))))
    return result


def _erase_again(connection: Connection, found: Found) -> None:
    """Do what the eraser had done: an old page may have given back what was erased since."""
    for key in sorted(found.keys):
        if own := [act for act in found.acts.values() if act.is_proved(key.encode())]:
            erasure_rows.put_key(connection, key)
            for act in sorted(own, key=lambda one: one.id):
                apply(connection, act)
            return


def _is_entry(key: tuple[str, str, int, str], found: Found) -> bool:
    row = found.entries.get(key[:3])
    return row is not None and row["sha256"] == key[3]


def _without_gaps(found: Found) -> tuple[list[EntryRow], list[HeldBackRow]]:
    """Return the rows that follow one another from the first of their writer, and those behind a gap.

    A vector says up to which number everything is here: what lies behind a gap is held back, so that a phone
    that has what is missing sends it.
    """
    rows: list[EntryRow] = []
    beyond: list[HeldBackRow] = []
    last: dict[tuple[str, str], int] = {}
    reasons = json.dumps({"number": [t("upkeep.entry_beyond_gap")]})
    for (job_id, writer, number), row in sorted(found.entries.items()):
        if number == last.get((job_id, writer), 0) + 1:
            last[job_id, writer] = number
            rows.append(row)
        else:
            beyond.append(_held_back(row, reasons))
    return rows, beyond


def _media_types(found: Found) -> dict[str, str]:
    """Return the types of photos: as their rows say, else as the records that name them do."""
    kept: dict[str, str] = {}
    for row in found.entries.values():
        fields = json.loads(row["body"]).get("fields") if row["kind"] == "photo" else None
        if isinstance(fields, dict) and isinstance(fields.get("sha256"), str):
            kept[fields["sha256"]] = str(fields.get("media_type", ""))
    return kept | found.photo_types


def _missing_entries(found: Found) -> list[str]:
    """Return a line for each stretch of entries that something speaks of and that could not be read."""
    last = dict(found.last)
    for job_id, writer, number in (*found.known, *found.entries):
        last[job_id, writer] = max(last.get((job_id, writer), 0), number)
    lost = []
    for (job_id, writer), highest in sorted(last.items()):
        missing = [n for n in range(1, highest + 1) if (job_id, writer, n) not in found.entries]
        for first, end in _stretches(missing):
            about = {"writer": writer, "job_id": job_id, "first": first, "last": end}
            lost.append(t("upkeep.salvage_entry" if first == end else "upkeep.salvage_entries", **about))
    return lost


def _stretches(numbers: list[int]) -> Iterator[tuple[int, int]]:
    start = previous = None
    for number in numbers:
        if start is None or previous is None:
            start = number
        elif number != previous + 1:
            yield start, previous
            start = number
        previous = number
    if start is not None and previous is not None:
        yield start, previous


def _missing_photos(found: Found) -> list[str]:
    damaged = set(found.photos_damaged)
    gone = (found.photo_types.keys() | damaged) - found.photos.keys()
    return [
        t("upkeep.photo_damaged" if sha256 in damaged else "upkeep.photo_gone", sha256=sha256)
        for sha256 in sorted(gone)
    ]

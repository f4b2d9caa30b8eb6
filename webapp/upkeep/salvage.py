"""Everything readable out of a damaged data folder, into a new one; the damaged folder is only read.

An entry is brought out where its text has the hash that lies beside it, wherever the row was found: on whole
pages, on damaged ones, in the write-ahead log.  A photo is brought out where its bytes have the hash that is
its name.  What was erased stays so (salvage_erased.py); who was let in is brought out as ended, and the audit
log with it (salvage_access.py).
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from flask import Flask

from ..messages import t
from ..records.entry import Entry
from ..schemas import check_entry
from ..schemas.base import is_uuid
from ..store import access_rows, entry_rows, erasure_rows, held_back_rows
from ..store.engine import writing
from ..store.folder import DATABASE
from ..store.photo_storage import ASIDE, hash_of
from ..store.rows import EntryRow, HeldBackRow
from ..sync.erasing import was_erased
from ..sync.exchange import now_text
from ..sync.photos import SHA256, Photos, clean_media_type
from ..sync.sender import Sender
from ..sync.stored import columns_of, held_back_row
from ..web.state import state_of
from . import salvage_access
from .backup import keep_certificates
from .copying import Progress
from .salvage_access import FoundAccess
from .salvage_erased import FoundErased, erase_again, hidden_photos, proved
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
    erased: FoundErased = field(default_factory=FoundErased)
    access: FoundAccess = field(default_factory=FoundAccess)
    photos: dict[str, Path] = field(default_factory=dict)
    photos_damaged: list[str] = field(default_factory=list)


@dataclass
class Salvaged:
    """What was brought out, and what could not be read."""

    jobs: int = 0
    entries: int = 0
    held_back: int = 0
    photos: int = 0
    hidden: int = 0  # entries that an erasure hides, and that can be brought back
    hidden_photos: int = 0
    ended: int = 0  # phones, scripts and links that were let in, and are not any more
    audit: int = 0
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
    gone = found.erased.gone_photos()
    found.photos_damaged = [n for n in found.photos_damaged if n not in found.photos and n not in gone]
    found.photos = {name: path for name, path in found.photos.items() if name not in gone}
    found.photo_types = {name: kind for name, kind in found.photo_types.items() if name not in gone}
    for frame in found.erased.frames():
        found.entries.setdefault((frame["job_id"], frame["writer"], frame["number"]), frame)
    for hidden in found.erased.not_known():
        found.known.add((hidden["job_id"], hidden["writer"], hidden["number"]))
    return found


def _take_row(row: Row, found: Found) -> None:
    """Take a row by its shape, if it proves itself."""
    found.erased.take(row)
    found.access.take(row)
    match row:
        case (str(), str(), int(), record_id, _, str(body), str(sha256), aside, received_at, *_):
            if is_uuid(record_id) or record_id == "":
                _take_entry(body, sha256, aside, received_at, found)
        case (str(), str(), int(), str(sha256), str(body), str(reasons), received_at):
            if entry := proved(body, sha256):
                reasons = reasons if _is_json(reasons) else "{}"
                key = (entry["job_id"], entry["writer"], entry["number"], sha256)
                found.held_back[key] = held_back_row(entry, body, sha256, reasons, _moment(received_at))
        case (str(sha256), int(), str(media_type), str()) if SHA256.fullmatch(sha256):
            found.photo_types[sha256] = media_type
        case (str(), str(job_id), str(writer), int(number)) if is_uuid(job_id) and 0 < number < 1 << 40:
            found.known.add((job_id, writer, number))
        case (_, str(), _, str(), str(), str("sent" | "imported"), str(job_id), str(detail)):
            _take_audit(job_id, detail, found)


def _take_entry(body: str, sha256: str, aside: Any, received_at: Any, found: Found) -> None:
    if entry := proved(body, sha256):
        row = columns_of(entry, body, sha256, _reasons(entry, aside), _moment(received_at))
        identity = row["job_id"], row["writer"], row["number"]
        # An old page may still hold whole what was erased since: its frame stands.
        if identity not in found.entries or not was_erased(found.entries[identity]["aside"]):
            found.entries[identity] = row


def _moment(received_at: Any) -> str:
    return received_at if isinstance(received_at, str) else now_text()


def _reasons(entry: Entry, aside: Any) -> str | None:
    """Return why an entry was set aside; one whose reasons cannot be read stays aside."""
    if aside is None or (isinstance(aside, str) and _is_json(aside)):
        return aside
    reasons = check_entry(entry) or {"entry": [t("upkeep.reasons_unreadable")]}
    return json.dumps({"code": "entry_refused", "reasons": reasons})


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
    result.ended = len(found.access.devices) + len(found.access.links)
    result.audit = len(found.access.lines)
    with writing() as connection:
        for start in range(0, len(rows), AT_ONCE):
            entry_rows.add(connection, rows[start : start + AT_ONCE])
            tell("entry", start)
        held_back_rows.add_held_back(connection, held_back)
        result.hidden = erase_again(connection, found.erased)
        salvage_access.bring_out(connection, found.access, now_text())
    _bring_out_photos(found, photos, result, tell)
    _note(result)
    result.lost = [*_missing_entries(found), *_missing_photos(found)]
    if beyond:
        result.notes.append(t("upkeep.salvage_beyond", entries=t("count.entry", n=len(beyond))))
    if unknown := len(found.erased.not_known()):
        result.notes.append(t("upkeep.salvage_hidden_unknown", n=unknown))
    if result.ended:
        result.notes.append(t("upkeep.salvage_ended", n=result.ended))
    return result


def _bring_out_photos(found: Found, photos: Photos, result: Salvaged, tell: Progress) -> None:
    """Bring out photos: those that an erasure hides without a row, as the eraser leaves them."""
    found.erased.photo_types = _media_types(found) | found.erased.photo_types
    hidden = hidden_photos(found.erased, found.photos, now_text())
    for sha256 in {row["sha256"] for row in hidden}:
        photos.place.put(sha256, found.photos[sha256].read_bytes())
        photos.place.settle([sha256])
        result.hidden_photos += 1
    with writing() as connection:
        for row in hidden:
            erasure_rows.add_photo(connection, row)
    media_types = _media_types(found)
    for sha256, path in sorted(found.photos.items()):
        if photos.is_erased(sha256):
            continue
        photos.keep_whole(sha256, path.read_bytes(), clean_media_type(media_types.get(sha256, "")))
        result.photos += 1
        tell("photo", result.photos)


def _note(result: Salvaged) -> None:
    """Write into the audit log that it goes on from a damaged one."""
    detail = {"entries": result.entries, "photos": result.photos, "hidden": result.hidden}
    with writing() as connection:
        access_rows.note(
            connection, at=now_text(), who=Sender().name, address="", action="salvaged", detail=detail
        )


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
            beyond.append(held_back_row(row, row["body"], row["sha256"], reasons, row["received_at"]))
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

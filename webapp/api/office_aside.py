"""What stands outside the records of a job, as its page lists it: set aside, or held back."""

from typing import TypedDict

from sqlalchemy import Connection

from ..errors import AppError
from ..office.pages import LISTED, Reader
from ..records import canonical
from ..records.entry import Entry, Rejection
from ..records.fold import entry_id
from ..schemas import KINDS, describe
from ..store import entry_rows, entry_some, held_back_rows
from ..store.damage import one_job, reasons_of
from ..store.held_back_rows import HeldBackName
from ..sync.sender import is_beyond_gap, is_foreign

MAX_SHOWN = 200_000  # characters of what was sent, on one page; of more it is in the job file


class HeldBack(TypedDict):
    """An entry that was held back, and why: under a writer of another device, behind a gap."""

    writer: str
    number: int
    body: str | None
    foreign: bool
    beyond_gap: bool


class SetAside(TypedDict):
    """An entry that was set aside, and its reasons: what each is of, and the sentence."""

    id: str
    kind: str | None
    device: str | None
    recorded_at: str | None
    fields: dict[str, object] | None
    in_file: bool
    reasons: list[tuple[str, str]]


class _Room:
    """How much of what was sent one page shows."""

    def __init__(self) -> None:
        self._left = MAX_SHOWN

    def has(self, length: int) -> bool:
        """Say whether so much more may be shown."""
        self._left -= length
        return self._left >= 0


def shown(reader: Reader) -> dict[str, object]:
    """Return what the page lists; ``held_back`` is empty where that is damaged."""
    room, connection, job_id = _Room(), reader.connection, reader.job_id
    identities = reader.index.aside(LISTED)
    found = entry_some.some(connection, job_id, identities, framed=True)
    aside = [_aside(found[one].entry, reasons_of(found[one].reasons), room) for one in identities]
    names = _held_back(connection, job_id)
    held_back = [_shown(connection, job_id, one, room) for one in (names or [])[:LISTED]]
    return {
        "set_aside": aside,
        "set_aside_more": reader.index.set_aside - len(aside),
        "held_back": held_back,
        "held_back_more": len(names or []) - len(held_back),
        "foreign": any(is_foreign(one.reasons) for one in names or []),
        "held_back_damaged": names is None,
    }


def _held_back(connection: Connection, job_id: str) -> list[HeldBackName] | None:
    """Return what was held back of a job; None where that cannot be read."""
    try:
        with one_job(connection):
            names = held_back_rows.held_back_names(connection, job_id)
            return [one for one in names if not _came_since(connection, job_id, one)]
    except AppError:
        return None


def _came_since(connection: Connection, job_id: str, one: HeldBackName) -> bool:
    """Say whether a phone has sent an entry that was held back behind a gap."""
    if not is_beyond_gap(one.reasons):
        return False
    here = entry_rows.stored(connection, job_id, one.writer, one.number, one.number)
    return here.get(one.number, ("",))[0] == one.sha256


def _shown(connection: Connection, job_id: str, one: HeldBackName, room: _Room) -> HeldBack:
    return {
        "writer": one.writer,
        "number": one.number,
        "body": held_back_rows.body_held_back(connection, job_id, one) if room.has(one.length) else None,
        "foreign": is_foreign(one.reasons),
        "beyond_gap": is_beyond_gap(one.reasons),
    }


def _aside(entry: Entry, why: Rejection, room: _Room) -> SetAside:
    kind, found, sent = str(entry.get("kind")), why.get("reasons", {}), entry.get("fields")
    labels = {f["name"]: f["label"] for f in describe(KINDS[kind])["fields"]} if kind in KINDS else {}
    is_shown = sent is None or room.has(len(canonical.dumps(sent)))
    return {
        "id": entry_id(entry),
        "kind": KINDS[kind].LABEL if kind in KINDS else entry.get("kind"),
        "device": entry.get("device_id"),
        "recorded_at": entry.get("recorded_at"),
        "fields": sent if is_shown else None,
        "in_file": not is_shown,
        "reasons": [(labels.get(name, name), s) for name, sentences in found.items() for s in sentences],
    }

"""An entry as the database holds it: its text, or that of its frame, and the columns beside it."""

from operator import itemgetter

from ..budgets import BUDGETS
from ..messages import t
from ..records import canonical
from ..records.entry import Entry
from ..records.entry_budget import frame_of, is_too_large
from ..schemas.base import is_uuid
from ..schemas.entry import KINDS
from ..store.rows import EntryRow, HeldBackRow, Identity

_KIND_AND_RECORD = itemgetter("kind", "record_id")


def too_large() -> str:
    """Return why of an entry only the frame is stored."""
    most = {
        "kb": BUDGETS.entry_bytes // 1000,
        "fields": BUDGETS.entry_fields,
        "values": f"{BUDGETS.entry_values:,}",
    }
    return t("api.entry_budget", depth=BUDGETS.entry_depth, **most)


def as_stored(entry: Entry) -> tuple[Entry, str]:
    """Return an entry, or the frame of one that is beyond the budget, and its text."""
    return framed(entry, text_of(entry))


def framed(entry: Entry, text: str) -> tuple[Entry, str]:
    """Return the same for an entry whose text is known."""
    if not is_too_large(entry, text):
        return entry, text
    frame = frame_of(entry)
    return frame, text_of(frame)


def text_of(entry: Entry) -> str:
    """Return the text an entry is stored as; lone surrogates are escaped, for no database takes them."""
    text = canonical.dumps(entry)
    return text if text.isascii() else canonical.escape_surrogates(text)


def columns_of(entry: Entry, body: str, sha256: str, aside: str | None, received_at: str) -> EntryRow:
    """Return the row of an entry, from the text that it is stored as."""
    kind, record_id = _KIND_AND_RECORD(entry) if aside is None else searchable(entry)
    return {
        "job_id": entry["job_id"],
        "writer": entry["writer"],
        "number": entry["number"],
        "record_id": record_id,
        "kind": kind,
        "body": body,
        "sha256": sha256,
        "aside": aside,
        "received_at": received_at,
    }


def held_back_row(entry: Identity, body: str, sha256: str, reasons: str, received_at: str) -> HeldBackRow:
    """Return the row of an entry that is held back."""
    return {
        "job_id": entry["job_id"],
        "writer": entry["writer"],
        "number": entry["number"],
        "sha256": sha256,
        "body": body,
        "reasons": reasons,
        "received_at": received_at,
    }


def searchable(entry: Entry) -> tuple[str, str]:
    """Return kind and record as the columns hold them: empty where they are not of the form."""
    kind, record_id = entry.get("kind"), entry.get("record_id")
    return (
        kind if isinstance(kind, str) and kind in KINDS else "",
        record_id if isinstance(record_id, str) and is_uuid(record_id) else "",
    )

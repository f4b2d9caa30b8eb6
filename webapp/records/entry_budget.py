"""What is too large for an entry, and the frame that stands for it.

Twin of static/js/records/entry_budget.js.  An entry beyond the budget stays where it was made.  Its frame
takes its number, so that what the writer recorded afterwards still goes through, and is set aside with the
reason ``entry_too_large``.  Whoever makes the frame, phone, server or importer, makes the same one.
"""

import re
from collections.abc import Mapping
from typing import Any, cast

from ..budgets import BUDGETS
from .entry import Entry
from .json_size import json_size

CODE = "entry_too_large"
IDENTITY = ("job_id", "writer", "number")
_PLAIN = re.compile(r"[ -~]{1,80}")
_DESCRIBING = ("device_id", "record_id", "kind", "recorded_at")
_OPENING = ("[", "{")

# A number of 16 signs, or with an exponent, as canonical text has it: no spaces, keys before their values.
_LONG = "-?[0-9](?:[0-9.]{15}|[0-9.]*e)"
_LONG_MEMBER, _LONG_ITEM = re.compile('":' + _LONG), re.compile(r"[\[,]" + _LONG)
_WHOLE = 2**53 - 1  # up to there every program that reads JSON has the same whole numbers


def is_too_large(entry: Entry, text: str) -> bool:
    """Say whether an entry is beyond the budget; ``text`` is its JSON."""
    fields = entry.get("fields")
    if isinstance(fields, dict) and len(fields) > BUDGETS.entry_fields:
        return True
    if len(text) > BUDGETS.entry_bytes or (not text.isascii() and len(text.encode()) > BUDGETS.entry_bytes):
        return True
    opened = sum(map(text.count, _OPENING))
    if (_LONG_MEMBER.search(text) or ("[" in text and _LONG_ITEM.search(text))) and _has_large_number(entry):
        return True
    # Counted in the text as it is: never less than there are, and hardly ever near the budget.
    if opened < BUDGETS.entry_depth and opened + text.count(",") < BUDGETS.entry_values:
        return False
    size = json_size(text.encode())
    return size.depth > BUDGETS.entry_depth or size.values > BUDGETS.entry_values


def _has_large_number(value: Any) -> bool:
    """Say whether a number would be another one, or spelled in another way, once a phone has held it."""
    found = [value]
    while found:
        one = found.pop()
        if isinstance(one, dict):
            found.extend(one.values())
        elif isinstance(one, list):
            found.extend(one)
        elif isinstance(one, int):
            if abs(one) > _WHOLE:
                return True
        elif isinstance(one, float) and one.is_integer() and abs(one) >= 1e15:
            return True
    return False


def frame_of(entry: Entry) -> Entry:
    """Return what stands for an entry that is too large: who wrote it, its number, what it was about."""
    parts: Mapping[str, object] = entry
    frame = {name: parts[name] for name in IDENTITY}
    for name in _DESCRIBING:
        value = parts.get(name)
        if isinstance(value, str) and _PLAIN.fullmatch(value):
            frame[name] = value
    return cast(Entry, frame | {"too_large": True})


def is_frame(entry: Entry) -> bool:
    """Say whether an entry is such a frame."""
    return entry.get("too_large") is True and entry == frame_of(entry)

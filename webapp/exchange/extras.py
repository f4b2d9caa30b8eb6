"""What has no field here but came in a file: kept as given in remarks, and found again when writing.

A remark belongs to what it completes by its id, which is derived from the other's id. Its text is
plain lines, ``AAM, Client = Example Works``; a value too long for one remark goes on in the next
one (``AAM + more``).
"""

import hashlib
import re
import uuid
from collections.abc import Iterable, Mapping

HEADING = "As given in the exchange file:"
LINE = re.compile(r"([A-Za-z0-9_-]{1,12})(?:, [^=]*)? ([=+])(?: (.*))?")
MAX_CHARACTERS = 3_900
PIECE = 1_800
MAX_PARTS = 200


def derived_id(record_id: str, part: int) -> str:
    """Return the id of the remark that completes a record; ``part`` counts from 0."""
    found = hashlib.sha256(f"exchange/{record_id}/{part}".encode()).digest()
    return str(custom_uuid(int.from_bytes(found[:16], "big")))


def custom_uuid(value: int) -> uuid.UUID:
    """Return 128 bits as a UUID of version 8 (RFC 9562: contents of our own), six bits overwritten."""
    return uuid.UUID(int=value & ~(0xF << 76) & ~(0x3 << 62) | 0x8 << 76 | 0x2 << 62)


def texts(values: Mapping[str, str], titles: Mapping[str, str]) -> list[str]:
    """Return the texts of the remarks that keep ``values``, each short enough for one."""
    lines = []
    for key, value in values.items():
        name = f"{key}, {titles[key]}" if titles.get(key) else key
        pieces = [value[at : at + PIECE] for at in range(0, len(value), PIECE)] or [""]
        lines.append(f"{name} = {pieces[0]}")
        lines += [f"{key} + {piece}" for piece in pieces[1:]]
    found, current = [], [HEADING]
    for line in lines:
        if sum(len(one) + 1 for one in current) + len(line) > MAX_CHARACTERS:
            found.append("\n".join(current))
            current = [HEADING]
        current.append(line)
    found.append("\n".join(current))
    return found


def read_texts(parts: Iterable[str]) -> dict[str, str]:
    """Return what the texts keep; lines of another form say nothing to a file."""
    found: dict[str, str] = {}
    for text in parts:
        for line in text.split("\n"):
            if not (match := LINE.fullmatch(line)):
                continue
            key, sign, value = match[1], match[2], match[3] or ""
            found[key] = found.get(key, "") + value if sign == "+" else value
    return found


class Kept:
    """The remarks of a job by id: what is kept beside a record, and which remarks are spoken for."""

    def __init__(self, remarks: Mapping[str, str]) -> None:
        self._remarks = remarks
        self.spoken_for: set[str] = set()

    def beside(self, record_id: str) -> dict[str, str]:
        """Return what is kept beside a record."""
        parts = []
        for part in range(MAX_PARTS):
            remark_id = derived_id(record_id, part)
            if remark_id not in self._remarks:
                break
            self.spoken_for.add(remark_id)
            parts.append(self._remarks[remark_id])
        return read_texts(parts)

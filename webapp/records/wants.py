"""What tells lists of wanted photos apart: the exclusive or of all their shares, whatever their order.

Twin of static/js/records/wants.js.
"""

import re

_BEGINS = re.compile(r"[0-9a-f]{16}")


def share_of(sha256: str) -> int:
    """Return what one photo adds to the digest of a list, by exclusive or: its first 64 bits."""
    found = _BEGINS.match(sha256)
    return int(found[0], 16) if found else 0


def digest_text(digest: int) -> str:
    """Return a digest as a stamp has it."""
    return f"{digest:016x}"

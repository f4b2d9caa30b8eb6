"""The data tables, read once: observation codes, materials, shapes, the safety sheet."""

import functools
from pathlib import Path
from typing import Any

from ..environment import own_file
from . import codes_file, grading_file
from .catalogue import LANGUAGE, MESSAGES, SERVER_SECTIONS, messages, phone_messages
from .shipped import NAMES, shipped

__all__ = [
    "LANGUAGE",
    "MESSAGES",
    "NAMES",
    "SERVER_SECTIONS",
    "choices",
    "load",
    "messages",
    "own_codes",
    "own_limits",
    "phone_messages",
    "shipped",
]


def load(name: str) -> Any:
    """Return the table ``name`` as parsed JSON; treat it as read-only.

    A firm's own limits of the condition classes (setting FALLBOOK_GRADING) stand in place of ours; a
    client's own observation codes (setting FALLBOOK_CODES) stand beside those of the standard.
    """
    if name == "observation_codes" and (own := own_file("FALLBOOK_CODES")):
        return own_codes(own)
    if name == "grading_limits" and (own := own_file("FALLBOOK_GRADING")):
        return own_limits(own)
    return shipped(name)


@functools.cache
def own_limits(path: str) -> Any:
    """Return a firm's limits, read and checked once."""
    return grading_file.read(Path(path))


@functools.cache
def own_codes(path: str) -> Any:
    """Return the code table with a client's codes in it, read and checked once."""
    return codes_file.read(Path(path))


def choices(name: str) -> dict[str, str]:
    """Return value to label of a table whose rows have ``value`` and ``label``."""
    return {row["value"]: row["label"] for row in load(name)["rows"]}

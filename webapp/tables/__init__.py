"""The data tables, read once: observation codes, materials, shapes, the safety sheet."""

import functools
from pathlib import Path
from typing import Any

from ..environment import own_table
from . import codes_file, grading_file
from .catalogue import LANGUAGE, MESSAGES, SERVER_SECTIONS, handbook, messages, phone_messages
from .shipped import NAMES, shipped

__all__ = [
    "LANGUAGE",
    "MESSAGES",
    "NAMES",
    "SERVER_SECTIONS",
    "by_name",
    "choices",
    "handbook",
    "load",
    "messages",
    "phone_messages",
    "shipped",
]
READERS = {"observation_codes": codes_file.read, "grading_limits": grading_file.read}


def load(name: str) -> Any:
    """Return the table ``name`` as parsed JSON; treat it as read-only.

    A firm's own limits of the condition classes stand in place of ours; a client's own observation codes
    stand beside those of the standard.
    """
    own = own_table(name)
    return shipped(name) if own is None else _own(name, own)


def by_name(*names: str) -> dict[str, Any]:
    """Return tables by their names; treat them as read-only."""
    return {name: load(name) for name in names}


@functools.cache
def _own(name: str, path: str) -> Any:
    """Return a table with a firm's own file in it, read and checked once."""
    return READERS[name](Path(path))


def choices(name: str) -> dict[str, str]:
    """Return value to label of a table whose rows have ``value`` and ``label``."""
    return {row["value"]: row["label"] for row in load(name)["rows"]}

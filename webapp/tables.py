"""The data tables, read once: observation codes, materials, shapes, the safety sheet."""

import functools
import json
from pathlib import Path
from typing import Any

from . import paths
from .environment import own_file

NAMES = (
    "observation_codes",
    "materials",
    "shapes",
    "linings",
    "safety_sheet",
    "findings",
    "exchange_headers",
    "roughness",
    "minimum_gradients",
    "culvert_inlets",
    "usual_observations",
    "readings_csv",
    "leave_site",
    "grading_limits",
    "actions",
    "visibility",
    "hazards",
    "narrowings",
    "joint_deflections",
)


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
    from .grading_file import read

    return read(Path(path))


@functools.cache
def own_codes(path: str) -> Any:
    """Return the code table with a client's codes in it, read and checked once."""
    from .codes_file import read

    return read(Path(path))


@functools.cache
def shipped(name: str) -> Any:
    """Return a table as it is shipped."""
    return json.loads((paths.TABLES / f"{name}.json").read_text(encoding="utf-8"))


def choices(name: str) -> dict[str, str]:
    """Return value to label of a table whose rows have ``value`` and ``label``."""
    return {row["value"]: row["label"] for row in load(name)["rows"]}

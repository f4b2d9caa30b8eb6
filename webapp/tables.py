"""The data tables, read once: observation codes, materials, shapes, the safety sheet."""

import functools
import json
from typing import Any

from . import paths

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
)


@functools.cache
def load(name: str) -> Any:
    """Return the table ``name`` as parsed JSON; treat it as read-only."""
    return json.loads((paths.TABLES / f"{name}.json").read_text(encoding="utf-8"))


def choices(name: str) -> dict[str, str]:
    """Return value to label of a table whose rows have ``value`` and ``label``."""
    return {row["value"]: row["label"] for row in load(name)["rows"]}
